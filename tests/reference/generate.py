"""Makes random circuits that by_simpy can simulate: the same seed and number, the same file."""

import random

import yaml


def seconds(value):
    return f"{value:.3f} s"


class Maker:
    def __init__(self, rng):
        self.rng, self.circuit = rng, {}
        self.held_back = 0
        # Whether a way may lead past the floor straight back to the start.
        self.short_cuts = True

    def name(self, kind):
        return f"{kind}-{len(self.circuit)}"

    def put(self, name, kind, keys, to):
        self.circuit[name] = {kind: keys, "to": to}
        return name

    def law(self, low, high):
        """A time law of a mean between `low` and `high` seconds that is rarely near zero."""
        mean, rng = self.rng.uniform(low, high), self.rng
        if rng.random() < 0.15:
            return f"{round(5 * mean) / 5 or 0.2:.1f} s"
        return rng.choice(
            [
                {"normal": {"mean": seconds(mean), "cv": round(rng.uniform(0.02, 0.3), 2)}},
                {"lognormal": {"mean": seconds(mean), "cv": round(rng.uniform(0.1, 0.9), 2)}},
                {"gamma": {"mean": seconds(mean), "cv": round(rng.uniform(0.2, 1.0), 2)}},
                {"uniform": {"low": seconds(mean * rng.uniform(0.3, 0.9)), "high": seconds(mean * rng.uniform(1.1, 1.7))}},
                {"triangular": {"low": seconds(mean * 0.5), "mode": seconds(mean * 0.9), "high": seconds(mean * 1.6)}},
                {"weibull": {"shape": round(rng.uniform(1.1, 3), 2), "scale": seconds(mean * 1.1)}},
                {"exponential": {"mean": seconds(mean)}},
            ]
        )

    def wedging(self):
        """Marbles that meet may arch, and free themselves."""
        rng = self.rng
        return {"chance": round(rng.uniform(0.02, 0.4), 2), "clears": self.law(0.2, 2)}

    def advance(self, low, high):
        """How long a file takes to move up: often as long as others, so that marbles come at one instant."""
        return "0.2 s" if self.rng.random() < 0.4 else seconds(self.rng.uniform(low, high))

    def places(self, low, high):
        return "unlimited" if self.rng.random() < 0.2 else self.rng.randint(low, high)

    def file(self, to):
        name, rng = self.name("track"), self.rng
        keys = {"time": self.law(0.8, 5), "places": self.places(2, 9), "advance": self.advance(0.05, 0.4)}
        return self.put(name, rng.choice(["track", "slide"]), keys, to)

    def escapement(self, to):
        keys = {"time": self.law(0.3, 1.2), "places": self.places(1, 4)}
        return self.put(self.name("escapement"), "escapement", keys, to)

    def trip(self, to):
        """A gate before a track whose marbles, at its end, open it for the next ones: so it never holds for good."""
        rng = self.rng
        lets = rng.randint(1, 3)
        end = self.put(self.name("lever"), "track", {"time": self.law(0.3, 2)}, to)
        run = self.put(self.name("run"), "track", {"time": self.law(0.3, 2)}, end)
        keys = {"trip": end, "lets": lets, "keeps": lets + rng.randint(0, 2), "first": rng.randint(1, 3), "shut": self.advance(0.05, 0.6)}
        return self.put(self.name("gate"), "trip-gate", keys, run)

    def bell(self, to):
        return self.put(self.name("bell"), "bell", {"time": seconds(self.rng.uniform(0.05, 0.4))}, to)

    def stunt(self, to):
        """A loop or a jump whose time was measured."""
        kind = self.rng.choice(["loop", "jump"])
        keys = {"radius": "60 mm"} if kind == "loop" else {"gap": "60 mm", "landing": "80 mm", "fall": "20 mm"}
        return self.put(self.name(kind), kind, keys | {"time": self.law(0.1, 0.8)}, to)

    def funnel(self, to):
        keys = {"swirl": self.law(1, 4), "room": self.rng.randint(2, 9), "hole-time": seconds(self.rng.uniform(0.05, 0.3)), "when-full": "hold"}
        return self.put(self.name("funnel"), "funnel", keys, to)

    def cup(self, to):
        gathers = self.rng.randint(2, 5)
        self.held_back += gathers
        keys = {"gathers": gathers, "tip": seconds(self.rng.uniform(0.1, 0.6)), "reset": seconds(self.rng.uniform(0.1, 1))}
        return self.put(self.name("cup"), "tipping-cup", keys, to)

    def wheel(self, to):
        rng = self.rng
        # A wheel lets go only onto something with room, and waits at nothing: it stands over a file.
        slide = self.put(self.name("landing"), "slide", {"time": self.law(0.8, 1.5), "places": rng.randint(2, 6), "advance": self.advance(0.1, 0.3)}, to)
        keys = {
            "pockets": rng.randint(10, 20),
            "lift": f"{rng.uniform(120, 190):.1f} deg" if rng.random() < 0.7 else seconds(rng.uniform(2, 5)),
            "phase": f"{rng.uniform(-60, 300):.1f} deg",
            "pick-up": {"take": round(rng.uniform(0.8, 1), 2)},
            "release": round(rng.uniform(0.85, 1), 2),
        }
        keys |= rng.choice([{}, {"gear": round(rng.uniform(0.7, 1.4), 2)}, {"speed": f"{rng.uniform(5, 10):.2f} rpm"}])
        kind = "pocket-wheel"
        if rng.random() < 0.5:
            kind, own = self.lift()
            keys = own | {key: keys[key] for key in ("pick-up", "release") if rng.random() < 0.7}
        wheel = self.put(self.name("wheel"), kind, keys, slide)
        ramp = {"time": self.law(0.5, 1), "places": self.places(3, 10), "advance": self.advance(0.1, 0.3)}
        return self.put(self.name("foot"), "ramp", ramp, wheel)

    def lift(self):
        """A lift other than a wheel, that takes some twenty to sixty marbles a minute."""
        rng = self.rng
        kind, speed = rng.choice(["chain-lift", "screw-lift", "stair-lift", "stroke-lift", "swing-arm"]), f"{rng.uniform(20, 60):.1f} rpm"
        if kind == "screw-lift":
            return kind, {"turns": round(rng.uniform(1, 12), 1), "pitch": "30 mm", "speed": speed}
        if kind == "stair-lift":
            combs = {"step": "40 mm", "stroke": "60 mm", "tread": "20 mm", "slope": "6 deg"}
            return kind, {"steps": rng.randint(1, 9), "speed": speed} | combs
        if kind == "swing-arm":
            return kind, {"arm": "200 mm", "dwell": round(rng.uniform(0, 0.8), 2), "speed": speed}
        if kind == "stroke-lift":
            return kind, {"stroke": "300 mm", "dwell": round(rng.uniform(0, 0.8), 2), "speed": speed}
        cups, holds = rng.randint(8, 20), rng.randint(1, 3)
        chain = {"cups": cups, "holds": holds, "pitch": "50 mm", "rise": f"{rng.randint(100, 25 * cups)} mm", "sprocket": "80 mm"}
        if rng.random() < 0.5:
            chain["mouth"] = f"{rng.randint(20, 50)} mm"
        return "chain-lift", chain | {"speed": f"{rng.uniform(4, 12 / holds):.2f} rpm"}

    def splitter(self, to, depth):
        rng = self.rng
        ways = [self.chain(to, depth + 1) for _ in range(rng.randint(1, 2))]
        ways.append("ramp" if self.short_cuts and rng.random() < 0.15 else self.chain(to, depth + 1))
        shares = [rng.randint(1, 4) for _ in ways]
        small = seconds(rng.uniform(0.05, 0.3))
        kind = rng.choice(["bowl", "flip-gate", "peg", "weir"] + ["see-saw"] * (len(ways) == 2))
        gathers = rng.randint(2, 5)
        self.held_back += gathers if kind == "see-saw" else 0
        keys = {
            "bowl": {"swirl": self.law(1, 3), "shares": shares, "room": rng.randint(3, 9), "hole-time": small, "when-full": "hold"},
            "flip-gate": {"time": small, "throw": seconds(rng.uniform(0.05, 1.8))},
            "peg": {"time": small, "shares": shares},
            "weir": {"time": small},
            "see-saw": {"gathers": gathers, "tip": seconds(rng.uniform(0.1, 0.6))},
        }[kind]
        if kind == "bowl" and rng.random() < 0.5:
            keys["arch"] = self.wedging()
        return self.put(self.name(kind), kind, keys, ways)

    def chain(self, to, depth=0):
        """Elements one after another that end at `to`, and the name of the first."""
        for _ in range(self.rng.randint(1, 3)):
            kinds = [self.file, self.file, self.escapement, self.bell, self.trip, self.stunt, self.funnel]
            if depth < 2:
                kinds += [self.cup, self.wheel, *[lambda to: self.splitter(to, depth)] * 3]
            to = self.rng.choice(kinds)(to)
        if self.circuit[to].keys() & {"peg", "weir", "flip-gate", "tipping-cup", "see-saw", "bowl", "funnel"}:
            to = self.file(to)
        return to


LARGEST = 18


def circuit(seed, number):
    rng = random.Random(f"{seed} {number}")
    while True:
        maker, machine = one(rng, f"Random circuit {number} of seed {seed}")
        # In large circuits each figure is known too roughly to tell much.
        if len(maker.circuit) <= LARGEST:
            return yaml.safe_dump(machine, sort_keys=False)


def one(rng, title):
    maker = Maker(rng)
    floor = {"time": maker.law(1, 4), "mouth-time": seconds(rng.uniform(0.05, 0.4))}
    # Where the start cannot take all, the floor must, or the machine might lock up.
    poured_slowly = rng.random() < 0.4
    maker.short_cuts = not poured_slowly
    if not poured_slowly and rng.random() < 0.5:
        floor |= {"room": rng.randint(4, 12), "when-full": "hold"}
    if rng.random() < 0.5:
        floor["arch"] = maker.wedging()
    maker.put("floor", "return-floor", floor, "ramp")
    first = maker.chain("floor")
    maker.put("ramp", "ramp", {"time": maker.law(0.4, 1), "places": rng.randint(2, 8) if poured_slowly else "unlimited", "advance": maker.advance(0.05, 0.3)}, first)
    return maker, {
        "format": 1,
        "title": title,
        "marbles": {"count": maker.held_back + rng.randint(4, 4 + 3 * len(maker.circuit))},
        "drive": {"speed": f"{rng.uniform(6, 10):.2f} rpm"},
        "start": "ramp",
        "circuit": maker.circuit,
    }
