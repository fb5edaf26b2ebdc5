#!/usr/bin/env bash
# Whether a program, given as the words of its command, answers every scenario with its golden results, byte for byte, with
# 1, 2 and 5 threads: tests/portability/golden.sh target/release/marblewright
set -euo pipefail
cd "$(dirname "$0")/../.."
different=0
for scenario in scenarios/*.yaml; do
    golden="tests/golden/$(basename "$scenario" .yaml).json"
    for threads in 1 2 5; do
        if ! "$@" run "$scenario" --runs 3 --hours 0.3 --json --no-files --no-assumptions --threads "$threads" 2> /dev/null | cmp -s - "$golden"; then
            echo "$scenario with $threads threads: differs from $golden"
            different=1
        fi
    done
done
[ "$different" = 0 ] && echo "all scenarios give their golden results, with 1, 2 and 5 threads"
exit "$different"
