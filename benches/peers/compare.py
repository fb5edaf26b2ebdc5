#!/usr/bin/env python3
"""Times Circuit A in marblewright and in four general-purpose simulation libraries, all in turn, and prints the ratios.

    benches/peers/compare.py [ROUNDS]

Builds everything first; the Python libraries go into a virtual environment under target/. The figures are medians of
ROUNDS rounds (default 5), nanoseconds a marble-move on one core.
"""

import json
import os
import pathlib
import statistics
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
HOME = HERE.parent.parent
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", HOME / "target"))
PYTHON = TARGET / "peers-python/bin/python"
OURS = TARGET / "release/marblewright"
PEERS = TARGET / "peers/release"
# Machine time in hours by marbles, so that each takes about as many moves.
LOADS = {40: 24.0, 4000: 0.24}


def build():
    run = lambda *command: subprocess.run(command, check=True, cwd=HOME)
    run("cargo", "build", "--release", "--quiet")
    run("cargo", "build", "--release", "--quiet", "--manifest-path", HERE / "Cargo.toml", "--target-dir", TARGET / "peers")
    if not PYTHON.exists():
        run(sys.executable, "-m", "venv", TARGET / "peers-python")
        run(PYTHON, "-m", "pip", "install", "--quiet", "--requirement", HERE / "requirements.txt")


def report(command):
    answer = subprocess.run([str(word) for word in command], check=True, capture_output=True, text=True)
    return json.loads(answer.stdout.strip())


def library(*command):
    def measure(marbles, hours, seed):
        figures = report([*command, marbles, hours, seed])
        return figures["moves"], figures["seconds"]

    return measure


def floor(marbles, hours, seed):
    figures = report([PEERS / "floor", marbles, 3_000_000, seed])
    return figures["moves"], figures["seconds"]


def marblewright(marbles, hours, seed):
    """By twenty runs more, so that neither the start of the process counts nor the runs by which it says what would help."""
    few_moves, few_seconds = runs(5, marbles, hours, seed)
    many_moves, many_seconds = runs(25, marbles, hours, seed)
    return many_moves - few_moves, many_seconds - few_seconds


def runs(count, marbles, hours, seed):
    command = [OURS, "run", HOME / "scenarios/circuit-a.yaml", "--runs", count, "--every-run", "--hours", hours, "--seed", seed]
    command += ["--threads", 1, "--no-files", "--no-assumptions", "--json", "--marbles", marbles]
    if marbles > 40:
        # Pockets pass as often as elsewhere, but on a larger wheel that turns faster; what the lift is shorter, the slide is longer.
        scale = marbles / 40
        pockets = 400
        rpm = 7.5 * scale * 20 / pockets
        command += ["--rpm", rpm, "--set", f"circuit.wheel.pocket-wheel.pockets={pockets}"]
        command += ["--set", f"circuit.slide.slide.time={4.8 - 30 / rpm} s"]
        for track in ("short-track", "middle-track", "long-track"):
            command += ["--set", f"circuit.{track}.track.advance={0.1 / scale} s"]
    start = time.perf_counter()
    results = report(command)
    seconds = time.perf_counter() - start
    return results["runs"] * sum(element["entries"]["value"] for element in results["elements"].values()), seconds


CONTESTANTS = {
    "marblewright": marblewright,
    "floor": floor,
    "desru 0.1.13": library(PEERS / "desru"),
    "nexosim 1.0.0": library(PEERS / "nexosim"),
    "SimPy 4.1.2": library(PYTHON, HERE / "simpy_model.py"),
    "Ciw 3.2.7": library(PYTHON, HERE / "ciw_model.py"),
}


def main():
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    build()
    table(measure(rounds))


def measure(rounds):
    """Nanoseconds a move by (name, marbles), one figure a round; all take turns."""
    costs = {}
    for seed in range(1, rounds + 1):
        for name, run in CONTESTANTS.items():
            for marbles, hours in LOADS.items():
                if name.startswith("Ciw") and marbles > 40:
                    continue
                if name.startswith("Ciw"):
                    hours /= 10
                moves, seconds = run(marbles, hours, seed)
                costs.setdefault((name, marbles), []).append(seconds / moves * 1e9)
    return costs


def ratio(costs, name, other, marbles=40):
    """The median over rounds of what `name` costs as a multiple of `other`."""
    return statistics.median(a / b for a, b in zip(costs[name, marbles], costs[other, marbles]))


def table(costs):
    print("| ns a move (least to most) | 40 marbles | times ours | 4000 marbles | times ours |")
    print("| --- | ---: | ---: | ---: | ---: |")
    for name in CONTESTANTS:
        cells = []
        for marbles in LOADS:
            own = costs.get((name, marbles))
            if own is None:
                cells += ["", ""]
                continue
            cells.append(f"{statistics.median(own):.0f} ({min(own):.0f} to {max(own):.0f})")
            cells.append(f"{ratio(costs, name, 'marblewright', marbles):.2f}")
        print(f"| {name} | {' | '.join(cells)} |")


if __name__ == "__main__":
    main()
