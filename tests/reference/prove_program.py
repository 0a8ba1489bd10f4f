"""Grinds a blank in numbers along the moves of a program and tells what is wrong with the result.

    python3 prove_program.py EXPECTATIONS FOLDER NAME[=WAY]...

reads EXPECTATIONS (hand-written setups, see tests/samples/expectations.json), and for each NAME the programs
FOLDER/NAME/side-a.nc, side-b.nc (or side-a-rough.nc and after it side-a-finish.nc, and so on, where a setup says how much
finishing may take off; of a hollowed sample also side-a-relief.nc, side-b-relief.nc, run after them) and
FOLDER/NAME/summary.json. With WAY, a copy of them that spoil_program.py has spoiled so: then a side that follows one with
faults is not looked at. Prints PROVE NAME WAY, one line for each side, for every fault a line that begins with FAULT, and PASSED or
FAILED NAME WAY. Exit status 1 when there was a fault.

Only the contract of the programs is known here: the setup frame, the target heights, the programmed points and
the axis map. Nothing is taken from the planner.

  blank    points of the outline, on a grid and along its edges, each with the height of the steel there
  wheel    disc: a cylinder lying across; cup: a flat ring. Its underside along any straight move is found in closed
           form (a cylinder swept along a line: the line's parallel and an arc at each end; a ring: the stretch of
           the move during which the ring is over the point), so that nothing falls between samples.
  wear     where a program follows the wear of its wheel (wheel_wear.py), the wheel gets smaller by what it takes off
  survey   heights of the faces of a blank that is not flat: the highest reading at each x over the mean of those on
           the ricasso, straight lines between, level up to the taper start; only for blanks that lie on the plate
  target   half thickness T0/2 - m x with m = (T0 - T1)/(2 L); level: z = T0 - m x; tilted by atan(m): T0 cos(alpha)
  band     a blank thicker by e has its top e higher over the pad (e / cos(alpha) as it lies tilted). With z zero on the
           pad the target stays; the wheel may then go down to it ahead of the taper start as well. With z zero on the
           ricasso, touched off over the taper start, z counts from the target there, and both rise with the blank.
           Where a setup names its band, both ends of it are ground too: for gouges, stock left, depths and keep-outs.
"""
import csv
import json
import os
import re
import shutil
import sys
import tempfile
import typing

import numpy as np
from shapely import vectorized
from shapely.affinity import translate
from shapely.geometry import Point, Polygon, box

import knife_drawings
import spoil_program
import wheel_wear

GRID = 0.4              # mm between points of the tang
COARSE = 1.0            # of the rest of the blank
EDGE = 0.25             # mm between points on its edges
KEEP_OUT_GRID = 2.0
KEEP_OUT_EDGE = 0.5
GOUGE = 0.002           # deepest cut below the target, besides half of the program's last decimal
TOUCH = 1e-6            # mm: less is arithmetic


# ---- the program's text ----

def read_program(path, machine):
    """Yields (line number, kind, target, feed mm/s or dwell s); kind: rapid, feed, dwell, offset."""
    unit, motion, feed, words_before = None, None, None, {}
    axes = {machine[name][-1]: (i, -1.0 if machine[name][0] == "-" else 1.0)
            for i, name in enumerate(("along", "across", "up"))}
    for number, line in enumerate(open(path, newline=""), 1):
        line = re.sub(r"\([^()]*\)", "", line).strip()
        if line in ("", "%"):
            continue
        words = re.findall(r"([A-Z])\s*([-+]?[0-9.]+)", line)
        if "".join(a + b for a, b in words) != line.replace(" ", ""):
            raise SystemExit("%s:%d: not understood: %s" % (path, number, line))
        target, dwell, moved = {}, None, False
        codes = [float(value) for letter, value in words if letter == "G"]
        for letter, value in words:
            if letter == "G" and float(value) in (20, 21):
                unit = 25.4 if float(value) == 20 else 1.0
            elif letter == "G" and float(value) in (0, 1):
                motion = int(float(value))
            elif letter == "G" and float(value) in (54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3):
                yield number, "offset", "G" + value.rstrip("0").rstrip("."), 0.0
            elif letter == "F":
                feed = float(value) * unit / 60.0
            elif letter in axes and 4 not in codes:
                slot, sign = axes[letter]
                target[slot] = sign * float(value) * unit
                moved = True
            elif letter in "PX" and 4 in codes:
                dwell = float(value) * (0.001 if machine.get("dwell") == "ms" else 1.0)
            elif letter == "G" and float(value) not in (4, 17, 18, 19, 40, 49, 61, 61.1, 64, 80, 90, 94):
                raise SystemExit("%s:%d: no such code here: G%s" % (path, number, value))
            elif letter not in "GMSN":
                raise SystemExit("%s:%d: no such word here: %s%s" % (path, number, letter, value))
        if 4 in codes:
            yield number, "dwell", {}, dwell
        elif moved:
            yield number, "feed" if motion else "rapid", target, feed


# ---- the wheel ----

class Wheel:
    """Its underside, seen from points below, while the programmed point goes along a straight move."""

    def __init__(self, given, grown=0.0, solid=False):
        self.disc = given["kind"] == "disc"
        self.radius = given["diameter_mm"] / 2.0 + grown
        self.half_width = (given["width_mm"] / 2.0 + grown) if self.disc else self.radius
        self.inner = 0.0 if self.disc or solid else max(0.0, self.radius - given["rim_mm"])
        self.drop = grown                       # how far below the programmed point the underside lies

    def extent(self, a, b):
        """The corners of the box in which the wheel is during the move from a to b, seen from above."""
        reach = np.array([self.radius, self.half_width, 0.0])
        return np.minimum(a, b) - reach, np.maximum(a, b) + reach

    def near(self, px, py, a, b):
        """Which of the points lie in that box."""
        low, high = self.extent(a, b)
        return (px >= low[0]) & (px <= high[0]) & (py >= low[1]) & (py <= high[1])

    def underside(self, px, py, a, b):
        """Lowest height over the points during the move from a to b; infinite where the wheel never is."""
        return (self._disc if self.disc else self._ring)(px, py, a, b) - self.drop

    def _disc(self, x, y, a, b):
        """A cylinder lying across, swept along a straight line. While it is as far across as a point, it goes in the plane
        of that point from one end to another: below are an arc at either end, and between them the line's parallel, which
        nothing undercuts where it touches."""
        start, end = during(y - a[1], b[1] - a[1], self.half_width)
        radius, along, up = self.radius, b[0] - a[0], b[2] - a[2]
        result = np.full(x.shape, np.inf)
        if along != 0.0:
            length = np.hypot(along, up)
            t = (x - a[0]) / along - radius * up / (length * abs(along))    # where the cylinder touches from above
            touched = (start <= t) & (t <= end)
            result[touched] = a[2] + t[touched] * up + radius - radius * abs(along) / length
            rest = np.flatnonzero(~touched & (start <= end))
        else:
            rest = np.flatnonzero(start <= end)
        for t in (start[rest], end[rest]):
            reach = radius ** 2 - (x[rest] - a[0] - t * along) ** 2
            arc = a[2] + t * up + radius - np.sqrt(np.maximum(reach, 0.0))
            result[rest] = np.where(reach >= 0.0, np.minimum(result[rest], arc), result[rest])
        return result

    def _ring(self, x, y, a, b):
        """A flat ring: over a point from when the outer circle comes there to when the inner one does, and again as it
        leaves. On a straight line it is lowest there at one end of such a time."""
        away, by = np.hypot(x - a[0], y - a[1]), b - a
        run = np.hypot(by[0], by[1])
        if run == 0.0:
            return np.where((self.inner <= away) & (away <= self.radius), min(a[2], b[2]), np.inf)
        nearest = ((x - a[0]) * by[0] + (y - a[1]) * by[1]) / run
        beside = np.maximum(away ** 2 - nearest ** 2, 0.0)
        outer = np.sqrt(np.maximum(self.radius ** 2 - beside, 0.0))
        inner = np.sqrt(np.maximum(self.inner ** 2 - beside, 0.0))
        result = np.full(x.shape, np.inf)
        for first, last in ((nearest - outer, nearest - inner), (nearest + inner, nearest + outer)):
            first, last = np.maximum(first, 0.0) / run, np.minimum(last, run) / run
            height = a[2] + by[2] * (first if by[2] > 0.0 else last)
            result = np.where(first <= last, np.minimum(result, height), result)
        return np.where(beside <= self.radius ** 2, result, np.inf)


def during(away, by, reach):
    """From when to when, between 0 and 1, something that goes by `by` is no farther off than `reach`; else from 1 to 0."""
    if by == 0.0:
        return np.where(np.abs(away) <= reach, 0.0, 1.0), np.where(np.abs(away) <= reach, 1.0, 0.0)
    ends = (away - reach) / by, (away + reach) / by
    start, end = np.maximum(np.minimum(*ends), 0.0), np.minimum(np.maximum(*ends), 1.0)
    return np.where(start <= end, start, 1.0), np.where(start <= end, end, 0.0)


# ---- the blank ----

def inside_points(shape, grid):
    """The points of a square grid that lie inside, row by row between the crossings of the outline."""
    x0, y0, x1, y1 = shape.bounds
    edges = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in
                       (np.array(r.coords)[:, :2] for r in [shape.exterior, *shape.interiors])])
    xs, rows = np.arange(x0 + grid / 2, x1, grid), []
    for y in np.arange(y0 + grid / 2, y1, grid):
        crossing = (edges[:, 1] > y) != (edges[:, 3] > y)
        ax, ay, bx, by = edges[crossing].T
        ends = np.sort(ax + (y - ay) * (bx - ax) / (by - ay))
        row = xs[np.searchsorted(ends, xs) % 2 == 1]
        rows.append(np.column_stack([row, np.full(row.shape, y)]))
    return np.vstack(rows)


def edge_points(shape, step):
    rims = []
    for ring in [shape.exterior, *shape.interiors]:
        corners = np.array(ring.coords)[:, :2]
        for p, q in zip(corners[:-1], corners[1:]):
            n = max(1, int(np.ceil(np.hypot(*(q - p)) / step)))
            rims.append(p + (q - p) * np.arange(n)[:, None] / n)
    return np.vstack(rims)


def surveyed(setup, samples, name):
    """For each side a function of part x: how high the raw face stands over the blank's own centre plane."""
    if "survey" not in setup:
        return {}
    lines = (line.split("#")[0].strip() for line in open(os.path.join(samples, name, setup["survey"])))
    head, *rows = csv.reader(line for line in lines if line)
    names = [cell.replace("[mm]", "").strip() for cell in head]
    rows = [dict(zip(names, map(float, row))) for row in rows]
    faces = {}
    for side in "ab":
        zero = np.mean([row[side] for row in rows if row["x"] < 0])
        highest = {0.0: 0.0}
        for row in rows:
            if row["x"] > 0:
                highest[row["x"]] = max(highest.get(row["x"], -1e9), row[side] - zero)
        x, h = np.array(sorted(highest.items())).T
        last = (h[-1] - h[-2]) / (x[-1] - x[-2])
        faces[side] = lambda at, x=x, h=h, last=last: (
            setup["T0_mm"] / 2 + np.interp(at, x, h) + np.maximum(0.0, at - x[-1]) * last)
    return faces


def removed(setup, outline, raw):
    """Volume between the raw face and the finished one, in strips across the tang."""
    end, strips = outline.bounds[2], 800
    total = 0.0
    for i in range(strips):
        a, b = end * i / strips, end * (i + 1) / strips
        middle = (a + b) / 2
        over = raw(middle) - setup["T0_mm"] / 2 + setup["slope"] * middle - setup["allowance_mm"]
        total += max(0.0, float(over)) * outline.intersection(box(a, -1e3, b, 1e3)).area
    return total


class Blank:
    def __init__(self, setup, outline, side):
        self.setup, self.side = setup, side
        self.flip = -1.0 if side == "b" else 1.0
        self.grid = setup.get("grid_mm", GRID)
        tang = inside_points(outline.intersection(box(0, -1e3, 1e3, 1e3)), self.grid)
        whole = inside_points(outline, COARSE)
        x, y = np.vstack([tang, whole[whole[:, 0] < 0], edge_points(outline, EDGE)]).T
        self.cells = len(tang)
        t0, slope = setup["T0_mm"], setup["slope"]
        alpha = np.arctan(slope) if setup["mount"] == "tilted" else 0.0
        self.part_x = x
        self.py = self.flip * y
        if alpha:
            self.px = np.where(x > 0, x / np.cos(alpha), x * np.cos(alpha)) - t0 * np.sin(alpha)
            self.top = t0 * np.cos(alpha) + np.tan(alpha) * (self.px + t0 * np.sin(alpha))
            self.target = np.full(x.shape, t0 * np.cos(alpha))
        else:
            self.px = x
            self.top = np.full(x.shape, t0)
            self.target = t0 - slope * x
        if side in setup.get("raw", {}):
            self.bow(setup["raw"][side], t0, alpha)
        thicker = setup.get("thicker_mm", 0.0) / np.cos(alpha)
        self.top = self.top + thicker
        self.zero = 0.0
        if setup.get("zero") == "ricasso":
            self.target = self.target + thicker
            self.zero = t0 * np.cos(alpha) + thicker
        self.target = self.target + setup["allowance_mm"]
        self.z = self.top.copy()
        self.highest = float(self.top.max())
        self.outline = outline

    def bow(self, raw, t0, alpha):
        """The top of a blank that is not flat: the raw face, turned with the part."""
        on = self.px + t0 * np.sin(alpha)
        for _ in range(20):                     # the part's x that comes to lie at each point's own
            on = (self.px + (t0 / 2 + raw(on)) * np.sin(alpha)) / np.cos(alpha)
        bowed = on * np.sin(alpha) + (t0 / 2 + raw(on)) * np.cos(alpha)
        self.top = np.where(self.part_x > 0, bowed, self.top)

    def move(self, wheel, a, b, cuts):
        """Depth of steel met: the largest taken off, or touched by a move that may not cut."""
        lowest = min(a[2], b[2]) - wheel.drop
        if lowest > self.highest:
            return 0.0
        near = np.flatnonzero(wheel.near(self.px, self.py, a, b) & (self.z > lowest))   # the wheel comes no lower
        if not near.size:
            return 0.0
        steel, under = self.z[near], wheel.underside(self.px[near], self.py[near], a, b)
        if cuts:
            self.z[near] = np.minimum(steel, under)
        return float((steel - under).max(initial=0.0))

    def volume(self):
        return float((self.top - self.z)[:self.cells].sum()) * self.grid ** 2

    def result(self):
        tang = self.part_x >= 0.0
        floor = np.minimum(self.target, self.top)
        left = np.where(tang, self.z - np.maximum(self.target, 0.0), -np.inf)
        allowed = self.setup["flatness_mm"]
        return {
            "gouge": float(np.where(tang, floor - self.z, 0.0).max()),
            "ahead": float(np.where(tang, 0.0, floor - self.z).max()),
            "left": float(left.max()),
            "left_at": (float(self.part_x[left.argmax()]), float(self.flip * self.py[left.argmax()])),
            "ridge": float(left.max(initial=0.0)),
            "uncovered": float(np.count_nonzero(left > allowed)) / np.count_nonzero(tang),
            "volume": self.volume(),
        }


class Hollowed(Blank):
    """A tapered part, from which a relief is to be taken: the outline shrunk by the land, behind the end at the taper
    start, less the holes grown by the boss. Where a round wheel has room all of it must come off, but for a margin at
    the edge; a disc must hollow at least a part of what the summary says it does."""

    MARGIN = 0.25           # mm at the edge of where the wheel can go

    def __init__(self, setup, outline, side):
        super().__init__(setup, outline, side)
        relief = setup["relief"]
        tang = outline.intersection(box(0, -1e3, 1e3, 1e3))
        region = Polygon(tang.exterior).buffer(-relief["land_mm"], 64)
        region = region.intersection(box(relief["end_mm"], -1e3, 1e3, 1e3))
        for hole in tang.interiors:
            region = region.difference(Polygon(hole).buffer(relief["boss_mm"], 64))
        self.region, radius = region, setup["wheel"]["diameter_mm"] / 2.0
        within = lambda shape: vectorized.contains(shape, self.part_x, self.flip * self.py)
        # The last decimal and the chords of the arcs are nobody's gouge.
        self.inside = within(region.buffer(1e-3))
        self.edge = within(region.buffer(0.02)) & ~within(region.buffer(-0.02))
        self.z = np.where(self.part_x > 0, np.minimum(self.top, self.target), self.top)
        self.face, self.before = self.target.copy(), self.z.copy()
        self.target = np.where(self.inside, self.target - relief["depth_mm"], self.target)
        reach = region.buffer(-radius - self.MARGIN).buffer(radius - self.MARGIN)
        self.must = within(reach) if setup["wheel"]["kind"] == "cup" else np.zeros(len(self.z), bool)
        self.reach_mm2 = region.buffer(-radius).buffer(radius).area

    def result(self):
        outside = ~self.inside
        floor = np.where(outside, self.before, self.target)
        sunk = np.where(self.edge, 0.0, floor - self.z)
        left = np.where(self.must, self.z - self.target, -np.inf)
        return {
            "gouge": float(sunk.max()),
            "ahead": float(np.where(self.part_x < 0, self.before - self.z, 0.0).max()),
            "left": float(max(left.max(), 0.0)),
            "left_at": (float(self.part_x[left.argmax()]), float(self.flip * self.py[left.argmax()])),
            "ridge": 0.0,
            "uncovered": float(np.count_nonzero(left > self.setup["flatness_mm"])) / max(1, np.count_nonzero(self.must)),
            "volume": float((self.before - self.z)[:self.cells].sum()) * self.grid ** 2,
        }


# ---- what the wheel may not touch ----

def plan_of(keep_out):
    if "box" in keep_out:
        return box(*keep_out["box"])
    if "circle" in keep_out:
        x, y, diameter = keep_out["circle"]
        return Point(x, y).buffer(diameter / 2.0, 64)
    return Polygon(keep_out["polygon"])


def bodies_of(setup, clearance):
    """The wheel without its hollow and, where the setup tells of it, the spindle's nose behind or above it."""
    wheel, bodies = setup["wheel"], [Wheel(setup["wheel"], clearance, True)]
    if "nose_mm" in setup:
        nose = Wheel(dict(wheel, diameter_mm=setup["nose_mm"], width_mm=2e3), clearance, True)
        nose.drop -= setup["overhang_mm"] if wheel["kind"] == "cup" else (wheel["diameter_mm"] - setup["nose_mm"]) / 2.0
        bodies.append(nose)
    return bodies


class Obstacles:
    def __init__(self, setup, blank, own_station):
        plans = []
        whole = blank.outline if blank.flip > 0 else Polygon(
            np.array(blank.outline.exterior.coords) * [1, -1])
        for name, place in setup["stations"].items():       # all stand there, each with its own keep-outs about it
            x, y, z = (np.array(place) - np.array(setup["stations"][own_station])) * setup["signs"]
            here = "" if name == own_station else " on " + name
            plans += [(k["name"] + here, translate(plan_of(k), x, y), k["top_mm"] + z, setup["clearance_mm"])
                      for k in setup["keep_outs"] if k.get("sides", blank.side) == blank.side]
            if here:
                plans.append(("blank" + here, translate(whole, x, y), float(blank.top.max()) + z, 0.0))
        self.plans = [(name, plan.bounds, *np.vstack([inside_points(plan, KEEP_OUT_GRID), edge_points(plan, KEEP_OUT_EDGE)]).T,
                       top, bodies_of(setup, clearance)) for name, plan, top, clearance in plans]
        self.touched = {}

    def move(self, a, b, number):
        lowest = min(a[2], b[2])
        for name, (x1, y1, x2, y2), x, y, top, bodies in self.plans:
            for body in bodies:
                low, high = body.extent(a, b)
                if lowest - body.drop >= top or low[0] > x2 or high[0] < x1 or low[1] > y2 or high[1] < y1:
                    continue
                near = body.near(x, y, a, b)
                depth = float((top - body.underside(x[near], y[near], a, b)).max(initial=0.0))
                if depth > 0.005 and depth > self.touched.get(name, (0.0, 0))[0]:
                    self.touched[name] = (depth, number)


# ---- how long it takes ----

class Clock:
    """Rest to rest over moves in a row: each axis has its own acceleration and largest speed; straight on is driven
    through, a corner is a stop on exact paths and otherwise taken with the part of the speed that keeps on."""

    def __init__(self, setup):
        self.rapid, self.acceleration = setup["rapid_mm_per_s"], setup["acceleration_mm_per_s2"]
        self.blends = setup["machine"].get("blends", False)
        self.total, self.row = 0.0, []

    def move(self, by, feed):
        length = float(np.linalg.norm(by))
        if length > 1e-9:
            share = np.abs(by) / length
            used = share > 0
            speed = min(float((self.rapid[used] / share[used]).min()), feed or np.inf)
            self.row.append((length, speed, float((self.acceleration[used] / share[used]).min()), by / length))

    def rest(self, dwell=0.0):
        row, self.row = self.row, []
        corners = [0.0]
        for (_, v1, _, d1), (_, v2, _, d2) in zip(row, row[1:]):
            keeps = float(d1 @ d2)
            corners.append(min(v1, v2) * (1.0 if keeps > 1 - 1e-9 else max(0.0, keeps) if self.blends else 0.0))
        corners.append(0.0)
        for i in range(len(row) - 1, -1, -1):
            corners[i] = min(corners[i], np.sqrt(corners[i + 1] ** 2 + 2 * row[i][2] * row[i][0]))
        for i in range(len(row)):
            corners[i + 1] = min(corners[i + 1], np.sqrt(corners[i] ** 2 + 2 * row[i][2] * row[i][0]))
        for (length, speed, a, _), v1, v2 in zip(row, corners, corners[1:]):
            top = min(speed, np.sqrt(a * length + (v1 * v1 + v2 * v2) / 2))
            ramps = (2 * top * top - v1 * v1 - v2 * v2) / (2 * a)
            self.total += (2 * top - v1 - v2) / a + max(0.0, length - ramps) / top
        self.total += dwell


# ---- one side ----

def prove_side(name, setup, outline, side, path, loops, faults, make=Blank, earlier=None):
    """`earlier`: the blanks by offset as an earlier program has left them. "each" in a setup: mm3 that cost the wheel 1 mm."""
    wheel, each = Wheel(setup["wheel"]), setup.get("each")
    worn = 0.0
    blanks, obstacles, order = {}, {}, []
    place, blank, clock = [None, None, None], None, Clock(setup)
    worst = {"rapid": (0.0, 0), "plunge": (0.0, 0), "cut": (0.0, 0)}
    passes, loop, way = 0, [], 0.0
    nose = bodies_of(setup, 0.0)[1:]
    for number, kind, target, amount in read_program(path, setup["machine"]):
        if kind == "dwell":
            clock.rest(amount)
            continue
        if kind == "offset":
            clock.rest()
            if order and None not in place:     # the same place, said in the new offset's numbers
                old, new = (np.array(setup["stations"][s]) for s in (order[-1], target))
                place = list(np.array(place) + (old - new) * setup["signs"])
            if target not in blanks:
                blanks[target] = make(setup, outline, side)
                if earlier:
                    blanks[target].z = earlier[target].z.copy()
                obstacles[target] = Obstacles(setup, blanks[target], target)
            blank = blanks[target]
            order.append(target)
            continue
        before, place = list(place), [target[i] + (blank.zero if i == 2 else 0.0) if i in target else place[i]
                                      for i in range(3)]
        if None in before:
            if kind == "feed" or None in place[2:]:
                faults.append("line %d: moves from an unknown place" % number)
            continue
        a, b = np.array(before), np.array(place)
        clock.move(b - a, amount if kind == "feed" else 0.0)
        obstacles[order[-1]].move(a, b, number)
        down = abs(b[2] - a[2]) > 1e-9 and max(abs(b[:2] - a[:2])) < 1e-9
        across = abs(b[0] - a[0]) < 1e-9 and abs(b[1] - a[1]) > 1e-9 and not loops
        what = "rapid" if kind == "rapid" else "plunge" if down or across else "cut"
        up, had = np.array([0.0, 0.0, worn]), blank.volume() if each and kind == "feed" else 0.0
        met = blank.move(wheel, a + up, b + up, kind == "feed")
        if each and kind == "feed":
            worn += (blank.volume() - had) / each
        for body in nose:
            if blank.move(body, a, b, False) > 0.002:
                faults.append("line %d: the spindle meets the blank" % number)
                nose = []
                break
        if met > worst[what][0]:
            worst[what] = (met, number)
        if loops and what == "cut":             # a loop is done when it comes back to where it began
            if loop and np.abs(loop[0] - b).max() < 1e-9:
                passes, loop = passes + 1, []
            else:
                loop.append(b)
        elif loops:
            loop = []
        elif what == "cut":                     # a traverse may change its feed on the way, off the steel
            passes += np.sign(b[0] - a[0]) != way
        way = np.sign(b[0] - a[0]) if what == "cut" else 0.0
    stations = list(setup["stations"])          # in turn, and in turn again where parts cool in between
    if order != stations * (len(order) // len(stations)):
        faults.append("ground at %s instead of %s" % (order, list(setup["stations"])))
    clock.rest()
    results = [ground.result() for ground in blanks.values()]
    report(name, setup, outline, side, results, worst, clock.total, faults)
    for around in obstacles.values():
        for what, (depth, number) in around.touched.items():
            faults.append("line %d: %.3f mm too near to %s" % (number, depth, what))
    return Ground(clock.total, passes, blanks, results)


class Ground(typing.NamedTuple):
    """What a program did: its time, traverses, the blanks by offset, and for each of them what Blank.result() says."""
    time: float
    passes: int
    blanks: dict
    results: list

    def volumes(self):
        return [result["volume"] for result in self.results]

    def most(self, what):
        return max(result[what] for result in self.results)


def report(name, setup, outline, side, results, worst, time, faults):
    rounding = setup["machine"]["unit_mm"] * 10.0 ** -setup["machine"]["decimals"] / 2.0
    gouge, ahead, left, uncovered = (max(r[k] for r in results) for k in ("gouge", "ahead", "left", "uncovered"))
    at = max(results, key=lambda r: r["left"])["left_at"]
    print("%-14s %s  gouge %6.2f um  ahead of the start %5.2f um  left %6.2f um at %.1f, %.1f  deepest cut %6.2f um  "
          "%d points  %.1f s" % (name, side, gouge * 1e3, ahead * 1e3, left * 1e3, *at, worst["cut"][0] * 1e3,
                                 len(outline.exterior.coords), time))
    if gouge > GOUGE + rounding:
        faults.append("%.2f um gouged below the target" % (gouge * 1e3))
    if ahead > GOUGE + rounding:
        faults.append("%.2f um taken off ahead of the taper start" % (ahead * 1e3))
    if left > setup["flatness_mm"] + TOUCH:
        faults.append("%.2f um left at x %.2f y %.2f, %.2f %% of the tang" % (left * 1e3, *at, uncovered * 1e2))
    if worst["rapid"][0] > TOUCH:
        faults.append("line %d: a rapid meets %.2f um of steel" % (worst["rapid"][1], worst["rapid"][0] * 1e3))
    if worst["plunge"][0] > TOUCH:
        faults.append("line %d: fed down or across into %.2f um of steel" % (worst["plunge"][1], worst["plunge"][0] * 1e3))
    if worst["cut"][0] > setup["wheel"]["max_infeed_mm"] + setup["flatness_mm"]:
        faults.append("line %d: a cut %.2f um deep" % (worst["cut"][1], worst["cut"][0] * 1e3))


def prove_relief(name, setup, outline, folder, side, said, faults):
    """The hollow of one side, ground into the finished face; returns the volume that comes off."""
    found, own = [], dict(setup, wheel=setup["relief_wheel"])
    path = os.path.join(folder, name, "side-%s-relief.nc" % side)
    ground = prove_side(name, own, outline, side, path, True, found, Hollowed)
    time, volumes = ground.time, ground.volumes()
    whole = Hollowed(own, outline, side)
    depth = setup["relief"]["depth_mm"]
    if abs(said["hollow"]["region_mm2"] - whole.region.area) > 5e-3 * whole.region.area:
        found.append("a region of %.1f mm2, and the summary says %.1f" % (whole.region.area, said["hollow"]["region_mm2"]))
    if own["wheel"]["kind"] == "cup" and abs(volumes[0] - depth * whole.reach_mm2) > 0.02 * depth * whole.reach_mm2:
        found.append("hollows %.1f mm3 where the wheel has room for %.1f" % (volumes[0], depth * whole.reach_mm2))
    if any(abs(v - said["hollow"]["removed_mm3"]) > 0.02 * v for v in volumes):
        found.append("hollows %s mm3, and the summary says %.1f" % (volumes, said["hollow"]["removed_mm3"]))
    if abs(time - said["cycle_time_s"]) > 0.002 * time:
        found.append("takes %.2f s, and the summary says %.2f s" % (time, said["cycle_time_s"]))
    faults += ["side %s, relief: %s" % (side, fault) for fault in found]
    return said["hollow"]["removed_mm3"], said["pass_count"]


def programs_of(name, setup, summary, folder, side):
    """What grinds one side, in turn: for each program the setup it is proved by, its path and what the summary says of it.
    Roughing is to end so much over the face as finishing takes off."""
    own = [s for s in summary["setups"] if s["side"] == side and s["stage"] != "relief"]
    stages = ["roughing", "finishing"] if "finishing_mm" in setup else [""]
    if [s["stage"] for s in own] != stages:
        raise SystemExit("%s: side %s is ground in %s instead of %s" % (name, side, [s["stage"] for s in own], stages))
    leaves = [s["finish_height_mm"] - own[-1]["finish_height_mm"] for s in own]
    return [(dict(setup, allowance_mm=setup["allowance_mm"] + over), os.path.join(folder, name, s["program"]), s)
            for over, s in zip(leaves, own)]


def prove_ends(name, setup, outline, programs, side, faults):
    """The thinnest and the thickest blank that the job accepts."""
    for thicker in (-setup.get("band_mm", 0.0), setup.get("band_mm", 0.0)):
        found, blanks = [], None
        if thicker:
            for own, path, said in programs:
                blanks = prove_side(name, dict(own, thicker_mm=thicker), outline, side, path,
                                    said["travel_style"] == "loops", found, earlier=blanks).blanks
        faults += ["a blank %+.3f mm thicker: %s" % (thicker, fault) for fault in found]


def prove_flat(name, setup, outline, programs, side, exact, wedge, faults):
    """Taper of one side; returns the traverses counted."""
    passes, blanks, leaves = 0, None, 0.0
    for own, path, said in programs:
        leaves = own["allowance_mm"] - setup["allowance_mm"]
        if leaves > setup.get("finishing_mm", 0.0) + 1e-9 or (said["stage"] == "roughing" and leaves <= 0.0):
            faults.append("roughing leaves %.4f mm" % leaves)
        loops = said["travel_style"] == "loops"     # then a move across may cut, too
        ground = prove_side(name, own, outline, side, path, loops, faults, earlier=blanks)
        passes, blanks, time, ridge = passes + ground.passes, ground.blanks, ground.time, ground.most("ridge")
        if abs(time - said["cycle_time_s"]) > 0.002 * time:
            faults.append("takes %.2f s, and the summary says %.2f s" % (time, said["cycle_time_s"]))
    rounding = setup["machine"]["unit_mm"] * 10.0 ** -setup["machine"]["decimals"]
    cusp, high = said["cusp_mm"], 0.0           # between and beside the lanes of a cup in the level mount
    exact = [exact] * len(ground.results)
    if own.get("each"):
        stock = wheel_wear.Stock(setup, outline.intersection(box(0, -1e3, 1e3, 1e3)), setup.get("raw", {}).get(side))
        bottoms = [layer["bottom_mm"] for layer in said["layers"]]
        highs = [wheel_wear.high(setup, stock, bottoms, setup["machine"]["step_mm"], own["each"], wheel_wear.stays(path), part)
                 for part in range(len(exact))]
        high, exact = max(highs), [stock.above(one) for one in highs]
    slack = 0.02 * cusp + 2 * rounding
    if ridge - high > cusp + slack or (ridge - high < cusp - slack and not setup.get("rough")):
        faults.append("ridges of %.2f um, and the summary says %.2f" % ((ridge - high) * 1e3, cusp * 1e3))
    # On a low wedge what may stay on it counts.
    slack = 0.01 * exact[0] + (wedge.area * (setup["flatness_mm"] + rounding) if setup.get("rough") else 0.0)
    if any(abs(v - wanted) > slack for v, wanted in zip(ground.volumes(), exact)):
        faults.append("takes off %s mm3 instead of %s" % (ground.volumes(), exact))
    return passes


def prove_outline(name, setup, outline, folder, faults):
    """Both sides of FOLDER/NAME; returns the traverses counted in each program."""
    length = setup["L_mm"] or outline.bounds[2]
    setup["slope"] = (setup["T0_mm"] - setup["T1_mm"]) / (2.0 * length)
    thinnest = setup["T0_mm"] - 2.0 * setup["slope"] * outline.bounds[2]
    if thinnest < setup["smallest_mm"] - 1e-9:
        faults.append("the tang would end %.3f mm thin" % thinnest)
    summary = json.load(open(os.path.join(folder, name, "summary.json")))
    start = setup["allowance_mm"] / setup["slope"]
    wedge = outline.intersection(box(start, -1e3, 1e3, 1e3))
    exact = [setup["slope"] * wedge.area * (wedge.centroid.x - start)] * 2
    if setup.get("raw"):
        exact = [removed(setup, outline, setup["raw"][side]) for side in "ab"]
    passes, hollowed = [], []
    setups = {s["program"]: s for s in summary["setups"]}
    tang = outline.intersection(box(0, -1e3, 1e3, 1e3))
    for i, side in enumerate("ab"):
        found, own = [], dict(setup)
        if "steel" in setup:        # else its wheel is not known to wear
            each = wheel_wear.for_each_mm(setup, setup["wheel"], setup["steel"], setup["coolant"], tang)
            if "finishing_mm" not in setup and wheel_wear.follows(setup, exact[i] / each):
                own["each"] = each
        programs = programs_of(name, own, summary, folder, side)
        passes.append(prove_flat(name, own, outline, programs, side, exact[i], wedge, found))
        prove_ends(name, own, outline, programs, side, found)
        faults += ["side %s: %s" % (side, fault) for fault in found]
        if found and setup.get("until_fault"):
            return passes
        if "side-%s-relief.nc" % side in setups:
            hollowed.append(prove_relief(name, setup, outline, folder, side, setups["side-%s-relief.nc" % side], faults))
    if bool(hollowed) != ("relief" in setup):
        faults.append("hollowed, or not, against what was asked")
    exact += [volume for volume, _ in hollowed]
    if abs(summary["removed_mm3"] - sum(exact)) > 5e-4 * sum(exact):     # curves are read with chords 0.01 mm off
        faults.append("the summary says %.3f mm3 instead of %.3f" % (summary["removed_mm3"], sum(exact)))
    flat = summary["pass_count"] - sum(count for _, count in hollowed)
    if sum(passes) != flat:
        faults.append("%d traverses, and the summary says %d passes" % (sum(passes), flat))
    return passes


def prove(name, setup, folder, samples):
    outline, faults = knife_drawings.knife(setup["drawing"], os.path.join(samples, name)), []
    setup["raw"] = surveyed(setup, samples, name)
    prove_outline(name, setup, outline, folder, faults)
    for fault in faults:
        print("FAULT %s: %s" % (name, fault))
    return not faults


def fill(setup, shared):
    """Puts the numbers of the machine, wheel and fixture in the place of their names."""
    setup["machine"] = dict(shared["machines"][setup["machine"]], **setup.get("program", {}))
    setup["wheel"] = dict(shared["wheels"][setup["wheel"]], **setup.get("wheel_differs", {}))
    if "relief" in setup:
        relief = setup["relief"]
        setup["relief_wheel"] = dict(shared["wheels"][relief.get("wheel", "")], **relief.get("wheel_differs", {})) \
            if "wheel" in relief else setup["wheel"]
    if "ratio" in setup["wheel"]:
        setup.update(steel=shared["steels"][setup["steel"]], coolant=shared["coolants"][setup["coolant"]])
    else:
        setup.pop("steel", None)
    fixture = dict(shared["fixtures"][setup["fixture"]], **setup.get("fixture_differs", {}))
    machine = setup["machine"]
    setup.update(keep_outs=fixture["keep_outs"] + setup.get("stops", []), clearance_mm=fixture["clearance_mm"])
    setup["stations"] = dict(list(fixture["stations"].items())[:setup.get("parts", 1)])
    setup["signs"] = np.array([-1.0 if machine[k][0] == "-" else 1.0 for k in ("along", "across", "up")])
    for key in ("rapid_mm_per_s", "acceleration_mm_per_s2"):
        setup[key] = np.array(machine[key], float)
    return setup


def prove_spoiled(name, way, setup, folder, samples):
    """Spoils a copy of the sample's programs: spoil_program.py."""
    with tempfile.TemporaryDirectory() as scratch:
        shutil.copytree(os.path.join(folder, name), os.path.join(scratch, name))
        spoil_program.spoil_folder(way, os.path.join(scratch, name))
        return prove(name, dict(setup, until_fault=True), scratch, samples)


def main():
    expectations, folder, names = sys.argv[1], sys.argv[2], sys.argv[3:]
    shared = json.load(open(expectations))
    samples = os.path.join(os.path.dirname(expectations), shared["folder"])
    good = []
    for name, _, way in (word.partition("=") for word in names):
        setup = fill(dict(shared["samples"][name]), shared)
        print("PROVE %s %s" % (name, way))
        good.append(prove_spoiled(name, way, setup, folder, samples) if way else prove(name, setup, folder, samples))
        print("%s %s %s\n" % ("PASSED" if good[-1] else "FAILED", name, way))
    sys.exit(0 if all(good) else 1)


if __name__ == "__main__":
    main()
