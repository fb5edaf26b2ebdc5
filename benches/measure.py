#!/usr/bin/env python3
"""Measures what is claimed about speed and prints it as a Markdown table with machine and date.

    benches/measure.py [ROUNDS]

ROUNDS (default 5) of everything, taking turns; the figures are medians, ratios are taken within a round. On a quiet
machine only: other work falls on all alike, but not evenly.
"""

import datetime
import json
import os
import pathlib
import platform
import re
import resource
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE / "peers"))
import compare  # noqa: E402

DEMO = compare.HOME / "scenarios/lantern-walk.yaml"
README_MAP = ["map", DEMO, "--over", "marbles=5..80/5", "--over", "rpm=4..24/2", "--no-files"]


def spent(*words):
    """Wall and processor time of our program from its start to its end."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run([str(word) for word in (compare.OURS, *words)], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def seconds(*words):
    return spent(*words)[0]


def processor_seconds(*words):
    return spent(*words)[1]


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


def demo_instructions():
    """Instructions a move of the demo: twenty runs more of it, all else the same."""

    def counted(runs):
        words = [compare.OURS, "run", DEMO, "--runs", runs, "--every-run", "--threads", 1, "--no-assumptions", "--no-files", "--json"]
        command = ["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null", *map(str, words)]
        told = subprocess.run(command, check=True, capture_output=True, text=True)
        elements = json.loads(told.stdout)["elements"].values()
        moves = runs * sum(element["entries"]["value"] for element in elements)
        return int(re.search(r"Collected : (\d+)", told.stderr).group(1)), moves

    (few, few_moves), (many, many_moves) = counted(20), counted(40)
    return (many - few) / (many_moves - few_moves)


def close_look():
    """Nanoseconds a sphere and step of a close look at a wheel, by criterion: the most of the places tried."""
    command = ["cargo", "bench", "--quiet", "--bench", "contact"]
    subprocess.run(command, check=True, cwd=compare.HOME, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    costs = []
    for place in (compare.TARGET / "criterion/look at a wheel").iterdir():
        if (place / "new").exists():
            look = json.loads((place / "new/estimates.json").read_text())["median"]["point_estimate"]
            costs.append(look / json.loads((place / "new/benchmark.json").read_text())["throughput"]["Elements"])
    return max(costs)


def on_two_threads(rounds, *words):
    """How many times as fast two threads are as one."""
    on = lambda threads: lambda: seconds(*words, "--no-files", "--threads", threads)
    return f"{medians(rounds, on(1), on(2))[1][1]:.2f}"


def main():
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    compare.build()
    costs = compare.measure(rounds)
    ours = {marbles: statistics.median(costs["marblewright", marbles]) for marbles in compare.LOADS}
    floors = {marbles: statistics.median(costs["floor", marbles]) for marbles in compare.LOADS}
    against = lambda name: f"{compare.ratio(costs, name, 'marblewright'):.1f} times"
    floor = lambda marbles: f"{compare.ratio(costs, 'marblewright', 'floor', marbles):.2f} F ({ours[marbles]:.0f} ns, F {floors[marbles]:.0f} ns)"
    growth = statistics.median(b / a for a, b in zip(costs["marblewright", 40], costs["marblewright", 4000]))
    with tempfile.TemporaryDirectory() as out:
        (answer, drawn), _ = medians(rounds, lambda: seconds("--no-files"), lambda: seconds("--out", out))
    searches = lambda: processor_seconds("window", DEMO, "--no-files"), lambda: processor_seconds(*README_MAP)
    (window, readme_map), _ = medians(rounds, *searches)
    rows = [
        ("`run` of the demo, start to answer", "0.4 s", f"{answer:.2f} s"),
        ("all its tables and charts on top", "0.3 s", f"{drawn - answer:.2f} s"),
        ("`window` of the demo, processor time", "4 s", f"{window:.1f} s"),
        ("the handbook's map of the demo, processor time", "8 s", f"{readme_map:.1f} s"),
        ("F (one ChaCha8 draw, one heap push and pop) at 40 marbles", "0.7 F", floor(40)),
        ("F at 4000 marbles", "0.5 F", floor(4000)),
        ("a move at 4000 marbles against one at 40", "1.15", f"{growth:.2f}"),
        ("leanest SimPy 4.1.2 model of Circuit A", "60 times", against("SimPy 4.1.2")),
        ("nexosim 1.0.0, one thread", "14 times", against("nexosim 1.0.0")),
        ("desru 0.1.13", "2 times", against("desru 0.1.13")),
        ("a close look at a wheel, a sphere and step", "60 ns", f"{close_look():.0f} ns"),
        ("instructions a move of the demo", "450", f"{demo_instructions():.0f}"),
        ("two threads against one: `run` of the demo", "1.9", on_two_threads(rounds, "run", DEMO)),
        ("two threads against one: its `window`", "1.9", on_two_threads(rounds, "window", DEMO)),
        ("two threads against one: its map", "1.9", on_two_threads(rounds, *README_MAP[:-1])),
        ("memory of a run at 100 marbles", "100 kB", f"{memory() / 1000:.0f} kB"),
    ]
    print(f"{processor()}, {os.cpu_count()} processors, {datetime.date.today()}, medians of {rounds} rounds: `benches/measure.py {rounds}`\n")
    print("| what | wanted | measured |\n| --- | --- | --- |")
    for row in rows:
        print("| " + " | ".join(row) + " |")
    print()
    compare.table(costs)


if __name__ == "__main__":
    main()
