"""Holds marblewright to simulators that share no line with it: SimPy for every circuit, Ciw for those it can do.

    pip install -r requirements.txt && python compare.py [--binary PATH] [--random N] [--seed S] [CIRCUIT.yaml ...]

Each figure of each element is compared by a Welch interval; all intervals of a circuit and simulator hold together with
99 % (Bonferroni). Both sides watch the whole run from the pouring on, so nothing is cut as warm-up.

Circuits in circuits/ have fixed seeds. Random circuits come from --seed, or from a fresh seed that is printed; one that
differs is run once more with four times the runs on other luck and counts as different only if it differs again, so that
a right engine fails once in some ten thousand comparisons and not once in a hundred.
"""

import argparse
import json
import math
import multiprocessing
import pathlib
import secrets
import statistics
import subprocess
import sys
import tempfile
import time
import zlib

from scipy import stats

import by_ciw
import by_simpy
import generate
from machine import Machine

HERE = pathlib.Path(__file__).parent
SIMULATORS = {"SimPy": by_simpy, "Ciw": by_ciw}
RUNS = 24
OURS = 400
CONFIDENCE = 0.99


def ours(binary, path, hours, runs, seed):
    """Mean, standard error and runs of each figure, from the intervals that `run --json` prints."""
    command = [binary, "run", path, "--json", "--no-files", "--no-assumptions", "--quiet", "--every-run"]
    command += ["--hours", hours, "--runs", runs, "--seed", seed]
    answer = subprocess.run([str(word) for word in command], capture_output=True, text=True)
    if answer.returncode != 0:
        raise SystemExit(f"{path}: {answer.stderr}")
    answer = json.loads(answer.stdout)
    if answer["outcomes"]["ran"]["value"] != 1.0:
        raise SystemExit(f"{path}: not every run ran through: {answer['outcomes']}")
    widest = stats.t.ppf(0.975, runs - 1)

    def estimate(figure):
        # The lower end may be cut at 0 and the upper at 1.
        half = max(figure["high"] - figure["value"], figure["value"] - figure["low"])
        return figure["value"], half / widest, runs

    figures = {"throughput": estimate(answer["throughput_per_min"])}
    # In a short run no marble may come round, and in some random circuits none ever does.
    if answer["runs_without_a_lap"] == 0:
        figures["lap_s"] = estimate(answer["lap_s"])
    for group in ("elements", "wheels"):
        for name, given in answer[group].items():
            for key, figure in given.items():
                if isinstance(figure, dict) and figure["value"] is not None:
                    figures[name, key] = estimate(figure)
    return figures


def theirs(task):
    simulator, path, seconds, seed = task
    return SIMULATORS[simulator].simulate(Machine(path), seconds, seed)


def summed_up(runs):
    out = {}
    # Where not every run has a lap, laps are not compared; throughput is.
    for key in (key for key in runs[0] if all(key in run for run in runs)):
        values = [run[key] for run in runs]
        out[key] = statistics.fmean(values), statistics.stdev(values) / math.sqrt(len(values)), len(values)
    return out


def differences(mine, other):
    """(difference over what its interval allows, half interval, key, mine, other), the worst first."""
    keys = [key for key in other if key in mine]
    tail = (1 - CONFIDENCE) / (2 * len(keys))
    out = []
    for key in keys:
        (a, sa, na), (b, sb, nb) = mine[key], other[key]
        off = abs(a - b)
        if max(sa, sb) < 1e-9 * max(abs(a), abs(b), 1e-9):
            # Never varies on either side. Something due at the very end may count on one side only.
            out.append((0.0 if off <= 1.0 and off <= 0.01 * max(abs(a), abs(b)) else math.inf, 0.0, key, a, b))
            continue
        # What is rare may hardly happen in their few runs: then these understate how much it varies, and ours are asked.
        sa, sb = sa or sb * math.sqrt(nb / na), max(sb, sa * math.sqrt(na / nb))
        error = math.hypot(sa, sb)
        freedom = error**4 / (sa**4 / (na - 1) + sb**4 / (nb - 1))
        half = stats.t.ppf(1 - tail, freedom) * error
        out.append((off / half, half, key, a, b))
    return sorted(out, key=lambda one: one[0], reverse=True)


def seed_of(path, base):
    return (zlib.crc32(pathlib.Path(path).stem.encode()) + base) % 2**31


def fitting(path):
    names = ["SimPy"]
    try:
        by_ciw.check(Machine(path))
        names.append("Ciw")
    except by_ciw.Unfit:
        pass
    return names


def moves_a_second(mine, seconds):
    return sum(value[0] for key, value in mine.items() if key[1] == "entries") / seconds


def compare(args, pool, path, base=0, times=1):
    """Lines to print, and whether all agreed."""
    seed = seed_of(path, base)
    trial = ours(args.binary, path, 0.1, 20, seed)
    # Runs as long as the budget of moves allows, since SimPy makes some fifty thousand moves a second.
    seconds = max(60, round(args.moves / RUNS / moves_a_second(trial, 360) / 60) * 60)
    mine = ours(args.binary, path, f"{seconds / 3600:.17g}", OURS * times, seed)
    lines, agreed = [], True
    for simulator in fitting(path):
        begun = time.time()
        tasks = [(simulator, path, seconds, seed + 1000 * run) for run in range(RUNS * times)]
        found = differences(mine, summed_up(pool.map(theirs, tasks, chunksize=2)))
        sharp = statistics.median([half / abs(a) for _, half, key, a, _ in found if half > 0 and a != 0])
        worst = found[0]
        good = worst[0] <= 1
        agreed &= good
        lines.append(
            f"{pathlib.Path(path).stem:<22} {simulator:<6} {len(found):>3} figures  within {100 * sharp:5.2f} %"
            f"  worst {worst[0]:5.2f} of its interval  {'agrees' if good else 'DIFFERS'}  {time.time() - begun:4.1f} s"
        )
        for off, half, key, a, b in found if args.verbose else [one for one in found if one[0] > 1]:
            name = " ".join(key) if isinstance(key, tuple) else key
            lines.append(f"    {name}: marblewright {a:.6g}, {simulator} {b:.6g}, allowed ±{half:.2g} ({off:.2f})")
    return lines, agreed


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("circuits", nargs="*", help="machine files; without any, those in circuits/ and random ones")
    parser.add_argument("--binary", default="target/release/marblewright")
    parser.add_argument("--random", type=int, default=12, help="how many random circuits")
    parser.add_argument("--seed", type=int, help="only the random circuits of this seed, to repeat a comparison")
    parser.add_argument("--moves", type=float, default=150e3, help="marble moves that SimPy makes on each circuit")
    parser.add_argument("--verbose", action="store_true", help="print every figure")
    args = parser.parse_args()
    paths = args.circuits
    if not paths and args.seed is None:
        paths = sorted(str(path) for path in (HERE / "circuits").glob("*.yaml"))
    failed = []
    with multiprocessing.Pool() as pool:
        for path in paths:
            lines, agreed = compare(args, pool, path)
            print(*lines, sep="\n", flush=True)
            if not agreed:
                failed.append(path)
        if not args.circuits and args.random:
            failed += compare_random(args, pool)
    print(f"{len(failed)} circuits differ" + "".join(f"\n    {path}" for path in failed))
    sys.exit(1 if failed else 0)


def compare_random(args, pool):
    seed = secrets.randbits(31) if args.seed is None else args.seed
    print(f"random circuits of --seed {seed}")
    failed = []
    folder = pathlib.Path(tempfile.mkdtemp(prefix="random-circuits-"))
    for number in range(args.random):
        path = folder / f"random-{seed}-{number}.yaml"
        path.write_text(generate.circuit(seed, number))
        lines, agreed = compare(args, pool, str(path))
        print(*lines, sep="\n", flush=True)
        if not agreed:
            print("    once more, with four times the runs, on other luck")
            lines, agreed = compare(args, pool, str(path), base=1_000_003, times=4)
            print(*lines, sep="\n", flush=True)
        if not agreed:
            print(path.read_text())
            failed.append(f"{path} (--seed {seed})")
    return failed


if __name__ == "__main__":
    main()
