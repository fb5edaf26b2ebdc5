"""Circuit A in SimPy: a process a marble and one for the wheel's clock, events where a queue would do (the leanest way tried)."""

import random
import time
from collections import deque

import simpy

from circuit_a import END, HEADWAY, LIFT, MARBLES, MU, SEED, SIGMA, SLIDE, TICK, TRACKS, report

luck = random.Random(SEED)
env = simpy.Environment()
ramp = deque()
moves = picked = 0
waited = changed = 0.0
last_out = [0.0] * len(TRACKS)


def count_waiting():
    global waited, changed
    waited += len(ramp) * (env.now - changed)
    changed = env.now


def wheel():
    global picked
    tick = 0
    while True:
        if ramp:
            count_waiting()
            picked += 1
            ramp.popleft().succeed()
        tick += 1
        yield env.timeout(tick * TICK - env.now)


def marble():
    global moves
    while True:
        pocket = env.event()
        count_waiting()
        ramp.append(pocket)
        yield pocket
        moves += 1
        yield env.timeout(LIFT)
        moves += 1
        yield env.timeout(SLIDE)
        moves += 1
        yield env.timeout(luck.lognormvariate(MU, SIGMA))
        track = int(luck.random() * 3)
        moves += 1
        while (time_down := luck.gauss(TRACKS[track], 0.03 * TRACKS[track])) <= 0:
            pass
        out = max(env.now + time_down, last_out[track] + HEADWAY)
        last_out[track] = out
        yield env.timeout(out - env.now)
        moves += 1
        yield env.timeout(luck.uniform(1, 4))
        moves += 1


for _ in range(MARBLES):
    env.process(marble())
env.process(wheel())
start = time.perf_counter()
env.run(until=END)
seconds = time.perf_counter() - start
count_waiting()
report(moves, seconds, picked, waited)
