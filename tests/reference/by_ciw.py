"""Simulates with Ciw those machines that are plain queueing networks with blocking; `simulate` raises Unfit for others.

An element is one Ciw node: as many servers as marbles may travel at once, and a queue before them. Ciw blocks after service,
as a marble does that waits at an exit, and lets those in first who were blocked first.
"""

import math

import ciw
import numpy

from machine import LIFTS


class Unfit(Exception):
    """This machine holds something that Ciw has no word for."""


class Drawn(ciw.dists.Distribution):
    def __init__(self, law, rng):
        self.law, self.rng, self.ready = law, rng, []

    def sample(self, t=None, ind=None):
        if not self.ready:
            self.ready = self.law(self.rng, 1000).tolist()
        return self.ready.pop()


class Shares(ciw.routing.NodeRouting):
    def __init__(self, ways, shares, rng):
        self.ways, self.rng = ways, rng
        self.upto = numpy.cumsum(numpy.array(shares, float) / sum(shares))

    def next_node(self, ind):
        return self.simulation.nodes[self.ways[int(numpy.searchsorted(self.upto, self.rng.random()))]]


class FirstWithRoom(ciw.routing.NodeRouting):
    def __init__(self, ways):
        self.ways = ways

    def next_node(self, ind):
        nodes = [self.simulation.nodes[way] for way in self.ways]
        return next(node for node in nodes if node.number_of_individuals < node.node_capacity)


class Figures(ciw.trackers.NaiveBlocking):
    """Entries, and means over time of marbles held, waiting, and of being full."""

    def __init__(self, elements, until):
        self.elements, self.names, self.until = elements, list(elements), until
        self.sums = {name: [0, 0.0, 0.0, 0.0] for name in elements}

    def initialise(self, simulation):
        super().initialise(simulation)
        self.since, self.last = 0.0, [(0, 0)] * len(self.elements)

    def change_state_accept(self, node, ind):
        super().change_state_accept(node, ind)
        self.sums[self.names[node.id_number - 1]][0] += 1

    def book_until(self, now):
        for (name, sums), (moving, blocked) in zip(self.sums.items(), self.last):
            held = moving + blocked
            sums[1] += held * (now - self.since)
            if self.elements[name].kind == "escapement":
                blocked += moving - (1 if moving and not blocked else 0)
            sums[2] += blocked * (now - self.since)
            sums[3] += (held == places(self.elements[name])) * (now - self.since)
        self.since = now

    def timestamp(self):
        self.book_until(self.simulation.current_time)
        self.last = [tuple(one) for one in self.state]

    def finish(self):
        self.book_until(self.until)


def places(element):
    return {"peg": 1, "weir": 1, "flip-gate": 1, "bell": 1}.get(element.kind) or min(element.number("places"), element.number("room"))


def check(machine):
    for element in machine.elements.values():
        feeders = [one for one in machine.elements.values() if element.name in one.to]
        zero = lambda key: str(element.keys.get(key, "0 s")).split()[0] in ("0", "0.0")
        file = element.kind in ("ramp", "slide", "track")
        if element.kind in (*LIFTS, "tipping-cup", "see-saw", "funnel") or "arch" in element.keys or element.keys.get("when-full") == "spill":
            raise Unfit(element.kind)
        if not all(zero(key) for key in ("advance", "throw", "hole-time", "mouth-time")):
            raise Unfit(f"{element.name}: nothing moves up or goes over in no time")
        if file and not isinstance(element.keys.get("time", "0 s"), str):
            raise Unfit(f"{element.name}: no overtaking")
        if places(element) < math.inf:
            # Of a file only the head asks; in Ciw all that are blocked have asked.
            if any(one.kind in ("ramp", "slide", "track", "bowl", "return-floor") for one in feeders) and len(feeders) > 1:
                raise Unfit(f"{element.name}: a file and others wait for it")
            if any(one.kind == "bowl" for one in feeders):
                raise Unfit(f"{element.name}: a hole waits for it")
        if element.kind == "weir" and places(machine.elements[element.to[-1]]) < math.inf:
            raise Unfit(f"{element.name}: its last way may be full")
        if element.kind == "return-floor" and any(places(machine.elements[to]) < math.inf for to in element.to):
            raise Unfit(f"{element.name}: many wait at its mouth")
    if places(machine.elements[machine.start]) < math.inf:
        raise Unfit("marbles that find no room at the start")


def simulate(machine, seconds, seed):
    check(machine)
    # One stream a node: Ciw copies laws, and copies of one stream would draw the same numbers at every node.
    streams = iter(numpy.random.default_rng(seed).spawn(2 * len(machine.elements)))
    ciw.seed(seed % 2**32)
    elements = machine.elements
    number = {name: i + 1 for i, name in enumerate(elements)}
    servers, queues, services, routers = [], [], [], []
    for element in elements.values():
        room, ways = places(element), [number[to] for to in element.to]
        one = element.kind == "escapement"
        servers.append(1 if one else room)
        queues.append(room - 1 if one else (0 if room < math.inf else math.inf))
        services.append(Drawn(element.time("swirl" if element.kind == "bowl" else "time"), next(streams)))
        if element.kind in ("peg", "bowl"):
            routers.append(Shares(ways, element.keys.get("shares", [1] * len(ways)), next(streams)))
        elif element.kind == "weir":
            routers.append(FirstWithRoom(ways))
        elif element.kind == "flip-gate":
            routers.append(ciw.routing.Cycle(cycle=ways))
        else:
            routers.append(ciw.routing.Direct(to=ways[0]))
    at_start = [name == machine.start for name in elements]
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Sequential([0.0, math.inf]) if here else None for here in at_start],
        batching_distributions=[ciw.dists.Deterministic(machine.marbles if here else 1) for here in at_start],
        service_distributions=services,
        number_of_servers=servers,
        queue_capacities=queues,
        routing=ciw.routing.NetworkRouting(routers=routers),
    )
    figures = Figures(elements, seconds)
    ciw.Simulation(network, tracker=figures).simulate_until_max_time(seconds)
    figures.finish()
    # Without a wheel laps count, and nobody has come round who is only poured in.
    out = {"throughput": (figures.sums[machine.lap_line()][0] - machine.marbles) / seconds * 60}
    for name, (entries, held, backlog, full) in figures.sums.items():
        out[name, "entries"] = entries
        out[name, "held_mean"] = held / seconds
        out[name, "backlog_mean"] = backlog / seconds
        if places(elements[name]) < math.inf:
            out[name, "full_share"] = full / seconds
    return out
