"""Simulates a machine with SimPy, one process a marble, as README.md in this folder has it.

A marble holds a place in the element it is in (a request on a simpy.Resource of as many places), and lets go of it only
once it has the next one; SimPy serves requests in the order they were made.
"""

import math
import statistics

import numpy
import simpy

from machine import law, quantity


class Mean:
    """Mean over time of a number that changes in steps."""

    def __init__(self, env):
        self.env, self.value, self.since, self.area = env, 0, 0.0, 0.0

    def add(self, change):
        now = self.env.now
        self.area += self.value * (now - self.since)
        self.value, self.since = self.value + change, now

    def over(self, seconds):
        return (self.area + self.value * (seconds - self.since)) / seconds


class Draws:
    """Times of one law, drawn a thousand at once because single draws are slow."""

    def __init__(self, law, rng):
        self.law, self.rng, self.ready = law, rng, []

    def next(self):
        if not self.ready:
            self.ready = self.law(self.rng, 1000).tolist()
        return self.ready.pop()


class Node:
    """What all elements share: places, those who wait for one, and the figures kept."""

    def __init__(self, world, element):
        self.world, self.env, self.element = world, world.env, element
        self.spilling = element.keys.get("when-full", "hold") == "spill"
        self.entries = self.spills = 0
        self.held, self.waiting, self.full = Mean(self.env), Mean(self.env), Mean(self.env)
        self.places = self.set_up(element)
        self.room = simpy.Resource(self.env, self.places)

    def draws(self, key, otherwise="0 s"):
        return Draws(self.element.time(key, otherwise), self.world.rng)

    def wedging(self, key):
        """Chance that marbles wedge, and how long they stay so."""
        given = self.element.keys.get(key, {"chance": 0.0, "clears": "0 s"})
        return given["chance"], Draws(law(given["clears"]), self.world.rng)

    def chance(self, p):
        return p > 0 and self.world.rng.random() < p

    def has_room(self):
        return self.room.count < self.places and not self.room.queue

    def asked(self):
        """A place, once granted; at once None from a full element with an open side."""
        if self.spilling and not self.has_room():
            return None
        return self.room.request()

    def enter(self):
        self.entries += 1
        self.held.add(1)
        if self.held.value == self.places:
            self.full.add(1)

    def count_out(self):
        if self.held.value == self.places:
            self.full.add(-1)
        self.held.add(-1)

    def leave(self, place, open_after=0.0):
        """The marble has gone on; its place can be taken `open_after` seconds from now."""
        self.count_out()
        if open_after > 0:
            self.env.process(self.let_go_later(place, open_after))
        else:
            self.room.release(place)

    def let_go_later(self, place, seconds):
        yield self.env.timeout(seconds)
        self.room.release(place)

    def go_on(self, way=0):
        """Waits for a place in the next element: (node, place), or the node alone where the marble fell over its side."""
        target = self.world.nodes[self.element.to[way]]
        place = target.asked()
        if place is not None:
            yield place
        return target, place


class File(Node):
    """Ramp, slide, track: single file."""

    def set_up(self, element):
        element.only("time", "places", "advance")
        self.time, self.advance = self.draws("time"), self.draws("advance")
        self.last_arrival, self.ahead, self.shut = 0.0, None, False
        return element.number("places")

    def visit(self, place):
        env = self.env
        ahead, self.ahead = self.ahead, env.event()
        gone = self.ahead
        self.last_arrival = max(env.now + self.time.next(), self.last_arrival)
        yield env.timeout(self.last_arrival - env.now)
        self.waiting.add(1)
        if ahead is not None:
            ready = yield ahead
            if ready > env.now:
                yield env.timeout(ready - env.now)
        onward = yield from self.go_on()
        self.waiting.add(-1)
        advance = self.advance.next()
        self.leave(place, advance if self.is_full() else 0.0)
        gone.succeed(env.now + advance)
        return onward

    def is_full(self):
        """Whether the place that is freed now is still to come to the entrance.

        It may be freed at the very instant at which the place freed before comes there. That one goes to whoever waits
        for it, and the file is full again: it opens one place an advance, never two at once.
        """
        to_open_now = self.shut and abs(self.opens - self.env.now) < 1e-9
        return self.room.count == self.places and (not to_open_now or len(self.room.queue) > 0)

    def let_go_later(self, place, seconds):
        self.shut, self.opens = True, self.env.now + seconds
        yield from super().let_go_later(place, seconds)
        self.shut = False


class Drive:
    """What turns wheels: a clock that stands while a pinched marble is being cleared away."""

    def __init__(self, env):
        self.env, self.stood, self.halted, self.goes = env, 0.0, env.event(), None

    def clock(self):
        return self.env.now - self.stood

    def until(self, clock):
        """Waits until the clock shows so much."""
        while True:
            if self.goes is not None:
                yield self.goes
            left = clock - self.clock()
            if left <= 1e-9:
                return
            yield self.env.timeout(left) | self.halted

    def stand(self, seconds):
        self.goes = self.env.event()
        halted, self.halted = self.halted, self.env.event()
        halted.succeed()
        yield self.env.timeout(seconds)
        self.stood += seconds
        goes, self.goes = self.goes, None
        goes.succeed()


class Wheel(Node):
    """Pocket wheel: a process turns it; those who wait at its foot stand in `askers`."""

    def set_up(self, element):
        element.only("pockets", "lift", "pick-up", "release", "speed", "gear", "phase")
        keys = element.keys
        if "speed" in keys:
            self.turn, self.drive = 60 / float(keys["speed"].split()[0]), Drive(self.env)
        else:
            self.turn, self.drive = 1 / (self.world.machine.turns_a_second * float(keys.get("gear", 1))), self.world.drive
        lift = keys["lift"]
        self.lift = quantity(lift) * (self.turn / (2 * math.pi) if "deg" in lift else 1)
        self.first = quantity(keys.get("phase", "0 deg")) / (2 * math.pi) * self.turn
        self.take, self.pinch = (keys.get("pick-up", {}).get(key, usual) for key, usual in (("take", 1.0), ("pinch", 0.0)))
        self.out = keys.get("release", 1.0)
        self.pockets = [False] * keys["pockets"]
        self.askers, self.passed, self.filled, self.missed, self.pinched, self.carried = [], 0, 0, 0, 0, 0
        self.env.process(self.run())
        return keys["pockets"]

    def has_room(self):
        return False

    def asked(self):
        event = self.env.event()
        self.askers.append(event)
        return event

    def run(self):
        count = len(self.pockets)
        while True:
            yield from self.drive.until(self.first + self.passed * self.turn / count)
            pocket = self.passed % count
            if self.askers and not self.pockets[pocket]:
                luck = self.world.rng.random()
                if luck < self.take:
                    self.pockets[pocket] = True
                    self.askers.pop(0).succeed(pocket)
                elif luck < self.take + self.pinch:
                    self.pinched += 1
                    self.env.process(self.drive.stand(self.world.machine.cleared_after))
                    # Not a step further before it stands.
                    yield self.env.timeout(0)
                else:
                    self.missed += 1
            self.passed += 1
            self.filled += self.pockets[pocket]

    def visit(self, place):
        pocket, top = place.value, self.drive.clock() + self.lift
        yield from self.drive.until(top)
        target = self.world.nodes[self.element.to[0]]
        while not (target.has_room() and (self.out >= 1 or self.chance(self.out))):
            self.carried += 1
            top += self.turn
            yield from self.drive.until(top)
        onward = target.asked()
        yield onward
        self.pockets[pocket] = False
        self.count_out()
        return target, onward


class Opening:
    """A hole or a mouth: marbles pass it one at a time, so long apart at least, and may wedge where they meet."""

    def __init__(self, node, gap):
        self.node, self.gap, self.line, self.opens = node, gap, simpy.Resource(node.env, 1), 0.0
        self.chance, self.clears = node.wedging("arch")
        self.wedged = False

    def let_through(self, place, way):
        node, env = self.node, self.node.env
        if (self.line.count or self.opens > env.now) and not self.wedged and node.chance(self.chance):
            self.wedged = True
            self.opens = max(self.opens, env.now + self.clears.next())
        node.waiting.add(1)
        with self.line.request() as turn:
            yield turn
            while self.opens > env.now:
                yield env.timeout(self.opens - env.now)
            self.wedged = False
            onward = yield from node.go_on(way)
            node.waiting.add(-1)
            self.opens = env.now + self.gap.next()
            node.leave(place)
        return onward


class Bowl(Node):
    def set_up(self, element):
        element.only("swirl", "shares", "room", "hole-time", "arch")
        self.swirl = self.draws("swirl")
        shares = numpy.array(element.keys.get("shares", [1] * len(element.to)), float)
        self.upto = numpy.cumsum(shares / shares.sum())
        self.holes = [Opening(self, self.draws("hole-time")) for _ in element.to]
        return element.number("room")

    def visit(self, place):
        way = int(numpy.searchsorted(self.upto, self.world.rng.random()))
        yield self.env.timeout(self.swirl.next())
        return (yield from self.holes[way].let_through(place, way))


class FlipGate(Node):
    """The gate goes over under the marble that comes, whether or not that marble finds room beyond it; it may stick first."""

    def set_up(self, element):
        element.only("time", "throw", "stick")
        self.time, self.throw = self.draws("time"), self.draws("throw")
        self.stick, self.clears = self.wedging("stick")
        self.way, self.over_at = -1, 0.0
        return 1

    def visit(self, place):
        yield self.env.timeout(self.time.next())
        self.waiting.add(1)
        if self.chance(self.stick):
            yield self.env.timeout(self.clears.next())
        if self.env.now >= self.over_at:
            self.way = (self.way + 1) % len(self.element.to)
            self.over_at = self.env.now + self.throw.next()
        onward = yield from self.go_on(self.way)
        self.waiting.add(-1)
        self.leave(place)
        return onward


class Peg(Node):
    def set_up(self, element):
        element.only("time", "shares")
        self.time = self.draws("time")
        shares = numpy.array(element.keys.get("shares", [1] * len(element.to)), float)
        self.upto = numpy.cumsum(shares / shares.sum())
        return 1

    def visit(self, place):
        yield self.env.timeout(self.time.next())
        way = int(numpy.searchsorted(self.upto, self.world.rng.random()))
        self.waiting.add(1)
        onward = yield from self.go_on(way)
        self.waiting.add(-1)
        self.leave(place)
        return onward


class Weir(Node):
    """The first way with room; where none has any, whichever has first."""

    def set_up(self, element):
        element.only("time")
        self.time = self.draws("time")
        return 1

    def visit(self, place):
        yield self.env.timeout(self.time.next())
        self.waiting.add(1)
        targets = [self.world.nodes[name] for name in self.element.to]
        target = next((target for target in targets if target.has_room()), None)
        if target is not None:
            onward = target.asked()
            yield onward
        else:
            asked = [target.asked() for target in targets]
            yield self.env.any_of(asked)
            first = next(i for i, request in enumerate(asked) if request.triggered)
            target, onward = targets[first], asked[first]
            for i, request in enumerate(asked):
                if i != first:
                    targets[i].room.release(request) if request.triggered else request.cancel()
        self.waiting.add(-1)
        self.leave(place)
        return target, onward


class Escapement(Node):
    def set_up(self, element):
        element.only("time", "places")
        self.time = self.draws("time")
        self.one = simpy.Resource(self.env, 1)
        return element.number("places")

    def visit(self, place):
        self.waiting.add(1)
        with self.one.request() as turn:
            yield turn
            self.waiting.add(-1)
            yield self.env.timeout(self.time.next())
            self.waiting.add(1)
            onward = yield from self.go_on()
            self.waiting.add(-1)
            self.leave(place)
        return onward


class Cup(Node):
    def set_up(self, element):
        element.only("gathers", "tip", "reset")
        self.tip, self.reset = self.draws("tip"), self.draws("reset")
        self.inside, self.tipped = 0, self.env.event()
        self.lip = simpy.Resource(self.env, 1)
        self.places_taken = []
        return element.keys["gathers"]

    def visit(self, place):
        self.waiting.add(1)
        self.inside += 1
        self.places_taken.append(place)
        tipped = self.tipped
        if self.inside == self.places:
            self.env.process(self.go_over())
        with self.lip.request() as at_lip:
            yield tipped & at_lip
            onward = yield from self.go_on()
            self.waiting.add(-1)
            self.count_out()
            self.inside -= 1
            if self.inside == 0:
                self.env.process(self.go_back(self.places_taken))
                self.places_taken = []
        return onward

    def go_over(self):
        yield self.env.timeout(self.tip.next())
        tipped, self.tipped = self.tipped, self.env.event()
        tipped.succeed()

    def go_back(self, places):
        yield self.env.timeout(self.reset.next())
        for place in places:
            self.room.release(place)


class Floor(Node):
    def set_up(self, element):
        element.only("time", "room", "mouth-time", "arch")
        self.time, self.mouth = self.draws("time"), Opening(self, self.draws("mouth-time"))
        return element.number("room")

    def visit(self, place):
        yield self.env.timeout(self.time.next())
        return (yield from self.mouth.let_through(place, 0))


KINDS = {
    "ramp": File,
    "slide": File,
    "track": File,
    "pocket-wheel": Wheel,
    "bowl": Bowl,
    "flip-gate": FlipGate,
    "peg": Peg,
    "weir": Weir,
    "escapement": Escapement,
    "tipping-cup": Cup,
    "return-floor": Floor,
}


class World:
    def __init__(self, machine, rng):
        self.machine, self.rng, self.env = machine, rng, simpy.Environment()
        self.drive = Drive(self.env)
        self.laps = []
        self.nodes = {}
        for name, element in machine.elements.items():
            self.nodes[name] = KINDS[element.kind](self, element)

    def marble(self):
        node = self.nodes[self.machine.start]
        place = node.room.request()
        yield place
        line, since = self.nodes[self.machine.lap_line()], None
        while True:
            if place is None:
                node.spills += 1
                return
            node.enter()
            if node is line:
                if since is not None:
                    self.laps.append(self.env.now - since)
                since = self.env.now
            node, place = yield from node.visit(place)

    def run(self, seconds):
        for _ in range(self.machine.marbles):
            self.env.process(self.marble())
        self.env.run(until=seconds)
        figures = {"throughput": self.nodes[self.machine.lap_line()].entries / seconds * 60}
        if self.laps:
            figures["lap_s"] = statistics.fmean(self.laps)
        for name, node in self.nodes.items():
            figures[name, "entries"] = node.entries
            figures[name, "spills"] = node.spills
            figures[name, "held_mean"] = node.held.over(seconds)
            figures[name, "backlog_mean"] = node.waiting.over(seconds)
            if isinstance(node, Wheel):
                figures[name, "fill"] = node.filled / node.passed
                figures[name, "missed"] = node.missed
                figures[name, "pinched"] = node.pinched
                figures[name, "carried_over"] = node.carried
            elif node.places != math.inf:
                figures[name, "full_share"] = node.full.over(seconds)
        return figures


def simulate(machine, seconds, seed):
    return World(machine, numpy.random.default_rng(seed)).run(seconds)
