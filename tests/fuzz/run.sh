#!/usr/bin/env bash
# Fuzzes every target in turn for MINUTES in all (60 unless told): tests/fuzz/run.sh [MINUTES [TARGET...]]
# Prints how often each was tried, in how much processor time, and what was found; a find is a file in tests/fuzz/artifacts/, and
# the exit code is then 1.
# Needs `cargo install cargo-fuzz --locked`; a stable compiler will do.
set -uo pipefail
cd "$(dirname "$0")/../.."
minutes=${1:-60}
targets=("${@:2}")
[ ${#targets[@]} -gt 0 ] || targets=(machine_file sound_machine unit_parser settings readings edit engine)
seconds=$((minutes * 60 / ${#targets[@]}))
export RUSTC_BOOTSTRAP=1
TIMEFORMAT=%U
cargo fuzz build --fuzz-dir tests/fuzz --sanitizer none || exit 2
# Every key, kind and word of the machine file, as words to put in.
grep -oE '"[a-zA-Z][a-zA-Z0-9 -]{1,30}"' scenarios/machine.schema.json | sort -u > tests/fuzz/machine.dict
found=0
for target in "${targets[@]}"; do
  seeds=()
  case $target in machine_file | sound_machine | edit) seeds=(scenarios tests/bad_files) ;; *) seeds=("tests/fuzz/seeds/$target") ;; esac
  mkdir -p "tests/fuzz/corpus/$target"
  log=$(mktemp)
  used=$(mktemp)
  { time nice -n 19 cargo fuzz run --fuzz-dir tests/fuzz --sanitizer none "$target" "tests/fuzz/corpus/$target" "${seeds[@]}" -- \
    -max_total_time="$seconds" -max_len=4096 -timeout=120 -rss_limit_mb=4096 -dict=tests/fuzz/machine.dict \
    -print_final_stats=1 > "$log" 2>&1; } 2> "$used" || { found=1; grep -E -A 12 'panicked|ERROR|SUMMARY' "$log"; }
  tried=$(grep -oE 'number_of_executed_units: [0-9]+' "$log" | grep -oE '[0-9]+')
  echo "$target: ${tried:-?} tried in $(tail -n 1 "$used") s of processor time, $(ls "tests/fuzz/artifacts/$target" 2> /dev/null | wc -l) finds"
done
exit $found
