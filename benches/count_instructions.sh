#!/usr/bin/env bash
# Counts the machine instructions of a marble-move on Circuit A, repeatable whatever else the computer does, and fails when
# there are over 5 % more than the figure in benches/instructions.txt. With --write it writes that figure anew.
set -euo pipefail
cd "$(dirname "$0")/.."
command -v valgrind > /dev/null || { apt-get update -qq && apt-get install -y -qq valgrind; } > /dev/null
cargo build --release --quiet
program="${CARGO_TARGET_DIR:-target}/release/marblewright"
instructions() {
  valgrind --tool=callgrind --callgrind-out-file=/dev/null "$program" run scenarios/circuit-a.yaml --runs 1 --threads 1 \
    --no-files --json --hours "$1" 2>&1 > /dev/null | sed -n 's/.*Collected : //p'
}
moves() {
  "$program" run scenarios/circuit-a.yaml --runs 1 --threads 1 --no-files --json --hours "$1" |
    python3 -c 'import json, sys; print(int(sum(e["entries"]["value"] for e in json.load(sys.stdin)["elements"].values())))'
}
# The difference of two lengths leaves out the start of the program.
now=$((($(instructions 8) - $(instructions 2)) / ($(moves 8) - $(moves 2))))
if [ "${1:-}" = --write ]; then
  echo "$now" > benches/instructions.txt
fi
kept=$(cat benches/instructions.txt)
echo "$now instructions a move, where $kept were noted"
if [ $((now * 100)) -gt $((kept * 105)) ]; then
  echo "That is over 5 % more: make the loop leaner, or note the new figure with --write and say why." >&2
  exit 1
fi
