"""What comes off a bowed blank, computed anew: NumPy's least squares for the reference, SciPy's linprog (HiGHS) in the
unknowns offset, slope and largest deviation, the butt by bisection, gauge-block stacks by listing all sums.

Usage: straight.py FILE, which holds cases and what the program says of them. Exits 1 when any differs.
"""
import bisect
import itertools
import json
import sys

import numpy as np
from scipy.optimize import linprog

X_END = 100.0
TIGHT = 2e-6  # mm


def heights(case):
    """Heights of A and B over the centre plane, and their standard uncertainty, of the rows on the tang."""
    rows = np.array(case["rows"])
    x, y, a, b = rows.T
    ric, tang = x < 0, x >= 0
    design = [np.ones_like(x)]
    if not case["plate"]:
        design.append(x)
        if np.ptp(y[ric]) > 0:
            design.append(y)
    design = np.array(design).T
    spread = np.linalg.inv(design[ric].T @ design[ric])
    reading = case["step"] / 12 ** 0.5

    def over(column):
        fit = np.linalg.lstsq(design[ric], column[ric], rcond=None)[0]
        return column - design @ fit

    own = 1.0
    if case["micrometer"]:
        bow, half = over((a - b) / 2), (a + b) / 2
        up, down, own = half + bow, half - bow, 1.25
    else:
        up, down = case["T0"] / 2 + over(a), case["T0"] / 2 + over(b)
    sure = reading * np.sqrt(own + np.einsum("ij,jk,ik->i", design, spread, design))
    return x[tang], up[tang], down[tang], sure[tang]


def solve(case, x, up, down, butt, cap=None):
    """Least largest deviation, after the least shortfall: (offset, slope, deviation, shortfall); None: not within cap."""
    m = (case["T0"] - butt) / 2 / case["L"]
    k = x >= case["from"]
    target = case["T0"] / 2 - m * x[k] + case["allowance"] + case["cleanup"]
    one, zero = np.ones(k.sum()), np.zeros(k.sum())
    # f <= up - target + s on side A; -f <= down - target + s on side B; |f| <= d at both ends
    left = np.vstack([np.c_[one, x[k], zero, -one], np.c_[-one, -x[k], zero, -one],
                      [[1, 0, -1, 0], [-1, 0, -1, 0], [1, X_END, -1, 0], [-1, -X_END, -1, 0]]])
    right = np.r_[up[k] - target, down[k] - target, 0, 0, 0, 0]
    slope = np.tan(case["tilt_rad"])
    for short in (0.0, None):
        bounds = [(-case["offset"], case["offset"]), (-slope, slope), (0, cap), (0, short)]
        if short is None:
            if cap is not None:
                return None
            least = linprog([0, 0, 0, 1], left, right, bounds=bounds, method="highs")
            bounds[3] = (0, least.fun + 1e-9)
        answer = linprog([0, 0, 1, 0], left, right, bounds=bounds, method="highs")
        if answer.status == 0:
            return answer.x
    raise SystemExit("no answer at all")


def thickest_butt(case, x, up, down):
    """By bisection on the butt; None when even the thinnest allowed does not do."""
    low = case["T0"] - (case["T0"] - case["smallest"]) * case["L"] / X_END  # its end at the smallest thickness
    high = case["T1"]
    if solve(case, x, up, down, low, case["tolerance"]) is None:
        return None
    for _ in range(26):
        middle = (low + high) / 2
        if solve(case, x, up, down, middle, case["tolerance"]) is None:
            high = middle
        else:
            low = middle
    return low


def check_case(number, case):
    got, faults = case["got"], []

    def same(name, mine, theirs, within=TIGHT):
        if abs(mine - theirs) > within:
            faults.append(f"case {number}: {name} {theirs:.9g}, but SciPy says {mine:.9g}")

    x, up, down, sure = heights(case)
    offset, slope, deviation, short = solve(case, x, up, down, case["T1"])
    guard = np.maximum(case["step"], 2 * sure)
    worse = solve(case, x, up - guard, down - guard, case["T1"])
    better = solve(case, x, up + guard, down + guard, case["T1"])

    def straight(d, s):
        return s <= 1e-6 and d <= case["tolerance"] + 1e-9

    same("deviation", deviation, got["deviation"])
    same("shortfall", short, got["shortfall"])
    same("lowest deviation", min(deviation, better[2]), got["low"])
    same("highest deviation", max(deviation, worse[2]), got["high"])
    same("straight", straight(deviation, short), got["straight"])
    same("doubt", straight(*worse[2:]) != straight(*better[2:]), got["doubt"])
    m = (case["T0"] - case["T1"]) / 2 / case["L"]
    f = got["offset"] + got["tilt"] * x
    # The program's own choice may be another of several alike; it must keep the limits and be as good.
    same("deviation of its choice", deviation, max(abs(got["offset"]), abs(got["offset"] + got["tilt"] * X_END)))
    for side, (column, sign) in enumerate(((up, 1), (down, -1))):
        off = column - (case["T0"] / 2 - m * x + sign * f + case["allowance"])
        if (off[x >= case["from"]] < case["cleanup"] - short - TIGHT).any():
            faults.append(f"case {number}: side {side} does not clean up")
        for i, row in enumerate(got["off"]):
            same(f"off {side} at {row[0]}", max(0.0, off[i]), row[1 + side])
    for i, row in enumerate(got["off"]):
        same(f"uncertainty at {row[0]}", sure[i], row[3], 1e-9)
    if not got["straight"]:
        butt = thickest_butt(case, x, up, down)
        same("butt", -1 if butt is None else butt, got["butt"], 2e-5)
    return faults


def series(first, step, count):
    return [round(first + step * k, 6) for k in range(count)]


METRIC = series(1.001, 0.001, 9) + series(1.01, 0.01, 49) + series(0.5, 0.5, 19) + series(10, 10, 10)
SETS = {
    "metric 87": (METRIC, 0.001, 1.0, 87),
    "metric 88": (METRIC + [1.0005], 0.0005, 1.0, 88),
    "inch 81": (series(0.1001, 0.0001, 9) + series(0.101, 0.001, 49) + series(0.05, 0.05, 19) + series(1, 1, 4), 0.0001,
                25.4, 81),
}


def fewest(steps, sizes, most=3):
    """Number of different blocks, up to `most`, that add up to `steps`."""
    sizes = sorted(sizes)
    for count in range(1, most + 1):
        for some in itertools.combinations(sizes, count - 1):
            rest = steps - sum(some)
            at = bisect.bisect_left(sizes, rest)
            if at < len(sizes) and sizes[at] == rest and rest not in some:
                return count
    return most + 1


def check_stack(stack):
    sizes, step, unit, pieces = SETS[stack["set"]]
    whole = [round(s / step) for s in sizes]
    assert len(set(whole)) == pieces
    high = [round(s / unit / step) for s in stack["high"]]
    low = [round(s / unit / step) for s in stack["low"]]
    wanted = round(stack["rise"] / unit / step)
    where = f"{stack['set']}, rise {stack['rise']:.6f} mm"
    if not stack["possible"]:
        return [f"{where}: no stack"]
    faults = []
    if sum(high) - sum(low) != wanted:
        faults.append(f"{where}: made {sum(high) - sum(low)} steps, wanted {wanted}")
    if len(set(high + low)) != len(high + low) or not set(high + low) <= set(whole):
        faults.append(f"{where}: a block that is not there, or twice")
    least = fewest(wanted, whole)
    if not low and len(high) > 0 and min(least, 4) != min(len(high), 4):
        faults.append(f"{where}: {len(high)} blocks, but {least} would do")
    if low and least <= 3:
        faults.append(f"{where}: two stacks, but one of {least} would do")
    return faults


def main():
    with open(sys.argv[1], encoding="utf-8") as stream:
        told = json.load(stream)
    faults = [f for i, case in enumerate(told["cases"]) for f in check_case(i, case)]
    faults += [f for stack in told["stacks"] for f in check_stack(stack)]
    for fault in faults[:20]:
        print(fault, file=sys.stderr)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
