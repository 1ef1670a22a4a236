"""Second opinion for package solve: writes solve/testdata/scipy_*.csv with a general numerical library.

Run from the project's root:  python3 tools/oracle/solve.py
"""
import csv

import numpy as np
import scipy
import scipy.stats
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator

VERSION = f"scipy {scipy.__version__}, numpy {np.__version__}, tools/oracle/solve.py; status computed"


def write(name, what, header, rows):
    with open(f"solve/testdata/{name}", "w", newline="") as f:
        f.write(f"# source: {what}, {VERSION}\n")
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header)
        w.writerows([[repr(float(v)) if not isinstance(v, str) else v for v in r] for r in rows])


# Monotone interpolation: a fan-like curve, a curve with a flat part and a turn, and uneven spacing.
CURVES = {
    "fan": ([0, 1500, 2500, 3500, 4200, 5000, 6000, 7000], [14.5, 14.8, 14.3, 13.0, 11.8, 9.9, 6.8, 2.9]),
    "flat": ([0, 1, 2, 3, 4.5, 5], [0, 0, 1, 1, 3, -2]),
    "uneven": ([-3, -2.9, 0, 10, 11], [9, 8, 7.5, -4, -4.1]),
    "three": ([0, 1, 3], [1, 2, 10]),
}
rows = []
for name, (x, y) in CURVES.items():
    p = PchipInterpolator(x, y)
    d = p.derivative()
    for q in np.linspace(x[0], x[-1], 23):
        rows.append([name, q, p(q), d(q)])
write("scipy_pchip.csv", "PchipInterpolator", ["curve", "x", "y", "slope"], rows)

# Differential equations without a closed form: van der Pol (mu 2) and a pendulum with drag.
EQUATIONS = {
    "vanderpol": (lambda t, y: [y[1], 2 * (1 - y[0] ** 2) * y[1] - y[0]], [2.0, 0.0], 10.0),
    "pendulum": (lambda t, y: [y[1], -9.80665 * np.sin(y[0]) - 0.3 * y[1] * abs(y[1])], [2.5, 0.0], 6.0),
}
rows = []
for name, (f, y0, end) in EQUATIONS.items():
    at = np.linspace(0, end, 11)
    s = solve_ivp(f, (0, end), y0, method="DOP853", rtol=1e-12, atol=1e-13, t_eval=at)
    rows += [[name, t, a, b] for t, a, b in zip(s.t, s.y[0], s.y[1])]
write("scipy_ode.csv", "solve_ivp DOP853 rtol 1e-12", ["equation", "t", "y0", "y1"], rows)

# Quantiles, median and MAD of one skewed sample.
sample = np.round(np.exp(np.linspace(-2, 3, 17)) * (1 + 0.1 * np.cos(np.arange(17) * 7)), 6)
rows = [["sample", 0, v] for v in sample]
rows += [["quantile", p, np.quantile(sample, p)] for p in (0, 0.1, 0.25, 0.333, 0.5, 0.9, 1)]
rows += [["median", 0, np.median(sample)], ["mad", 0, scipy.stats.median_abs_deviation(sample)]]
write("scipy_quantile.csv", "numpy quantile (definition 7), median_abs_deviation", ["what", "p", "value"], rows)
