"""The lumped air network of the fixture "Small", written out by hand and solved by
SciPy's stiff solver. It shares nothing with the Go engine: the figures are copied from
classes/small.yaml by hand, the laws of the elements come from docs/air.md and the
comments of package air, and a valve that snaps is found as a root, not inside a step.

Prints, as JSON, the gauge pressure in kPa of each element at each time of the procedure:
charge from empty, a reduction of 100 kPa, release; and how fast it moves then, kPa/s.
"""
import json
import math
import sys
import time

import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

R, T, ATM = 287.05, 293.15, 101325.0
RHO0 = 1.185  # kg/m3, reference state of ISO 6358
KPA, LITRE, MM = 1e3, 1e-3, 1e-3


def conductance(bore_mm, cd=0.8):
    """C in m3/(s Pa): 0.1992 Cd A[mm2] in dm3/(s bar)."""
    return 0.1992 * cd * math.pi / 4 * bore_mm**2 * 1e-8


def iso6358(c, b, up, down):
    """Mass flow from up to down, Pa absolute; a straight line near equal pressures."""
    if up < down:
        return -iso6358(c, b, down, up)
    r = down / up
    near = 0.999
    part = 1.0
    if r > near:
        part, r = (1 - r) / (1 - near), near
    m = c * RHO0 * up
    if r > b:
        m *= math.sqrt(1 - ((r - b) / (1 - b)) ** 2)
    return m * part


def hole(bore_mm):
    return conductance(bore_mm), 0.5


def port(bore_mm):
    return conductance(bore_mm), 0.4


NAMES = ["reservoir-1", "reservoir-2", "brake-supply", "equalising-reservoir", "valve-outlet", "brake-pipe",
         "distributor-branch", "pressure-chamber", "distributor-outlet", "control-volume", "relay-out", "cylinders"]
# the brake pipe is three equal parts: NAMES has the middle one, the others hang on its ends
MR1, MR2, SUP, ER, OUT, BP, BR, PC, DO, CV, RO, CYL, END1, END2 = range(14)
NODES = 14
VOLUME = np.array([400, 300, 1, 3.6, 0.5, 0, 1.2, 3.75, 0.05, 1.15, 0.8, 0, 0, 0]) * LITRE
BORE, PART, ROUGH, MU = 32 * MM, 16 / 3, 0.1 * MM, 1.81e-5
BORE_AREA = math.pi / 4 * BORE**2
VOLUME[[BP, END1, END2]] = BORE_AREA * PART

# four cylinders: the piston sits to 15 kPa, travels 100 mm evenly until the blocks touch
# at 45 kPa, and gives 3 % of its travel over the next 400 kPa
AREA = 4 * math.pi / 4 * (203 * MM) ** 2
SEATED, OUTSTRETCHED = 4 * 1 * LITRE, 4 * 1 * LITRE + AREA * 100 * MM
STARTS, TOUCHES = ATM + 15 * KPA, ATM + 45 * KPA
GIVES = AREA * 0.03 * 100 * MM / (400 * KPA)


def cylinder_volume(p):
    if p <= STARTS:
        return SEATED
    if p <= TOUCHES:
        return SEATED + (OUTSTRETCHED - SEATED) * (p - STARTS) / (TOUCHES - STARTS)
    return OUTSTRETCHED + GIVES * (p - TOUCHES)


def cylinder_pressure(q):
    """The p at which p V(p) = q: p V rises with p, so a line in each part has one root."""
    for lo, hi in ((0.0, STARTS), (STARTS, TOUCHES), (TOUCHES, 3e6)):
        if q <= hi * cylinder_volume(hi):
            a = (cylinder_volume(hi) - cylinder_volume(lo)) / (hi - lo) if lo > 0 else 0.0
            c = cylinder_volume(lo) - a * lo if lo > 0 else SEATED
            if a == 0:
                return q / c
            return (-c + math.sqrt(c * c + 4 * a * q)) / (2 * a)
    raise ValueError("beyond the cylinder")


def darcy(re):
    """64/Re to 2000, Colebrook and White from 4000, in proportion between."""
    if re <= 2000:
        return 64 / re
    x = brentq(lambda x: x + 2 * math.log10(ROUGH / BORE / 3.7 + 2.51 * x / re), 1, 20, xtol=1e-12)
    w = min(1, (re - 2000) / 2000)
    return (1 - w) * 64 / re + w / x**2


def gathers(m, p1, p2, rise1, rise2):
    """How fast a pipe of the length of a part gathers flow, kg/s2: the pull of the
    pressures, the momentum that the air carries along, friction."""
    rho = (p1 + p2) / 2 / (R * T)
    u = m / (rho * BORE_AREA)
    pull = BORE_AREA / PART * (1 - u * u / (R * T)) * (p1 - p2)
    carried = u * BORE_AREA / (R * T) * (rise1 + rise2)
    re = abs(m) / (math.pi / 4 * BORE * MU)
    friction = darcy(re) * abs(m) * m / (2 * rho * BORE_AREA * BORE) if re > 0 else 0
    return pull + carried - friction


class State:
    """What snaps: the compressor's governor and the distributor, and what the crew sets."""

    def __init__(self):
        self.pumping = True
        self.distributor = "release"
        self.set = 500 * KPA  # gauge, of the automatic regulator


def pressures(y):
    q = y[:NODES]
    p = q / np.where(VOLUME > 0, VOLUME, 1)
    p[CYL] = cylinder_pressure(q[CYL])
    return p


def flows(p, s):
    """Mass flow into every volume, kg/s."""
    into = np.zeros(NODES)

    def move(a, b, m):
        if a is not None:
            into[a] -= m
        if b is not None:
            into[b] += m

    def through(a, b, law, crack=0.0):
        up = p[a] - crack
        down = ATM if b is None else p[b]
        if crack and up <= down:
            return
        move(a, b, iso6358(*law, up, down))

    def holds(target, supply, out, supply_port, exhaust_port, band, dead):
        """A pair of ports that open in proportion as the output is off its target."""
        low = target - dead - p[out]
        if low > 0:
            c, b = supply_port
            move(supply, out, iso6358(c * min(1, low / band), b, p[supply], p[out]))
        high = p[out] - target - dead
        if high > 0:
            c, b = exhaust_port
            move(out, None, iso6358(c * min(1, high / band), b, p[out], ATM))

    if s.pumping:
        move(None, MR1, 2.4 / 60 * ATM / (R * T))
    through(MR1, MR2, hole(15), crack=2 * KPA)
    through(MR2, SUP, hole(18))
    holds(ATM + s.set, SUP, ER, port(3), port(1.3), 4 * KPA, 0)
    holds(p[ER], SUP, OUT, port(6), port(12), 6 * KPA, 0)
    through(OUT, BP, hole(25))
    through(BP, None, hole(0.2))
    through(BP, BR, hole(18))
    if s.distributor == "release":
        through(BR, PC, hole(1))
        through(DO, None, hole(0.9))
    if s.distributor == "service":  # the port opens by degrees, from 1 to 5 kPa
        c, b = hole(0.9)
        part = min(1, max(0, (p[PC] - p[BR] - 1 * KPA) / (4 * KPA)))
        if part > 0:
            through(PC, DO, (c * part, b))
    through(DO, CV, hole(4))
    holds(p[CV], MR2, RO, port(12), port(12), 6 * KPA, 2 * KPA)
    through(RO, CYL, hole(16))
    return into


def rates(y, s):
    """Of p V of every volume, and of R T m of the pipes from the middle part to its ends."""
    p = pressures(y)
    into = flows(p, s)
    for k, end in enumerate((END1, END2)):
        m = y[NODES + k] / (R * T)
        into[BP] -= m
        into[end] += m
    out = np.empty(NODES + 2)
    out[:NODES] = R * T * into
    for k, end in enumerate((END1, END2)):
        m = y[NODES + k] / (R * T)
        out[NODES + k] = R * T * gathers(m, p[BP], p[end], out[BP] / VOLUME[BP], out[end] / VOLUME[end])
    return out


def snaps(s):
    """The conditions under which something snaps in this state, and what it becomes."""
    excess = lambda p: p[PC] - p[BR]
    out = []
    if s.pumping:
        out.append((lambda p: p[MR1] - ATM - 850 * KPA, "pumping", False))
    else:
        out.append((lambda p: 750 * KPA - (p[MR1] - ATM), "pumping", True))
    if s.distributor == "release":
        out.append((lambda p: excess(p) - 8 * KPA, "distributor", "service"))
    if s.distributor == "service":
        out.append((lambda p: -excess(p), "distributor", "lap"))
    if s.distributor == "lap":
        out.append((lambda p: excess(p) - 1 * KPA, "distributor", "service"))
        out.append((lambda p: -excess(p) - 10 * KPA, "distributor", "release"))
    return out


def advance(q, t, end, s, count):
    while t < end - 1e-12:
        watched = snaps(s)
        due = [w for w in watched if w[0](pressures(q)) >= 0]
        if due:
            for _, what, to in due:
                setattr(s, what, to)
                count[what] = count.get(what, 0) + 1
            continue
        events = []
        for f, _, _ in watched:
            e = lambda _, y, f=f: f(pressures(y))
            e.terminal, e.direction = True, 1
            events.append(e)
        r = solve_ivp(lambda _, y: rates(y, s), (t, end), q, method="LSODA", events=events, rtol=1e-8, atol=1e-5)
        if not r.success and r.status != 1:
            sys.exit(r.message)
        t, q = r.t[-1], r.y[:, -1]
        for hit, (_, what, to) in zip(r.t_events, watched):
            if len(hit):
                setattr(s, what, to)
                count[what] = count.get(what, 0) + 1
    return q


PROCEDURE = [("charge", 500 * KPA, [5, 15, 30, 60, 120, 400]), ("reduction", 400 * KPA, [1, 2, 4, 8, 15, 60]), ("release", 500 * KPA, [1, 2, 4, 8, 15, 30, 120])]


def main():
    before = time.perf_counter()
    q = np.append(ATM * VOLUME, [0, 0])
    q[CYL] = ATM * SEATED
    s, t, rows, count = State(), 0.0, [], {}
    for name, to, times in PROCEDURE:
        s.set = to
        began = t
        for after in times:
            q = advance(q, t, began + after, s, count)
            t = began + after
            p = pressures(q)
            ahead = pressures(q + 1e-3 * rates(q, s))
            rows.append({"step": f"{name} {after}", "gauge": {n: (x - ATM) / KPA for n, x in zip(NAMES, p)},
                         "slope": {n: (y - x) / 1e-3 / KPA for n, x, y in zip(NAMES, p, ahead)}})
    json.dump({"scipy": scipy.__version__, "took": time.perf_counter() - before, "snaps": count, "rows": rows}, sys.stdout, indent=1)


main()
