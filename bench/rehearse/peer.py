"""The equations of one rehearsal, solved with SciPy's solve_ivp. Reads the problem and the other side's answer as JSON from
standard input, prints both answers and the ratio of times. Debian: python3-scipy; run with /usr/bin/python3."""
import json
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

P = json.load(sys.stdin)
R, GAMMA, T0, RHO0 = 287.05, 1.4, 293.15, 1.185
A = np.array(P["Areas"])
N = len(A)
FAN = PchipInterpolator(P["FanFlow"], P["FanPressure"])
TOP = P["FanFlow"][-1]


def flow(conductance):
    """Operating point: fan = ducts + damper + filters + after-filter."""
    linear = P["Mu"] * (1 / conductance + P["After"] / P["DesignFlow"])
    quad = P["Rho"] * (P["Duct"] + P["Damper"])
    return brentq(lambda q: P["Rho"] * FAN(q) - quad * q * q - linear * q, 1e-6, TOP, xtol=1e-10)


def drag(y):
    cake, season, creep = y[:N], y[N:2 * N], y[2 * N:]
    return P["Media"] + season + creep + P["K2"] * cake


def filters(_, y):
    s = drag(y)
    g = np.sum(A / s)
    q = flow(g)
    dw = P["Loading"] * q / g / s
    dseason = (P["SeasonRise"] - y[N:2 * N]) / P["SeasonDust"] * dw
    dcreep = P["CreepDust"] * (q / P["DesignFlow"]) ** P["VelocityCreep"] * dw
    return np.concatenate([dw, dseason, dcreep])


def dp(y):
    g = np.sum(A / drag(y))
    return P["Mu"] * flow(g) / g


def iso(c, b, p1, t1, p2):
    if p2 >= p1 or c == 0:
        return 0.0
    q = c * p1 * RHO0 * np.sqrt(T0 / t1)
    r = p2 / p1
    if r > b:
        q *= np.sqrt(max(0.0, 1 - ((r - b) / (1 - b)) ** 2))
    return q


OPEN = P["OpenDelay"]
FULL = OPEN + P["Rise"]
CLOSE = P["On"] + P["CloseDelay"]
SHUT = CLOSE + P["Fall"]
SUPPLY = P["Set"] + P["Ambient"]


def opening(t):
    return float(np.interp(t, [OPEN, FULL, CLOSE, SHUT], [0, 1, 1, 0]))


def tank(t, y):
    p, m, _ = y
    temp = p * P["Volume"] / (m * R)
    q_in = min(iso(P["SupplyC"], P["SupplyB"], SUPPLY, T0, p), P["Most"] or np.inf)
    q_out = iso(opening(t) * P["ValveC"], P["ValveB"], p, temp, P["Ambient"])
    dp_ = GAMMA * R / P["Volume"] * (q_in * T0 - q_out * temp) + (GAMMA - 1) / P["Volume"] * P["WallHeat"] * (T0 - temp)
    return [dp_, q_in - q_out, q_out]


def pulse(y):
    """One pulse and the interval after it."""
    for a, b in zip([0, OPEN, FULL, CLOSE, SHUT], [OPEN, FULL, CLOSE, SHUT, P["Interval"]]):
        y = solve_ivp(tank, (a, b), y, rtol=1e-6, atol=[1e-3, 1e-12, 1e-12]).y[:, -1]
    return y


def blow(y, row, header):
    share = P["RemoveMax"] * -np.expm1(-header / P["RemovePressure"] * min(1, P["On"] / P["OnSteps"])) * P["Online"]
    off = A[row] * y[row] * share
    y[row] -= off / A[row]
    y[2 * N + row] += P["CreepPulse"] * min(1, P["On"] / P["OnSteps"])
    if row + 1 < N:
        y[row + 1] += off * (P["ReturnBelow"] + P["ReturnBeside"]) / A[row + 1]
    if row > 0:
        y[row - 1] += off * P["ReturnBeside"] / A[row - 1]


def run():
    y = np.zeros(3 * N)
    rest = np.array([SUPPLY, SUPPLY * P["Volume"] / (R * T0), 0.0])
    t, end, pulses, place, air = 1.0, P["Days"] * 86400, 0, 0, 0.0
    high = lambda _, y: dp(y) - P["High"]
    high.terminal = True
    while t < end:
        sol = solve_ivp(filters, (t, end), y, events=high, rtol=1e-6, atol=1e-9, max_step=600)
        t, y = sol.t[-1], sol.y[:, -1].copy()
        head = rest.copy()
        while t < end:
            if pulses and dp(y) <= P["Low"]:
                break
            blow(y, P["Order"][place] - 1, head[0] - P["Ambient"])
            place, pulses = (place + 1) % N, pulses + 1
            head = pulse(head)
            stop = min(end, t + P["Interval"])
            sol = solve_ivp(filters, (t, stop), y, rtol=1e-6, atol=1e-9)
            t, y = stop, sol.y[:, -1].copy()
        air += head[2]
    return y, pulses, air


start = time.perf_counter()
y, pulses, air = run()
took = time.perf_counter() - start
cake, residual = y[:N], P["Media"] + y[N:2 * N] + y[2 * N:]
mine, theirs = np.array(P["Cake"]), np.array(P["Residual"])
off = max(np.max(np.abs(residual / theirs - 1)), abs(np.sum(A * cake) / np.sum(A * mine) - 1), abs(air / P["Air"] - 1), abs(pulses / P["Pulses"] - 1))
print(f"{P['Days']:g} days, pulses: {P['Pulses']} here, {pulses} with solve_ivp")
print(f"cake on the rows [kg/m2]: {np.round(mine, 4)} here, {np.round(cake, 4)} with solve_ivp")
print(f"residual drag [Pa s/m]: {np.round(theirs, 0)} here, {np.round(residual, 0)} with solve_ivp")
print(f"pulse air [kg]: {P['Air']:.3f} here, {air:.3f} with solve_ivp")
print(f"largest difference {100 * off:.2f} % (1 % allowed)")
print(f"time: {P['Seconds'] * 1e3:.2f} ms here, {took:.1f} s with solve_ivp: {took / P['Seconds']:.0f} times faster (100 asked for)")
sys.exit(0 if off < 0.01 and took > 100 * P["Seconds"] else 1)
