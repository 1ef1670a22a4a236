"""Second opinion for package collector: operating points of collector/testdata/dc1.toml, worked out independently.

Run from the project's root:  /usr/bin/python3 tools/oracle/collector.py
Units inside: Pa, m3/s, kg/m3. The damper's law between its points: ln R runs monotone over ln K of the
butterfly table of ASHRAE CD9-1, blade angle 90 degrees times the shut share.
"""
import csv
import math

import numpy as np
import scipy
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

INWG, CFM, HP = 249.08891, 0.3048**3 / 60, 745.6998715822702
STD = 0.075 * 0.45359237 / 0.3048**3

# Site air: 180 m, 20 degC, 50 % RH; saturation pressure 2338.8 Pa (ASHRAE table value).
P = 101325 * (1 - 2.25577e-5 * 180) ** 5.2559
RHO = (P - 0.378 * 0.5 * 2338.8) / (287.042 * 293.15)
DESIGN = 4200 * CFM
DUCT = 3.5 * INWG / (RHO * DESIGN**2)

FAN = PchipInterpolator(
    np.array([0, 1500, 2500, 3500, 4200, 5000, 6000, 7000]) * CFM,
    np.array([14.5, 14.8, 14.3, 13.0, 11.8, 9.9, 6.8, 2.9]) * INWG,
)
POWER = PchipInterpolator(
    np.array([0, 2500, 4200, 5000, 6000, 7000]) * CFM, np.array([5.2, 8.6, 11.6, 12.6, 13.1, 12.7]) * HP
)


def fan(q, rho, n):
    return float(FAN(q / n)) * n * n * rho / STD


def power(q, rho, n):
    return float(POWER(q / n)) * n**3 * rho / STD


def ln_k(open_share):
    angle = 90 * (1 - open_share)
    deg, c = [0, 10, 20, 30, 40, 50, 60, 70], [0.20, 0.52, 1.54, 3.91, 10.8, 32.6, 118, 751]
    return float(np.interp(angle, deg, np.log(c)))


def ln_r(open_share, cfm, filter_in):
    q = cfm * CFM
    loss = fan(q, RHO, 1) - DUCT * RHO * q * q - filter_in * INWG - 1.0 * INWG * q / DESIGN
    return math.log(2 * loss / (RHO * q * q))


POINTS = [(1.0, 5250, 0.9), (0.5, 4100, 0.7), (0.3, 2900, 0.5)]
DAMPER = PchipInterpolator([ln_k(p[0]) for p in POINTS], [ln_r(*p) for p in POINTS])


def flow(open_share, filter_in, after_in, rho, n, duct_extra, fan_loss):
    r = math.exp(float(DAMPER(ln_k(open_share)))) / 2

    def left(q):
        return (
            fan(q, rho, n) * (1 - fan_loss)
            - DUCT * (1 + duct_extra) * rho * q * q
            - r * rho * q * q
            - (filter_in + after_in) * INWG * q / DESIGN
        )

    return brentq(left, 1500 * CFM * n, 7000 * CFM * n, xtol=1e-12)


CASES = [
    (1.0, 0.7, 1.0, RHO, 1, 0, 0),
    (0.5, 0.7, 1.0, RHO, 1, 0, 0),
    (0.5, 3.0, 1.0, RHO, 1, 0, 0),
    (0.62, 3.0, 1.4, RHO, 1, 0, 0),
    (0.4, 1.5, 1.0, RHO, 1, 0, 0),
    (0.35, 6.0, 2.5, RHO, 1, 0, 0),
    (1.0, 6.0, 2.5, RHO, 1, 0, 0),
    (0.8, 2.0, 1.0, 1.0, 1, 0, 0),
    (0.8, 2.0, 1.0, 1.25, 1, 0, 0),
    (0.8, 2.0, 1.0, RHO, 0.9, 0, 0),
    (0.8, 2.0, 1.0, RHO, 1.1, 0, 0),
    (0.8, 2.0, 1.0, RHO, 1, 0.5, 0),
    (0.8, 2.0, 1.0, RHO, 1, 0, 0.15),
]

with open("collector/testdata/points.csv", "w", newline="") as f:
    f.write(f"# source: tools/oracle/collector.py, scipy {scipy.__version__}, numpy {np.__version__}; status computed\n")
    f.write("# operating points of dc1.toml; dP across filters and after-filter at design flow\n")
    w = csv.writer(f, lineterminator="\n")
    w.writerow("open filter_inwg after_inwg density_kg_m3 speed_ratio duct_extra fan_loss flow_m3_s shaft_W".split())
    for c in CASES:
        q = flow(*c)
        w.writerow([repr(float(v)) for v in (*c, q, power(q, c[3], c[4]))])
