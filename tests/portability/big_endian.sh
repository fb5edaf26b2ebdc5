#!/usr/bin/env bash
# The golden results on a 32-bit, big-endian processor: PowerPC, emulated. Needs Debian 12 and root, loads some 200 MB of
# Debian's packages and takes about a quarter of an hour on 2 cores.
#
# There is no ready-made standard library for it to be had from Debian, so it is built from source, by the compiler of the
# same release, which is unpacked into a folder of its own: the installed toolchain stays as it is.
set -euo pipefail
cd "$(dirname "$0")/../.."
WORK=${WORK:-$(mktemp -d)}
TARGET=powerpc-unknown-linux-gnu
DEBIAN="$WORK/debian"

apt-get install -y -qq --no-install-recommends qemu-user gcc-powerpc-linux-gnu libc6-dev-powerpc-cross > "$WORK/apt.log"
if [ ! -x "$DEBIAN/usr/bin/rustc" ]; then
    version=$(apt-cache madison rustc-web | awk '{print $3}' | sort -V | tail -1)
    runtime="libstd-rust-web-$(cut -d. -f1,2 <<< "$version")"
    llvm=$(apt-cache show "$runtime=$version" | grep -om1 'libllvm[0-9]*')
    cd "$WORK"
    for name in rustc-web libstd-rust-web-dev "$runtime" rust-web-src; do apt-get download -qq "$name=$version"; done
    apt-get download -qq "$llvm"
    for package in *.deb; do dpkg -x "$package" "$DEBIAN"; done
    cd - > /dev/null
fi

LD_LIBRARY_PATH="$DEBIAN/usr/lib/x86_64-linux-gnu" RUSTC="$DEBIAN/usr/bin/rustc" RUSTC_BOOTSTRAP=1 \
    CARGO_TARGET_DIR="$WORK/target" CARGO_TARGET_POWERPC_UNKNOWN_LINUX_GNU_LINKER=powerpc-linux-gnu-gcc \
    cargo build --quiet --release -Zbuild-std=std,panic_abort --target "$TARGET" --bin marblewright
program="$WORK/target/$TARGET/release/marblewright"
file "$program" | cut -d: -f2 | cut -d, -f1-2
tests/portability/golden.sh qemu-ppc -L /usr/powerpc-linux-gnu "$program"
