"""Reads the part of a machine file that these scripts simulate: elements whose times are all given.

Seconds, radians and turns a second throughout. What is not understood is an error: nothing is passed over in silence.
"""

import math

import numpy
import yaml

UNITS = {"ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0, "deg": math.pi / 180, "rpm": 1 / 60, "mm": 1e-3}
LIFTS = ("pocket-wheel", "chain-lift", "screw-lift", "stair-lift", "stroke-lift", "swing-arm")


def quantity(text):
    number, unit = str(text).split()
    return float(number) * UNITS[unit]


def law(spec):
    """A function of a numpy generator and a size that draws from the time law of the file."""
    if isinstance(spec, str):
        value = quantity(spec)
        return lambda rng, n: numpy.full(n, value)
    ((name, given),) = spec.items()
    if name == "fixed":
        return law(given)
    if name == "samples":
        readings = numpy.array([quantity(one) for one in given])
        return lambda rng, n: rng.choice(readings, n)
    given = {key: float(value) if key in ("shape", "cv") else quantity(value) for key, value in given.items()}
    if "cv" in given:
        given["sd"] = given.pop("cv") * given["mean"]
    return DRAWS[name](**given)


def normal(mean, sd):
    def draw(rng, n):
        values = rng.normal(mean, sd, n)
        while (below := values < 0).any():
            values[below] = rng.normal(mean, sd, below.sum())
        return values

    return draw


def lognormal(mean, sd):
    variance = math.log(1 + (sd / mean) ** 2)
    return lambda rng, n: rng.lognormal(math.log(mean) - variance / 2, math.sqrt(variance), n)


def gamma(mean=None, sd=None, shape=None, scale=None):
    if mean is not None:
        shape, scale = (mean / sd) ** 2, sd**2 / mean
    return lambda rng, n: rng.gamma(shape, scale, n)


DRAWS = {
    "normal": normal,
    "lognormal": lognormal,
    "gamma": gamma,
    "weibull": lambda shape, scale: lambda rng, n: scale * rng.weibull(shape, n),
    "triangular": lambda low, mode, high: lambda rng, n: rng.triangular(low, mode, high, n),
    "uniform": lambda low, high: lambda rng, n: rng.uniform(low, high, n),
    "exponential": lambda mean: lambda rng, n: rng.exponential(mean, n),
}


class Element:
    """One element of the file: its kind, its keys as they stand there, and the names its exits lead to."""

    def __init__(self, name, spec):
        self.name = name
        (self.kind,) = set(spec) - {"to"}
        self.keys = spec[self.kind] or {}
        to = spec["to"]
        ways = to if isinstance(to, list) else [to]
        self.to = [next(iter(way)) if isinstance(way, dict) else way for way in ways if way != "none"]

    def time(self, key, otherwise="0 s"):
        return law(self.keys.get(key, otherwise))

    def number(self, key, otherwise=None):
        value = self.keys.get(key, otherwise)
        return math.inf if value in (None, "unlimited") else value

    def only(self, *known):
        unknown = set(self.keys) - set(known) - {"when-full"}
        if "room" in self.keys and "when-full" not in self.keys:
            raise ValueError(f"{self.name}: say `when-full`, whose default differs from kind to kind")
        if unknown:
            raise ValueError(f"{self.name}: these scripts do not simulate {', '.join(sorted(unknown))}")


class Machine:
    def __init__(self, path):
        with open(path) as file:
            tree = yaml.safe_load(file)
        self.marbles = tree["marbles"]["count"]
        self.turns_a_second = quantity(tree["drive"]["speed"]) if "drive" in tree else None
        self.cleared_after = quantity(tree["tending"].removeprefix("clear after ")) if "tending" in tree else None
        self.start = tree["start"]
        self.elements = {name: Element(name, spec) for name, spec in tree["circuit"].items()}

    def lap_line(self):
        """The first lift on the way from the start, else the start: entries there are laps."""
        ahead = [self.start]
        for name in ahead:
            if self.elements[name].kind in LIFTS:
                return name
            ahead += [to for to in self.elements[name].to if to not in ahead]
        return self.start
