"""Writes fit.json: maximum likelihood fits by scipy to the readings in it, for tests/stats/fit_reference.rs to be held to.

    pip install -r requirements.txt && python fit.py
"""

import json
import pathlib

import numpy
import scipy
from scipy import optimize, stats

rng = numpy.random.default_rng(20261125)
NODES, WEIGHTS = numpy.polynomial.legendre.leggauss(80)

SETS = {
    "near-normal": (numpy.round(rng.normal(5.0, 0.3, 40), 2), []),
    "skewed": (numpy.round(rng.lognormal(1.0, 0.6, 60), 3), []),
    "few": (numpy.round(rng.gamma(4.0, 0.8, 8), 2), []),
    "cut-short": None,
    "two-limits": None,
}
times = rng.weibull(1.6, 50) * 12.0
SETS["cut-short"] = (numpy.round(times[times <= 15.0], 2), [15.0] * int((times > 15.0).sum()))
times, limits = rng.lognormal(1.5, 0.4, 40), numpy.where(numpy.arange(40) % 2 == 0, 4.0, 8.0)
SETS["two-limits"] = (numpy.round(times[times <= limits], 3), list(limits[times > limits]))


def frozen(law, x):
    """A law at a point of the search; a normal law is cut at zero, as in a machine file."""
    if law == "normal":
        return stats.truncnorm(-x[0] / numpy.exp(x[1]), numpy.inf, loc=x[0], scale=numpy.exp(x[1]))
    if law == "lognormal":
        return stats.lognorm(numpy.exp(x[1]), scale=numpy.exp(x[0]))
    if law == "gamma":
        return stats.gamma(numpy.exp(x[0]), scale=numpy.exp(x[1]))
    if law == "weibull":
        return stats.weibull_min(numpy.exp(x[0]), scale=numpy.exp(x[1]))
    return stats.expon(scale=numpy.exp(x[0]))


def minus_log_likelihood(law, x, timed, over, error):
    of = frozen(law, x)
    if error > 0:
        # The reading error by quadrature of the density, not by differences of the distribution function.
        low = numpy.maximum(timed - error, 0.0)
        half = (timed + error - low) / 2
        spots = low[:, None] + half[:, None] * (1 + NODES)
        sum_ = numpy.log((of.pdf(spots) * WEIGHTS).sum(axis=1) * half / (2 * error)).sum()
    else:
        sum_ = of.logpdf(timed).sum()
    value = -(sum_ + of.logsf(over).sum()) if len(over) else -sum_
    return value if numpy.isfinite(value) else 1e12


def fit(law, timed, over, error):
    everything = numpy.concatenate([timed, over])
    m, s = everything.mean(), everything.std()
    start = {
        "normal": [m, numpy.log(s)],
        "lognormal": [numpy.log(everything).mean(), numpy.log(numpy.log(everything).std())],
        "gamma": [2 * numpy.log(m / s), 2 * numpy.log(s) - numpy.log(m)],
        "weibull": [numpy.log(1.2 * m / s), numpy.log(m)],
        "exponential": [numpy.log(m)],
    }[law]
    args = (timed, over, error)
    options = dict(xatol=1e-9, fatol=1e-12, maxiter=4000, maxfev=4000)
    at = optimize.minimize(lambda x: minus_log_likelihood(law, x, *args), start, method="Nelder-Mead", options=options)
    at = optimize.minimize(lambda x: minus_log_likelihood(law, x, *args), at.x, method="Nelder-Mead", options=options)
    of = frozen(law, at.x)
    x = at.x
    parameters = {
        "normal": lambda: {"mean": x[0], "sd": numpy.exp(x[1])},
        "lognormal": lambda: {"mean": of.mean(), "sd": of.std()},
        "gamma": lambda: {"shape": numpy.exp(x[0]), "scale": numpy.exp(x[1])},
        "weibull": lambda: {"shape": numpy.exp(x[0]), "scale": numpy.exp(x[1])},
        "exponential": lambda: {"mean": numpy.exp(x[0])},
    }[law]()
    return {k: float(v) for k, v in parameters.items()} | {"log_likelihood": float(-at.fun)}


def p_of_normal(timed):
    """p-value of the Anderson-Darling distance of a fitted normal law, by scipy's own Monte Carlo."""
    result = stats.goodness_of_fit(stats.norm, timed, statistic="ad", n_mc_samples=1999, rng=numpy.random.default_rng(1))
    return {"p": float(result.pvalue), "distance": float(result.statistic)}


def lever_arm(rolls, radius):
    """Least squares of time, marble on a flat board: a = (5/7) g (sin t - (b / R) cos t)."""
    length, slope, seconds = numpy.array(rolls).T
    slope = numpy.radians(slope)

    def seconds_at(_, b):
        return numpy.sqrt(2 * length / (5 / 7 * 9.80665 * (numpy.sin(slope) - b * 1e-5 / radius * numpy.cos(slope))))

    best, _ = optimize.curve_fit(seconds_at, None, seconds, p0=[3.0])
    return float(best[0] * 1e-5)


LAWS = ["normal", "lognormal", "gamma", "weibull", "exponential"]
out = {"scipy": scipy.__version__, "sets": [], "rolling": {}}
for name, (timed, over) in SETS.items():
    timed, over = numpy.asarray(timed, float), numpy.asarray(over, float)
    for error in [0.0, 0.2] if name in ("near-normal", "cut-short") else [0.0]:
        fits = {law: fit(law, timed, over, error) for law in LAWS}
        one = {"name": name, "timed": timed.tolist(), "over": over.tolist(), "error": error, "fits": fits}
        if len(over) == 0 and error == 0:
            one["normal_fit"] = p_of_normal(timed)
        out["sets"].append(one)
rolls = [[0.6, 2.0, 2.29], [0.6, 2.0, 2.33], [0.6, 3.0, 1.83], [0.6, 3.0, 1.80], [0.9, 4.0, 1.88], [0.9, 4.0, 1.91]]
out["rolling"] = {"rolls": rolls, "radius": 0.008, "lever": lever_arm(rolls, 0.008)}
pathlib.Path(__file__).with_name("fit.json").write_text(json.dumps(out, indent=1) + "\n")
