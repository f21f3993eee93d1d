"""Fits an exponential to readings with SciPy, and integrates its posterior with
NumPy on a dense grid, for a list of cases on standard input: one JSON object a
line with hours, readings, the standard deviation of their logarithm, and median
and standard deviation of the logarithms of the time constant, the limit and the
start. Prints one JSON object a line."""

import json
import sys

import numpy as np
from scipy.optimize import curve_fit


def law(h, r0, rl, t):
    return rl + (r0 - rl) * np.exp(-h / t)


def quantiles(x, density):
    c = np.cumsum(density)
    c = (c - density / 2) / c[-1]
    return [float(np.interp(q, c, x)) for q in (0.1, 0.5, 0.9)]


for line in sys.stdin:
    case = json.loads(line)
    h, ra = np.array(case["hours"]), np.array(case["ra"])
    best, _ = curve_fit(law, h, ra, p0=[ra[0], ra[-1], 1.0], ftol=1e-14, xtol=1e-14, gtol=1e-14)

    # All three numbers about the mode, which the fit in logarithms finds.
    def logs(h, r0, rl, t):
        return np.log(np.maximum(law(h, np.exp(r0), np.exp(rl), np.exp(t)), 1e-9))

    mode, wide = curve_fit(logs, h, np.log(ra), p0=np.log(np.maximum(best, 0.05)))
    scale = np.minimum(np.sqrt(np.diag(wide)) * case["sd"] / np.std(np.log(ra) - logs(h, *mode)), 0.6)
    axes = [m + np.linspace(-9, 9, 121) * s for m, s in zip(mode, scale)]
    r0, rl, t = np.meshgrid(*axes, indexing="ij")
    loss = np.zeros_like(r0)
    for hour, value in zip(h, ra):
        loss += (np.log(law(hour, np.exp(r0), np.exp(rl), np.exp(t))) - np.log(value)) ** 2 / (2 * case["sd"] ** 2)
    for x, (mean, sd) in ((r0, case["start"]), (rl, case["limit"]), (t, case["time"])):
        loss += (x - mean) ** 2 / (2 * sd**2)
    density = np.exp(loss.min() - loss)
    print(json.dumps({
        "fit": list(map(float, best)),
        "limit": quantiles(axes[1], density.sum(axis=(0, 2))),
        "time": quantiles(axes[2], density.sum(axis=(0, 1))),
    }))
