"""Simulates a machine with SimPy, one process a marble, as src/handbook/rules.md has it.

Time is whole nanoseconds. What is due at an instant is a SimPy event whose priority is its turn: the place of the element in
the file, then entrance, gates, arrivals. What follows in the course of a turn has SimPy's own priorities, which come first.
"""

import bisect
import collections
import math
import statistics

import numpy
import simpy

from machine import law, quantity

SECOND = 10**9
# Turns at one element: its entrance, its gates (one for each hole), marbles that arrive.
ENTRANCE, GATE, ARRIVAL, TURNS = 0, 1, 999, 1000
# After SimPy's own priorities, 0 and 1, and that of the hand between two marbles.
FIRST = 3


def nanoseconds(seconds):
    return int(round(seconds * SECOND))


class Mean:
    """Mean over time of a number that changes in steps."""

    def __init__(self, env):
        self.env, self.value, self.since, self.area = env, 0, 0, 0

    def add(self, change):
        now = self.env.now
        self.area += self.value * (now - self.since)
        self.value, self.since = self.value + change, now

    def over(self, time):
        return (self.area + self.value * (time - self.since)) / time


class Draws:
    """Times of one law, drawn a thousand at once because single draws are slow."""

    def __init__(self, law, rng):
        self.law, self.rng, self.ready = law, rng, []

    def next(self):
        if not self.ready:
            self.ready = self.law(self.rng, 1000).tolist()
        return nanoseconds(self.ready.pop())


class Ask:
    """A head's request for a place in one of several elements; `answer` is the one that let it in, None if taken back."""

    def __init__(self, env, node, gate, targets):
        self.key = (env.now, node.number, gate) if node is not None else (math.inf, math.inf, 0)
        self.targets, self.answer = targets, env.event()
        for target in targets:
            bisect.insort(target.asks, self, key=lambda ask: ask.key)
            target.awaited()

    def settle(self, target=None):
        for one in self.targets:
            if one is not target:
                one.asks.remove(self)
        self.answer.succeed(target)


class Node:
    """What all elements share: room, those who wait outside, and the figures kept."""

    def __init__(self, world, element, number):
        self.world, self.env, self.element, self.number = world, world.env, element, number
        self.spilling = element.keys.get("when-full", "hold") == "spill"
        self.entries = self.spills = 0
        self.held, self.waiting, self.full = Mean(self.env), Mean(self.env), Mean(self.env)
        self.asks, self.opens, self.entrance_due = [], 0, False
        self.places = self.set_up(element)

    def draws(self, key, otherwise="0 s"):
        return Draws(self.element.time(key, otherwise), self.world.rng)

    def wedging(self, key):
        """Chance that marbles wedge, and how long they stay so."""
        given = self.element.keys.get(key, {"chance": 0.0, "clears": "0 s"})
        return given["chance"], Draws(law(given["clears"]), self.world.rng)

    def chance(self, p):
        return p > 0 and self.world.rng.random() < p

    def due(self, delay, turn):
        return self.world.due(delay, FIRST + self.number * TURNS + turn)

    def has_room(self):
        return self.held.value < self.places and self.opens < math.inf

    def is_open(self):
        """Whether a place is free and has come to the entrance."""
        return self.has_room() and self.held.value + (self.opens > self.env.now) < self.places

    def can_be_entered(self):
        return self.is_open() and not self.asks

    def take(self):
        """A marble has its place from here on."""
        self.held.add(1)
        if self.held.value == self.places:
            self.full.add(1)

    def leave(self, shut_for=0):
        """A marble has gone; from a full element its place can be taken only after a time."""
        just_opened = self.opens == self.env.now > 0 and self.held.value + 1 == self.places
        if self.held.value == self.places:
            self.full.add(-1)
        if self.held.value == self.places or just_opened:
            self.opens = max(self.opens, self.env.now + shut_for)
        self.held.add(-1)
        self.awaited()

    def awaited(self):
        """Sees to it that whoever waits is let in when the entrance is open; the hand where nobody else waits."""
        if not self.has_room():
            return
        opens_in = 0 if self.is_open() else max(self.opens - self.env.now, 0)
        if self.asks and not self.entrance_due:
            self.entrance_due = True
            self.due(opens_in, ENTRANCE).callbacks.append(self.let_in)
        elif not self.asks and self is self.world.start:
            self.world.tell_hand(opens_in)

    def let_in(self, _):
        self.entrance_due = False
        while self.asks and self.is_open():
            self.take()
            self.asks.pop(0).settle(self)
        self.awaited()

    def go_on(self, way=0, gate=0):
        """Waits for a place in the next element: the node entered and True, or False where the marble fell over its side."""
        if not self.element.to:
            yield self.env.event()
        target = self.world.nodes[self.element.to[way]]
        if target.can_be_entered():
            target.take()
            return target, True
        if target.spilling:
            return target, False
        yield Ask(self.env, self, gate, [target]).answer
        return target, True


class File(Node):
    """Ramp, slide, track: single file."""

    def set_up(self, element):
        element.only("time", "places", "advance")
        self.time, self.advance = self.draws("time"), self.draws("advance")
        self.last_arrival, self.travelling, self.ahead = 0, 0, None
        return element.number("places")

    def visit(self):
        env = self.env
        ahead, self.ahead = self.ahead, env.event()
        gone = self.ahead
        self.last_arrival = max(env.now + self.time.next(), self.last_arrival)
        if self.last_arrival > env.now or self.travelling:
            self.travelling += 1
            yield self.due(self.last_arrival - env.now, ARRIVAL)
            self.travelling -= 1
        self.waiting.add(1)
        if ahead is not None:
            ready = yield ahead
            if ready > env.now:
                yield self.due(ready - env.now, GATE)
        onward = yield from self.go_on()
        self.waiting.add(-1)
        advance = self.advance.next()
        self.leave(advance)
        gone.succeed(env.now + advance)
        return onward


class Drive:
    """What turns wheels: a clock that stands while a pinched marble is being cleared away."""

    def __init__(self, env):
        self.env, self.stood, self.halted, self.goes = env, 0, env.event(), None
        self.since = 0

    def clock(self):
        return (self.since if self.goes is not None else self.env.now) - self.stood

    def until(self, clock, node, turn):
        """Waits until the clock shows so much and the element has its turn."""
        while True:
            if self.goes is not None:
                yield self.goes
            yield node.due(clock - self.clock(), turn) | self.halted
            if self.goes is None and self.clock() == clock:
                return

    def stand(self, seconds, wheel):
        self.since, self.goes = self.env.now, self.env.event()
        halted, self.halted = self.halted, self.env.event()
        halted.succeed()
        yield wheel.due(seconds, ENTRANCE)
        self.stood += self.env.now - self.since
        goes, self.goes = self.goes, None
        goes.succeed()


class Wheel(Node):
    """Pocket wheel: a process turns it; those who wait at its foot stand in `asks`."""

    def set_up(self, element):
        element.only("pockets", "lift", "pick-up", "release", "speed", "gear", "phase")
        keys, turn = element.keys, self.shaft(element)
        lift, count = keys["lift"], keys["pockets"]
        degrees = float(str(keys.get("phase", "0 deg")).split()[0])
        self.first = nanoseconds(degrees % (360 / count) / 360 * turn)
        return self.go_round(turn, count, quantity(lift) * (turn / (2 * math.pi) if "deg" in lift else 1))

    def shaft(self, element):
        """Seconds that a turn of its shaft takes."""
        if "speed" in element.keys:
            self.drive = Drive(self.env)
            return 60 / float(element.keys["speed"].split()[0])
        self.drive = self.world.drive
        return 1 / (self.world.machine.turns_a_second * float(element.keys.get("gear", 1)))

    def go_round(self, turn, count, lift, places=1, apart=0):
        """So many places round, in groups of `places`, `apart` seconds after one another."""
        keys = self.element.keys
        self.turn, self.lift = nanoseconds(turn), nanoseconds(lift)
        self.groups, self.places_each, self.apart = count, places, nanoseconds(apart)
        count *= places
        self.take_chance, self.pinch = (keys.get("pick-up", {}).get(key, usual) for key, usual in (("take", 1.0), ("pinch", 0.0)))
        self.out = keys.get("release", 1.0)
        # The pockets of those who have just been taken, in that order.
        self.pockets, self.entering = [False] * count, collections.deque()
        self.passed, self.filled, self.missed, self.pinched, self.carried = 0, 0, 0, 0, 0
        # The pocket at the pick-up at this very instant, if it has met no marble yet.
        self.unmet, self.unmet_at = None, -1
        self.env.process(self.run())
        return count

    def can_be_entered(self):
        return False

    def awaited(self):
        if self.asks and self.unmet is not None and self.unmet_at == self.drive.clock() and self.drive.goes is None:
            pocket, self.unmet = self.unmet, None
            self.due(0, GATE).callbacks.append(lambda _: self.meets(pocket))

    def run(self):
        count = len(self.pockets)
        while True:
            group, place = divmod(self.passed % count, self.places_each)
            time = self.first + self.passed // count * self.turn + group * self.turn // self.groups + place * self.apart
            yield from self.drive.until(time, self, GATE)
            pocket = self.passed % count
            self.passed += 1
            self.filled += self.pockets[pocket]
            self.unmet = None
            if not self.pockets[pocket]:
                if self.asks:
                    self.meets(pocket)
                else:
                    self.unmet, self.unmet_at = pocket, time

    def meets(self, pocket):
        if not self.asks:
            return
        luck = self.world.rng.random()
        if luck < self.take_chance:
            self.pockets[pocket] = True
            self.filled += 1
            self.take()
            self.entering.append(pocket)
            self.asks.pop(0).settle(self)
        elif luck < self.take_chance + self.pinch:
            self.pinched += 1
            self.env.process(self.drive.stand(nanoseconds(self.world.machine.cleared_after), self))
        else:
            self.missed += 1

    def visit(self):
        pocket, top = self.entering.popleft(), self.drive.clock() + self.lift
        yield from self.drive.until(top, self, ARRIVAL)
        target = self.world.nodes[self.element.to[0]]
        while True:
            in_time = self.out >= 1 or self.chance(self.out)
            if in_time and (target.can_be_entered() or target.spilling):
                break
            self.carried += 1
            top += self.turn
            yield from self.drive.until(top, self, ARRIVAL)
        inside = target.can_be_entered()
        if inside:
            target.take()
        self.pockets[pocket] = False
        self.leave()
        return target, inside


class ChainLift(Wheel):
    """Cups on a chain, each of which is as many pockets as it holds marbles."""

    def set_up(self, element):
        element.only("cups", "holds", "pitch", "rise", "sprocket", "mouth", "pick-up", "release", "speed", "gear")
        keys, self.first = element.keys, 0
        pitch, holds = quantity(keys["pitch"]), keys.get("holds", 1)
        every = self.shaft(element) * pitch / (math.pi * quantity(keys["sprocket"]))
        # The marbles' size is not known here, so that all of the mouth is open to them.
        is_open = quantity(keys.get("mouth", keys["pitch"])) / pitch
        apart = min(every * is_open / holds, (every - 1e-9) / holds)
        return self.go_round(every * keys["cups"], keys["cups"], every * quantity(keys["rise"]) / pitch, holds, apart)


class ScrewLift(Wheel):
    """A thread a turn; what finds no room at the top is at the foot again a turn later."""

    def set_up(self, element):
        element.only("turns", "pitch", "thread", "pick-up", "release", "speed", "gear")
        self.first, turn, turns = 0, self.shaft(element), element.keys["turns"]
        places = math.ceil(turns) + 1
        return self.go_round(turn * places, places, turn * turns)


class StairLift(Wheel):
    """A step a turn; what finds no room at the top is at the foot again a turn later."""

    def set_up(self, element):
        element.only("steps", "step", "stroke", "tread", "slope", "pick-up", "release", "speed", "gear")
        self.first, turn, steps = 0, self.shaft(element), element.keys["steps"]
        return self.go_round(turn * (steps + 1), steps + 1, turn * steps)


class SwingArm(Wheel):
    """One marble a turn, as a stroke lift."""

    def set_up(self, element):
        element.only("arm", "down", "up", "dwell", "pick-up", "release", "speed", "gear")
        self.first, turn = 0, self.shaft(element)
        return self.go_round(turn, 1, turn * (1 - element.keys.get("dwell", 0.3)) / 2)


class StrokeLift(Wheel):
    """One marble a turn, up in half of what its tray does not stand at the foot."""

    def set_up(self, element):
        element.only("stroke", "dwell", "pick-up", "release", "speed", "gear")
        self.first, turn = 0, self.shaft(element)
        return self.go_round(turn, 1, turn * (1 - element.keys.get("dwell", 0.3)) / 2)


class Opening:
    """A hole or a mouth: marbles pass it one at a time, so long apart at least, and may arch where they meet."""

    def __init__(self, node, gap, number):
        self.node, self.gap, self.gate = node, gap, number
        self.chance, self.clears = node.wedging("arch")
        self.line, self.opens, self.wedged, self.ask = collections.deque(), 0, None, None

    def arch(self):
        """Those who wait here are wedged, and the head asks no longer."""
        self.wedged = self.node.env.event()
        self.node.due(self.clears.next(), GATE + self.gate).callbacks.append(self.clear)
        if self.ask is not None:
            self.ask.settle()

    def clear(self, _):
        wedged, self.wedged = self.wedged, None
        wedged.succeed()

    def let_through(self, way):
        node, env = self.node, self.node.env
        meets = len(self.line) + (self.opens > env.now)
        if meets and self.wedged is None and node.chance(self.chance):
            self.arch()
        node.waiting.add(1)
        turn = env.event()
        self.line.append(turn)
        if len(self.line) > 1:
            yield turn
        onward = None
        while onward is None:
            if self.wedged is not None:
                yield self.wedged
            elif self.opens > env.now:
                # What arches meanwhile is seen to when the gate might have opened.
                yield node.due(self.opens - env.now, GATE + self.gate)
            else:
                onward = yield from self.offer(way)
        node.waiting.add(-1)
        self.opens = env.now + self.gap.next()
        self.line.popleft()
        node.leave()
        if self.line:
            self.line[0].succeed()
        return onward

    def offer(self, way):
        """Where the head has gone, or None where it was wedged while it asked."""
        node = self.node
        target = node.world.nodes[node.element.to[way]]
        if target.can_be_entered():
            target.take()
            return target, True
        if target.spilling:
            return target, False
        self.ask = Ask(node.env, node, self.gate, [target])
        answer = yield self.ask.answer
        self.ask = None
        return None if answer is None else (target, True)


class Bowl(Node):
    def set_up(self, element):
        element.only("swirl", "shares", "room", "hole-time", "arch")
        self.swirl = self.draws("swirl")
        shares = numpy.array(element.keys.get("shares", [1] * len(element.to)), float)
        self.upto = numpy.cumsum(shares / shares.sum())
        self.holes = [Opening(self, self.draws("hole-time"), number) for number, _ in enumerate(element.to)]
        return element.number("room")

    def visit(self):
        yield self.due(self.swirl.next(), ARRIVAL)
        way = int(numpy.searchsorted(self.upto, self.world.rng.random()))
        return (yield from self.holes[way].let_through(way))


class Funnel(Bowl):
    """A bowl with one hole."""

    def set_up(self, element):
        element.only("swirl", "room", "hole-time")
        self.swirl, self.upto = self.draws("swirl"), [1.0]
        self.holes = [Opening(self, self.draws("hole-time"), 0)]
        return element.number("room")


class Floor(Node):
    def set_up(self, element):
        element.only("time", "room", "mouth-time", "arch")
        self.time, self.mouth = self.draws("time"), Opening(self, self.draws("mouth-time"), 0)
        return element.number("room")

    def visit(self):
        yield self.due(self.time.next(), ARRIVAL)
        return (yield from self.mouth.let_through(0))


class Fall(Node):
    """One marble at a time falls through: flip gate, peg, weir."""

    def fall(self):
        time = self.time.next()
        if time > 0:
            yield self.due(time, ARRIVAL)
        self.waiting.add(1)

    def gone(self, onward):
        self.waiting.add(-1)
        self.leave()
        return onward


class FlipGate(Fall):
    """It goes over under a marble that leaves by the way to which it stands; within the throw the next follows the one ahead."""

    def set_up(self, element):
        element.only("time", "throw", "stick")
        self.time, self.throw = self.draws("time"), self.draws("throw")
        self.stick, self.clears = self.wedging("stick")
        self.stands, self.last, self.over_at = 0, 0, 0
        return 1

    def visit(self):
        yield from self.fall()
        follows = self.env.now < self.over_at
        way = self.last if follows else self.stands
        if self.chance(self.stick):
            yield self.due(self.clears.next(), GATE)
        onward = yield from self.go_on(way)
        if not follows:
            self.last, self.stands = way, (way + 1) % len(self.element.to)
            self.over_at = self.env.now + self.throw.next()
        return self.gone(onward)


class Through(File):
    """Loop, jump: a file that moves up in no time; the marbles' size is not known here, so that it has any number of places."""

    def set_up(self, element):
        element.only("time", "radius", "gap", "landing", "fall")
        self.time, self.advance = self.draws("time"), self.draws("advance")
        self.last_arrival, self.travelling, self.ahead = 0, 0, None
        if "time" not in element.keys:
            raise ValueError(f"{element.name}: give a measured time")
        return math.inf


class Bell(Fall):
    """Marbles strike it as they have fallen, whether or not they can go on at once."""

    def set_up(self, element):
        element.only("time")
        self.time = self.draws("time")
        return 1

    def visit(self):
        yield from self.fall()
        return self.gone((yield from self.go_on()))


class Peg(Fall):
    def set_up(self, element):
        element.only("time", "shares")
        self.time = self.draws("time")
        shares = numpy.array(element.keys.get("shares", [1] * len(element.to)), float)
        self.upto = numpy.cumsum(shares / shares.sum())
        return 1

    def visit(self):
        yield from self.fall()
        way = int(numpy.searchsorted(self.upto, self.world.rng.random()))
        return self.gone((yield from self.go_on(way)))


class Weir(Fall):
    """The first way with room; else over the open side of the last way, or whichever has room first."""

    def set_up(self, element):
        element.only("time")
        self.time = self.draws("time")
        return 1

    def visit(self):
        yield from self.fall()
        targets = [self.world.nodes[name] for name in self.element.to]
        target = next((one for one in targets if one.can_be_entered() or isinstance(one, Wheel) and not one.asks), None)
        inside = True
        if target is not None and not isinstance(target, Wheel):
            target.take()
        elif target is not None:
            yield Ask(self.env, self, 0, [target]).answer
        elif targets[-1].spilling:
            target, inside = targets[-1], False
        else:
            target = yield Ask(self.env, self, 0, list(dict.fromkeys(targets))).answer
        return self.gone((target, inside))


class Escapement(Node):
    def set_up(self, element):
        element.only("time", "places")
        self.time = self.draws("time")
        self.line = collections.deque()
        return element.number("places")

    def visit(self):
        self.waiting.add(1)
        turn = self.env.event()
        self.line.append(turn)
        if len(self.line) > 1:
            yield turn
        self.waiting.add(-1)
        yield self.due(self.time.next(), GATE)
        self.waiting.add(1)
        onward = yield from self.go_on()
        self.waiting.add(-1)
        self.line.popleft()
        self.leave()
        if self.line:
            self.line[0].succeed()
        return onward


class TripGate(Node):
    """Its head goes on when marbles that came into another element have let it; it stays shut for a time after each."""

    def set_up(self, element):
        element.only("trip", "lets", "keeps", "first", "shut", "places")
        keys = element.keys
        self.lets = keys.get("lets", 1)
        self.keeps, self.open_for = keys.get("keeps", self.lets), keys.get("first", 0)
        self.shut, self.line = self.draws("shut"), collections.deque()
        self.ready, self.parked = 0, None
        self.world.levers[keys["trip"]].append(self)
        return element.number("places")

    def tripped(self):
        self.open_for = max(self.open_for, min(self.open_for + self.lets, self.keeps))
        parked, self.parked = self.parked, None
        if parked is not None:
            self.due(0, GATE).callbacks.append(lambda _: parked.succeed())

    def visit(self):
        self.waiting.add(1)
        turn = self.env.event()
        self.line.append(turn)
        if len(self.line) > 1:
            yield turn
        if self.ready > self.env.now:
            yield self.due(self.ready - self.env.now, GATE)
        if self.open_for == 0:
            self.parked = self.env.event()
            yield self.parked
        onward = yield from self.go_on()
        self.open_for = max(self.open_for - 1, 0)
        self.waiting.add(-1)
        self.line.popleft()
        self.ready = self.env.now + self.shut.next()
        self.leave()
        if self.line:
            self.line[0].succeed()
        return onward


class Cup(Node):
    def set_up(self, element):
        element.only("gathers", "tip", "reset")
        self.tip, self.reset = self.draws("tip"), self.draws("reset")
        self.line = collections.deque()
        return element.keys["gathers"]

    def is_open(self):
        return self.has_room() and self.opens <= self.env.now

    def visit(self):
        self.waiting.add(1)
        turn = self.env.event()
        self.line.append(turn)
        if len(self.line) == self.places:
            self.opens = math.inf
            self.due(self.tip.next(), GATE).callbacks.append(lambda _: self.line[0].succeed())
        yield turn
        onward = yield from self.go_on()
        self.waiting.add(-1)
        self.line.popleft()
        if self.line:
            self.leave()
            self.line[0].succeed()
        else:
            self.opens = self.env.now + self.reset.next()
            self.leave()
        return onward


class SeeSaw(Cup):
    """A cup with a tray at either side: each batch goes by the next way, and none waits for it to come back."""

    def set_up(self, element):
        element.only("gathers", "tip")
        self.tip, self.side = self.draws("tip", "0.4 s"), 0
        self.reset, self.line = Draws(law("0 s"), self.world.rng), collections.deque()
        return element.keys["gathers"]

    def go_on(self, way=0, gate=0):
        onward = yield from super().go_on(self.side, gate)
        if len(self.line) == 1:
            self.side = (self.side + 1) % len(self.element.to)
        return onward


KINDS = {
    "ramp": File,
    "slide": File,
    "track": File,
    "pocket-wheel": Wheel,
    "chain-lift": ChainLift,
    "screw-lift": ScrewLift,
    "stair-lift": StairLift,
    "stroke-lift": StrokeLift,
    "swing-arm": SwingArm,
    "bowl": Bowl,
    "funnel": Funnel,
    "flip-gate": FlipGate,
    "bell": Bell,
    "loop": Through,
    "jump": Through,
    "peg": Peg,
    "weir": Weir,
    "escapement": Escapement,
    "trip-gate": TripGate,
    "tipping-cup": Cup,
    "see-saw": SeeSaw,
    "return-floor": Floor,
}


class World:
    def __init__(self, machine, rng):
        self.machine, self.rng, self.env = machine, rng, simpy.Environment()
        self.drive = Drive(self.env)
        self.laps, self.passed, self.start = [], 0, None
        self.in_hand, self.hand_due = machine.marbles, False
        self.nodes, self.levers = {}, collections.defaultdict(list)
        for number, (name, element) in enumerate(machine.elements.items()):
            self.nodes[name] = KINDS[element.kind](self, element, number)
        self.start, self.line = self.nodes[machine.start], self.nodes[machine.lap_line()]

    def due(self, delay, priority):
        event = self.env.event()
        event._ok, event._value = True, None
        self.env.schedule(event, priority, delay)
        return event

    def tell_hand(self, opens_in):
        """The hand has its turn after all elements, when the start is open."""
        if self.in_hand and not self.hand_due:
            self.hand_due = True
            turn = FIRST + len(self.nodes) * TURNS
            self.due(opens_in, turn).callbacks.append(lambda _: self.env.process(self.pour()))

    def pour(self):
        self.hand_due = False
        while self.in_hand:
            if isinstance(self.start, Wheel):
                yield Ask(self.env, None, 0, [self.start]).answer
            elif self.start.can_be_entered():
                self.start.take()
            else:
                return self.start.awaited()
            self.in_hand -= 1
            self.env.process(self.marble())
            # The marble goes as far as it can before the next is offered.
            yield self.due(0, FIRST - 1)

    def marble(self):
        node, inside, since = self.start, True, None
        while True:
            if not inside:
                node.spills += 1
                return
            node.entries += 1
            for gate in self.levers[node.element.name]:
                gate.tripped()
            if node is self.line:
                self.passed += since is not None or isinstance(node, Wheel)
                if since is not None:
                    self.laps.append(self.env.now - since)
                since = self.env.now
            node, inside = yield from node.visit()

    def run(self, seconds):
        time = nanoseconds(seconds)
        self.env.process(self.pour())
        # What is due at the very end still happens.
        self.env.run(until=time + 1)
        figures = {"throughput": self.passed / seconds * 60}
        if self.laps:
            figures["lap_s"] = statistics.fmean(self.laps) / SECOND
        for name, node in self.nodes.items():
            figures[name, "entries"] = node.entries
            figures[name, "spills"] = node.spills
            figures[name, "held_mean"] = node.held.over(time)
            figures[name, "backlog_mean"] = node.waiting.over(time)
            if isinstance(node, Wheel):
                figures[name, "fill"] = node.filled / node.passed
                figures[name, "missed"] = node.missed
                figures[name, "pinched"] = node.pinched
                figures[name, "carried_over"] = node.carried
            elif node.places != math.inf:
                figures[name, "full_share"] = node.full.over(time)
        return figures


def simulate(machine, seconds, seed):
    return World(machine, numpy.random.default_rng(seed)).run(seconds)
