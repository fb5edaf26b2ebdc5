#!/usr/bin/env python3
"""Measures what is claimed about speed and prints it as a Markdown table with machine and date.

    benches/measure.py [ROUNDS]

ROUNDS (default 5) of everything, taking turns; the figures are medians, ratios are taken within a round. On a quiet
machine only: other work falls on all alike, but not evenly.
"""

import datetime
import os
import pathlib
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE / "peers"))
import compare  # noqa: E402

MAP = ["map", "--over", "marbles=8..48/4", "--over", "rpm=4..8/1", "--hours", "1", "--runs", "40", "--every-cell"]


def seconds(*words):
    """Wall time of our program from its start to its end."""
    start = time.perf_counter()
    subprocess.run([str(word) for word in (compare.OURS, *words)], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.perf_counter() - start


def medians(rounds, *programs):
    """The median over rounds of each program, and of the first as a multiple of each."""
    times = [[program() for program in programs] for _ in range(rounds)]
    columns = list(zip(*times))
    ratios = [statistics.median(row[0] / row[n] for row in times) for n in range(len(programs))]
    return [statistics.median(column) for column in columns], ratios


def memory():
    """Most bytes held by a run of 20 h at 100 marbles, of the machines tried."""
    command = ["cargo", "test", "--quiet", "--test", "memory", "--", "--nocapture"]
    told = subprocess.run(command, check=True, capture_output=True, text=True, cwd=compare.HOME).stdout
    return max(int(found) for found in re.findall(r"(\d+) bytes in 20 h", told))


def processor():
    for line in pathlib.Path("/proc/cpuinfo").read_text().splitlines() if os.path.exists("/proc/cpuinfo") else []:
        if line.startswith("model name"):
            return line.split(":", 1)[1].strip()
    return platform.processor() or platform.machine()


def main():
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    compare.build()
    costs = compare.measure(rounds)
    ours = {marbles: statistics.median(costs["marblewright", marbles]) for marbles in compare.LOADS}
    floors = {marbles: statistics.median(costs["floor", marbles]) for marbles in compare.LOADS}
    against = lambda name: f"{compare.ratio(costs, name, 'marblewright'):.1f} times"
    floor = lambda marbles: f"{compare.ratio(costs, 'marblewright', 'floor', marbles):.2f} F ({ours[marbles]:.0f} ns, F {floors[marbles]:.0f} ns)"
    growth = statistics.median(b / a for a, b in zip(costs["marblewright", 40], costs["marblewright", 4000]))
    _, (_, threads) = medians(
        rounds,
        lambda: seconds(*MAP, "--no-files", "--threads", 1),
        lambda: seconds(*MAP, "--no-files", "--threads", 2),
    )
    with tempfile.TemporaryDirectory() as out:
        (answer, drawn), _ = medians(rounds, lambda: seconds("--no-files"), lambda: seconds("--out", out))
    rows = [
        ("leanest SimPy 4.1.2 model of Circuit A", "60 times", against("SimPy 4.1.2")),
        ("nexosim 1.0.0, one thread", "15 times", against("nexosim 1.0.0")),
        ("desru 0.1.13", "2.5 times", against("desru 0.1.13")),
        ("F (one ChaCha8 draw, one heap push and pop) at 40 marbles", "at most 1.0 F", floor(40)),
        ("F at 4000 marbles", "at most 0.8 F", floor(4000)),
        ("a move at 4000 marbles against one at 40", "at most 1.15", f"{growth:.2f}"),
        ("two threads against one, on a map", "1.9", f"{threads:.2f}"),
        ("memory of a run at 100 marbles", "under 100 kB", f"{memory() / 1000:.0f} kB"),
        ("`run` of the demo, start to answer: 200 runs of 2 h", "under 0.5 s", f"{answer:.2f} s"),
        ("all tables and charts of `run` on top", "under 1 s", f"{drawn - answer:.2f} s"),
    ]
    print(f"{processor()}, {os.cpu_count()} processors, {datetime.date.today()}, medians of {rounds} rounds: `benches/measure.py {rounds}`\n")
    print("| against | wanted | measured |\n| --- | --- | --- |")
    for row in rows:
        print("| " + " | ".join(row) + " |")
    print()
    compare.table(costs)


if __name__ == "__main__":
    main()
