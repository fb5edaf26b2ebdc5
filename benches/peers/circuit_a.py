"""The figures of Circuit A for the Python models. Arguments of each: MARBLES HOURS SEED."""

import json
import math
import sys

MARBLES, HOURS, SEED = int(sys.argv[1]), float(sys.argv[2]), int(sys.argv[3])
TICK, HEADWAY = 0.4 * 40 / MARBLES, 0.1 * 40 / MARBLES
LIFT, SLIDE, END = 4.0, 0.8, HOURS * 3600
SIGMA = math.sqrt(math.log(1 + 0.4**2))
MU = math.log(2.0) - SIGMA**2 / 2
TRACKS = (5.0, 7.5, 11.0)


def report(moves, seconds, picked, waited):
    print(json.dumps(dict(moves=moves, seconds=seconds, picked_per_s=picked / END, ramp_mean=waited / END)))
