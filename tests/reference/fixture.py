"""Blanks pushed against the stops of their fixtures, by SciPy's linear programming: where do they come to lie?

Usage: fixture.py CASES    one JSON object a line: outline (points, part frame), profile (text of fixture.cfg), push (place and
                           way, side A), moves (what the program says that a stop's error does)

Nothing of the program's mathematics is used: a pose is (dx, dy, turn); the gap between a dowel and the blank is the distance
from its middle to the polygon less its radius (Shapely); the push moves the pushed point as far as it can without any gap
falling below zero, step by step, each step a linear programme about the pose reached. The dowels are read from the profile's
text. Prints the worst figures, and fails where a blank lands more than 1 um from where the job has it, a stop does not touch, or
a moved stop moves the taper start otherwise than was said."""
import json
import math
import re
import sys

import numpy as np
from scipy.optimize import linprog
from shapely.geometry import Point, Polygon
from shapely.ops import nearest_points

LANDS_MM = 0.001
PIN = re.compile(r'name = "([^"]+)"; kind = "pin"; sides = "(\w+)"; circle = \["([-.\d]+) mm", "([-.\d]+) mm", "([-.\d]+) mm"\]')


def stops_of(profile, side):
    found = []
    for name, sides, x, y, diameter in PIN.findall(profile):
        if sides in ("both", side) and "catch" not in name:
            found.append((name.split(",")[0], np.array([float(x), float(y)]), float(diameter) / 2.0))
    return {name: (centre, radius) for name, centre, radius in found}


def catch_of(profile, side):
    return [(np.array([float(x), float(y)]), float(d) / 2.0) for n, s, x, y, d in PIN.findall(profile)
            if s in ("both", side) and "catch" in n]


def into_blank(pose, point):
    """A place of the fixture, as the blank that lies in that pose sees it."""
    c, s = math.cos(pose[2]), math.sin(pose[2])
    d = point - pose[:2]
    return np.array([c * d[0] + s * d[1], -s * d[0] + c * d[1]])


def gap_and_normal(blank, pose, centre, radius):
    """Gap of the dowel, the contact on the table, and the outward normal there."""
    middle = Point(into_blank(pose, centre))
    edge = blank.exterior
    foot = nearest_points(edge, middle)[0]
    out = np.array([middle.x - foot.x, middle.y - foot.y])
    distance = math.hypot(*out)
    if blank.contains(middle):
        distance, out = -distance, -out
    c, s = math.cos(pose[2]), math.sin(pose[2])
    turn = np.array([[c, -s], [s, c]])
    normal = turn @ (out / abs(distance))
    return distance - radius, pose[:2] + turn @ np.array([foot.x, foot.y]), normal


def push(blank, stops, place, way, start):
    """The pose in which nothing gives way any more, the gaps there, and what answers each stop gives."""
    pose, reach = np.array(start, dtype=float), 1.0
    for _ in range(40):
        rows, gaps = [], []
        for centre, radius in stops:
            gap, contact, normal = gap_and_normal(blank, pose, centre, radius)
            arm = contact - pose[:2]
            rows.append([normal[0], normal[1], arm[0] * normal[1] - arm[1] * normal[0]])
            gaps.append(gap)
        c, s = math.cos(pose[2]), math.sin(pose[2])
        arm = np.array([[c, -s], [s, c]]) @ np.array(place)
        gain = np.array([way[0], way[1], arm[0] * way[1] - arm[1] * way[0]])
        answer = linprog(-gain, A_ub=np.array(rows), b_ub=np.array(gaps), bounds=[(-reach, reach)] * 2 + [(-reach / 50, reach / 50)],
                         method="highs")
        if not answer.success:
            reach *= 2.0  # a step inside the stops has no way out within so small a reach
            continue
        step = answer.x
        pose = pose + step
        size = max(abs(step[0]), abs(step[1]), 50 * abs(step[2]))
        if size < 1e-6:
            return pose, np.array(gaps), -np.array(answer.ineqlin.marginals)
        reach = min(reach, max(2.0 * size, 1e-6))
    return pose, np.array(gaps), None


def mirrored(outline):
    return [(x, -y) for x, y in outline][::-1]


def examine(case, worst):
    for side, sign in (("a", 1.0), ("b", -1.0)):
        blank = Polygon(case["outline"] if side == "a" else mirrored(case["outline"]))
        named = stops_of(case["profile"], side)
        names = ["rear stop", "front stop", "end stop"]
        stops = [named[name] for name in names]
        place, way = np.array(case["push"][:2]) * (1, sign), np.array(case["push"][2:]) * (1, sign)
        start = (-0.4 * way[0], -0.4 * way[1], sign * 0.004)
        pose, gaps, answers = push(blank, stops, place, way, start)
        off = max(abs(pose[0]), abs(pose[1]), 100.0 * abs(pose[2]))  # the turn counted at 100 mm
        worst["lands"] = max(worst["lands"], off)
        worst["gap"] = max(worst["gap"], float(np.max(np.abs(gaps))))
        if answers is None or np.min(answers) <= 0.0:
            worst["faults"].append(f"side {side}: a stop does not answer: {answers}")
        for centre, radius in catch_of(case["profile"], side):
            if gap_and_normal(blank.buffer(0.2), pose, centre, radius)[0] <= 0.0:
                worst["faults"].append(f"side {side}: the catch pin touches a larger blank")
        if side == "b":
            continue  # by symmetry as on side A; where it lands was asked above
        # a stop stands 0.01 mm farther out
        for i in range(3):
            _, _, normal = gap_and_normal(blank, (0.0, 0.0, 0.0), *stops[i])
            moved = list(stops)
            moved[i] = (stops[i][0] + 0.01 * normal, stops[i][1])
            there, _, _ = push(blank, moved, place, way, pose)
            said = 0.01 * np.array([case["moves"][0][i], sign * case["moves"][1][i], sign * case["moves"][2][i]])
            error = np.abs(there - said)
            scale = 0.05 * np.abs(said) + np.array([3e-4, 3e-4, 3e-6])
            worst["moves"] = max(worst["moves"], float(np.max(error / scale)))
        # a blank 0.2 mm larger all round still comes against all three
        larger = blank.buffer(0.2)
        there, gaps, answers = push(larger, stops, place, way, start)
        if answers is None or np.min(answers) <= 0.0 or np.max(np.abs(gaps)) > 1e-4:
            worst["faults"].append(f"side {side}: a larger blank does not come against all stops: {gaps} {answers}")


def main():
    worst = {"lands": 0.0, "gap": 0.0, "moves": 0.0, "faults": []}
    count = 0
    for line in open(sys.argv[1], encoding="utf-8"):
        before = len(worst["faults"])
        examine(json.loads(line), worst)
        for i in range(before, len(worst["faults"])):
            worst["faults"][i] = f"case {count}: " + worst["faults"][i]
        count += 1
    print(f"{count} blanks, farthest off {worst['lands'] * 1000:.3f} um, widest gap {worst['gap'] * 1000:.3f} um, "
          f"moved stops at most {worst['moves']:.2f} of what is allowed")
    print("\n".join(worst["faults"][:20]))
    return 0 if worst["lands"] <= LANDS_MM and worst["moves"] <= 1.0 and not worst["faults"] else 1


sys.exit(main())
