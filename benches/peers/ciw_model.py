"""Circuit A in Ciw: a queueing network. The ramp is a single server whose service ends at the next free pocket; all else has
a server for each marble; a track's headway is in its service times. Records are not kept: a day of them fills gigabytes."""

import math
import random
import time

import ciw

from circuit_a import END, HEADWAY, LIFT, MARBLES, MU, SEED, SIGMA, SLIDE, TICK, TRACKS, report

ciw.seed(SEED)
luck = random.Random(SEED)


class NextPocket(ciw.dists.Distribution):
    tick = -1

    def sample(self, t=None, ind=None):
        self.tick = max(self.tick + 1, math.ceil(t / TICK - 1e-9))
        return max(0.0, self.tick * TICK - t)


class Drawn(ciw.dists.Distribution):
    def __init__(self, draw):
        self.draw = draw

    def sample(self, t=None, ind=None):
        return self.draw()


class Track(ciw.dists.Distribution):
    def __init__(self, mean):
        self.usual, self.last = mean, 0.0

    def sample(self, t=None, ind=None):
        while (down := luck.gauss(self.usual, 0.03 * self.usual)) <= 0:
            pass
        self.last = max(t + down, self.last + HEADWAY)
        return self.last - t


class Counting(ciw.Node):
    entries = 0

    def accept(self, ind):
        self.entries += 1
        super().accept(ind)

    def write_individual_record(self, individual):
        pass


class Ramp(Counting):
    waited = changed = 0.0

    def count_waiting(self):
        now = self.simulation.current_time
        self.waited += self.number_of_individuals * (now - self.changed)
        self.changed = now

    def accept(self, ind):
        self.count_waiting()
        super().accept(ind)

    def release(self, *args, **kwargs):
        self.count_waiting()
        super().release(*args, **kwargs)


routes = [[0.0] * 8 for _ in range(8)]
routes[0][1] = routes[1][2] = routes[2][3] = routes[7][0] = 1.0
for track, share in zip((4, 5, 6), (1 / 3, 1 / 3, 1 - 2 / 3)):
    routes[3][track], routes[track][7] = share, 1.0
service = [NextPocket(), ciw.dists.Deterministic(LIFT), ciw.dists.Deterministic(SLIDE)]
service += [Drawn(lambda: luck.lognormvariate(MU, SIGMA))] + [Track(mean) for mean in TRACKS]
service += [Drawn(lambda: luck.uniform(1, 4))]
network = ciw.create_network(
    arrival_distributions=[ciw.dists.Sequential([0.0] * MARBLES + [math.inf])] + [None] * 7,
    service_distributions=service,
    routing=routes,
    number_of_servers=[1] + [math.inf] * 7,
)
simulation = ciw.Simulation(network, node_class=[Ramp] + [Counting] * 7)
start = time.perf_counter()
simulation.simulate_until_max_time(END)
seconds = time.perf_counter() - start
nodes = simulation.transitive_nodes
nodes[0].count_waiting()
report(sum(node.entries for node in nodes) - MARBLES, seconds, nodes[1].entries, nodes[0].waited)
