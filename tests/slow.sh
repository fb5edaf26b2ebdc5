#!/usr/bin/env bash
# What takes too long for each change: whole tables where `cargo test` takes a sample, every test that it leaves out, and many
# random circuits. About two hours on 2 cores; words given go to the test harness: tests/slow.sh coverage::
set -euo pipefail
cd "$(dirname "$0")/.."
SLOW=1 cargo test --release --no-fail-fast -- --include-ignored --nocapture "$@"
[ $# -gt 0 ] || PROPTEST_CASES=20000 cargo test --release --test engine properties::
