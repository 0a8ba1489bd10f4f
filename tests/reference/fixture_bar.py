"""Follows the program that grinds a rest for side B, and asks whether the face it leaves is the one that side B needs.

Usage: fixture_bar.py PROGRAM inch|mm KIND RADIUS MOUNT PAD SLOPE DROP X0 X1 AXES

The words are read here, by hand, not by src. The bar's own x runs against the tang's, from its thick end at the tang's x = X1. Over
the datum pad's face side B needs z = SLOPE x - DROP; the bar's zero lies PAD below it. What the program's lowest moves in feed
leave: in the tilted mount (the table turned by atan(SLOPE) about the bar's zero) a plane of one height, which must be
(PAD + SLOPE X1 - DROP) cos(atan SLOPE); in the level mount a disc's lowest point rides R (sqrt(1 + m^2) - 1) above the face
z = PAD + SLOPE X1 - DROP - m x (a circle that touches a straight line)."""
import math
import re
import sys

FINEST = {"inch": 0.0001 * 25.4, "mm": 0.0005}


def moves(path, unit, along):
    """Feed moves as (x, z) pairs in mm, in the bar's own frame; along: letter and sign of its x."""
    factor = 25.4 if unit == "inch" else 1.0
    at, mode, found = {"X": 0.0, "Y": 0.0, "Z": 0.0}, 0, []
    for line in open(path, encoding="ascii"):
        line = re.sub(r"\([^)]*\)", "", line)
        words = re.findall(r"([A-Z])(-?[\d.]+)", line)
        codes = [float(v) for k, v in words if k == "G"]
        if 4.0 in codes:
            continue
        for code in codes:
            if code in (0.0, 1.0):
                mode = int(code)
        before = dict(at)
        for letter, value in words:
            if letter in at:
                at[letter] = float(value) * factor
        if mode == 1 and at != before:
            found.append((dict(before), dict(at)))
    return found


def main():
    path, unit, kind, radius, mount, pad, slope, drop, x0, x1, axes = sys.argv[1:]
    radius, pad, slope, drop, x0, x1 = (float(v) for v in (radius, pad, slope, drop, x0, x1))
    letter, sign, up = axes[1], -1 if axes[0] == "-" else 1, axes[2]
    rear = pad + slope * x1 - drop
    wanted = FINEST[unit] + 1e-6
    if mount == "tilted":
        heights = [min(a[up], b[up]) for a, b in moves(path, unit, letter)]
        off = min(heights) - rear * math.cos(math.atan(slope))
        print(f"the face lies {off * 1000:.2f} um over the one that side B needs")
        return 0 if -wanted <= off <= wanted else 1
    ride = radius * (math.sqrt(1.0 + slope * slope) - 1.0) if kind == "disc" else 0.0
    worst, covered = 0.0, []
    for a, b in moves(path, unit, letter):
        for p in (a, b):
            x = sign * p[letter]
            off = p[up] - ride - (rear - slope * x)
            if 0.0 <= x <= x1 - x0:
                worst = min(worst, off)
        if abs(a[letter] - b[letter]) > (x1 - x0) / 2.0:
            covered.append(max(p[up] - ride - (rear - slope * sign * p[letter]) for p in (a, b)))
    print(f"lowest {worst * 1000:.2f} um over the face that side B needs; best long pass {min(covered) * 1000:.2f} um")
    return 0 if worst >= -wanted and min(covered) <= wanted else 1


sys.exit(main())
