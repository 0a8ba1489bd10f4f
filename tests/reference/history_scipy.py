"""Follows the temperature of a whole tang through a program, independently of the planner, and compares.

    python3 history_scipy.py EXPECTATIONS FOLDER NAME SIDE [mean]

reads FOLDER/NAME/side-SIDE.nc and summary.json, and the hand-written numbers in EXPECTATIONS. Prints, for some
layers, the temperature that earlier passes had left where the layer is ground, here and in the summary, and a line
that begins with FAULT where they differ by more than 2 % of the largest such rise, or on the mean by more than 2 %.
Exit status 1 then. With `mean` only the mean decides, and layers that differ are shown as off.

For a cup in the tilted mount. Only the contract of the programs and the heat model's equations (docs/heat-model.md,
section 3) are known here. Unlike the planner's, the plate has cells of 1 mm filled as the outline says, is stepped by an
L-stable SDIRK scheme of second order (R. Alexander, SIAM J. Numer. Anal. 14, 1006, 1977) with sparse direct factors, and
each cell is given its heat, all at once, in the moment when the leading edge of the rim comes over it.
"""
import json
import os
import sys

import numpy as np
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import splu
from scipy.spatial import cKDTree
from shapely.affinity import scale
from shapely.geometry import box

import knife_drawings
import prove_heat
import prove_program

CELL, STEP = 1.0, 0.1                   # mm, s
SINK = 40.0                             # mm of blade that count
PACKED = 0.2                            # of the joint's conductance is left under packing
SHORT = 20.0                            # mm, ten of the planner's cells: no shorter strips are compared
TOLERANCE = 0.02
GAMMA = 1.0 - np.sqrt(0.5)


class Plate:
    def __init__(self, whole, first_x, thickness, joint, steel, coolant):
        x0, y0, x1, y1 = whole.bounds
        xs, ys = np.arange(first_x, x1 + CELL, CELL), np.arange(y0 - 0.3, y1 + CELL, CELL)
        points = prove_program.inside_points(whole, CELL / 10)
        edges = (np.append(xs, xs[-1] + CELL), np.append(ys, ys[-1] + CELL))
        filled = np.histogram2d(points[:, 0], points[:, 1], edges)[0] / 100.0
        self.number = np.where(filled > 0.05, np.cumsum(filled.ravel() > 0.05).reshape(filled.shape) - 1, -1)
        self.steel = self.number >= 0
        x, y = np.meshgrid(xs + CELL / 2, ys + CELL / 2, indexing="ij")
        self.x, self.y, self.filled = x[self.steel], y[self.steel], filled[self.steel]
        self.area = self.filled * CELL ** 2
        self.original = thickness(self.x)
        self.joint, self.top = joint(self.x) * 1e-6, coolant["top"] * 1e-6      # W/(mm2 K)
        self.k, self.heat = steel["k"] * 1e-3, steel["rho"] * steel["c"] * 1e-9  # W/(mm K), J/(mm3 K)
        # The outline, in short pieces that belong to the nearest cell.
        rim = prove_program.edge_points(whole, 0.05)
        self.edge = np.bincount(cKDTree(np.column_stack([self.x, self.y])).query(rim)[1], minlength=self.x.size) * \
            (whole.exterior.length + sum(hole.length for hole in whole.interiors)) / len(rim)
        self.factors = None

    def grind(self, thickness):
        self.thickness, self.factors = thickness, None

    def solver(self):
        if self.factors is None:
            rows, columns, values = [], [], []
            for axis in (0, 1):
                a = self.number[:-1, :] if axis == 0 else self.number[:, :-1]
                b = self.number[1:, :] if axis == 0 else self.number[:, 1:]
                a, b = (n[(a >= 0) & (b >= 0)] for n in (a, b))
                g = self.k * np.minimum(self.filled[a], self.filled[b]) * 2 / (1 / self.thickness[a] + 1 / self.thickness[b])
                rows += [a, b, a, b]
                columns += [a, b, b, a]
                values += [-g, -g, g, g]
            through = self.thickness / (3 * self.k)
            loss = (self.area * (1 / (1 / self.top + through) + 1 / (1 / self.joint + through)) +
                    self.edge * self.thickness / (1 / self.top + CELL / 2 / self.k))
            flow = coo_matrix(tuple((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))),
                              shape=(self.x.size,) * 2).tocsc() - diags(loss)
            self.capacity = self.heat * self.area * self.thickness
            self.flow, self.steps = flow, {}
            self.factors = True
        return self

    def step(self, rise, time, energy=None):
        """Rise after `time` s, while `energy` J come in evenly."""
        self.solver()
        if time not in self.steps:
            self.steps[time] = splu((diags(self.capacity) - GAMMA * time * self.flow).tocsc())
        power = 0.0 if energy is None else energy / time
        k1 = self.steps[time].solve(self.flow @ rise + power)
        k2 = self.steps[time].solve(self.flow @ (rise + (1 - GAMMA) * time * k1) + power)
        return rise + time * ((1 - GAMMA) * k1 + GAMMA * k2)


def share_of(depth, speed, hot, steel, coolant):
    """J/mm2 that stay in the steel when a depth in mm is ground at a table speed in mm/s."""
    wheel_speed, table = speed
    band = hot["rim_mm"] * 1e-3
    kelvin, power, _ = prove_heat.rise((depth * 1e-3, table * 1e-3, band, 20e-3), wheel_speed, hot, steel, coolant, None)
    diffusivity = steel["k"] / (steel["rho"] * steel["c"])
    unit = 2 * diffusivity / (np.pi * steel["k"] * table * 1e-3) * prove_heat.jaeger(table * 1e-3 * band / (4 * diffusivity))
    return kelvin / unit * band / (table * 1e-3) * 1e-6      # W/m2 for as long as the band takes to pass, per mm2


class Follower:
    def __init__(self, plate, setup, given, wheel_speed, side):
        self.plate, self.setup, self.given = plate, setup, given
        slope = setup["slope"]
        alpha = np.arctan(slope)
        self.top = setup["T0_mm"] * np.cos(alpha) + np.tan(alpha) * (plate.x + setup["T0_mm"] * np.sin(alpha))
        self.face = self.top.copy()
        self.tang = plate.x > -setup["T0_mm"] * np.sin(alpha)
        self.rise, self.wheel_speed = np.zeros(plate.x.size), wheel_speed
        plate.grind(plate.original)
        self.energies = {}

    def wait(self, time):
        parts = int(np.ceil(time / STEP))
        for _ in range(parts):
            self.rise = self.plate.step(self.rise, time / parts)

    def energy(self, depth, table):
        key = (round(depth, 5), round(table, 3))
        if key not in self.energies:
            hot, steel, coolant = self.given
            self.energies[key] = share_of(key[0], (self.wheel_speed, key[1]), hot, steel, coolant)
        return self.energies[key]

    def cut(self, a, b, table):
        """A straight cut along x at one height; returns what earlier passes have left where it cuts."""
        plate, radius = self.plate, self.setup["wheel"]["diameter_mm"] / 2
        way = np.sign(b[0] - a[0])
        beside = np.abs(plate.y - a[1])
        reach = np.sqrt(np.maximum(radius ** 2 - beside ** 2, 0.0))
        leads, trails = ((plate.x + sign * way * reach - a[0]) / (way * table) for sign in (-1, 1))
        passes = np.where(leads < 0, trails, leads)     # what lies in the wheel's hollow as it starts meets the rim behind
        depth = np.where(self.tang & (beside < radius) & (passes >= 0) & (passes <= abs(b[0] - a[0]) / table),
                         np.maximum(self.face - a[2], 0.0), 0.0)
        cut = depth > 2e-5
        energy = np.zeros(plate.x.size)
        energy[cut] = [self.energy(d, table) for d in depth[cut]] * plate.area[cut]
        run, ghost, found = abs(b[0] - a[0]) / table, self.rise.copy(), -np.inf
        parts = int(np.ceil(run / STEP))
        for part in range(parts):
            now = cut & (passes >= run * part / parts) & (passes < run * (part + 1) / parts)
            ghost = plate.step(ghost, run / parts / 2)
            found = max(found, ghost[now].max(initial=-np.inf))
            ghost = plate.step(ghost, run / parts / 2)
            self.rise = plate.step(self.rise, run / parts, np.where(now, energy, 0.0))
        self.face = np.where(cut, a[2], self.face)
        return found if cut.any() else None


def main():
    expectations, folder, name, side = sys.argv[1:5]
    layers_too = sys.argv[5:] != ["mean"]
    shared = json.load(open(expectations))
    samples = os.path.join(os.path.dirname(expectations), shared["folder"])
    raw = shared["samples"][name]
    given = (dict(shared["wheel heat"][raw["wheel"]]), shared["steels"][raw["steel"]], shared["coolants"][raw["coolant"]])
    setup = prove_program.fill(dict(raw), shared)
    outline = knife_drawings.knife(setup["drawing"], os.path.join(samples, name))
    setup["slope"] = (setup["T0_mm"] - setup["T1_mm"]) / (2 * (setup["L_mm"] or outline.bounds[2]))
    shift = -setup["T0_mm"] * np.sin(np.arctan(setup["slope"]))
    if side == "b":
        outline = scale(outline, 1, -1, origin=(0, 0))
    summary = json.load(open(os.path.join(folder, name, "summary.json")))
    said = summary["setups"]["ab".index(side)]
    speed = np.pi * setup["wheel"]["diameter_mm"] * 1e-3 * summary["spindle_rpm"] / 60
    whole = outline.intersection(box(-SINK, -1e3, 1e3, 1e3))

    def thickness(x):
        return setup["T0_mm"] - (setup["slope"] * np.maximum(x, 0.0) if side == "b" else 0.0 * x)

    def joint(x):
        return given[2]["joint"] * np.where((x > 0.0) & (side == "b"), PACKED, 1.0)

    plate = Plate(whole, -SINK, thickness, joint, given[1], given[2])
    plate.x = plate.x + shift
    follower = Follower(plate, setup, given, speed, side)
    at, found, layer = [0.0, 0.0, 1e3], {}, -1
    height = setup["T0_mm"] * np.cos(np.arctan(setup["slope"])) + setup["allowance_mm"]
    clock, waited, way = prove_program.Clock(setup), 0.0, None
    for _, kind, target, value in prove_program.read_program(os.path.join(folder, name, "side-%s.nc" % side),
                                                             setup["machine"]):
        to = list(at)
        for slot, place in target.items() if kind in ("rapid", "feed") else ():
            to[slot] = place
        by = np.array(to) - np.array(at)
        length = np.linalg.norm(by)
        if kind == "dwell" or (way is not None and length > 0 and by @ way < length * (1 - 1e-9)):
            clock.rest(value if kind == "dwell" else 0.0)       # a corner is a stop on exact paths
        if kind not in ("rapid", "feed") or length == 0:
            continue
        way = by / length
        cuts = kind == "feed" and abs(by[0]) > 1.0 and abs(by[2]) < 1e-9 and at[2] < follower.face[follower.tang].max() - 2e-5
        if cuts:
            waited, before, run = (clock.total if found else 0.0) - waited, clock.total, abs(by[0]) / value
            clock.move(by, value)
            clock.rest()
            ramps = clock.total - before - run
            if at[2] != layer:
                layer = at[2]
                plate.grind(np.maximum(plate.original - (follower.top - follower.face), 0.05))
            follower.wait(waited + ramps / 2)
            rise, plane = follower.cut(at, to, value), round(at[2] - height, 3)
            if rise is not None:            # off the steel the wheel is as fast as may be: a pass is several moves
                found[plane] = max(found.get(plane, -np.inf), rise)
            waited = clock.total - ramps / 2
            way = None
        else:
            clock.move(by, value if kind == "feed" else None)
        at = to
    ambient, good, pairs = given[2]["ambient"], True, []
    for number, layer in enumerate(said["layers"], 1):
        rise = found.pop(round(layer["bottom_mm"], 3), None)
        if rise is None or plate.x.max() - layer["front_mm"] < SHORT:
            continue                    # spark-out, or shorter than the cells can show
        pairs.append((number, rise, layer["bulk_degC"] - ambient))
        if number % 15 == 0:
            print("%s %s layer %3d  %7.3f K here, %7.3f K there" % ((name, side) + pairs[-1]))
    largest = max(rise for _, rise, _ in pairs)
    for number, rise, theirs in pairs:
        if abs(rise - theirs) > TOLERANCE * largest:
            print("%s %s %s: layer %d: %.3f K, and the summary says %.3f" % ("FAULT" if layers_too else "off", name, side, number,
                                                                           rise, theirs))
            good = good and not layers_too
    sums = [sum(pair[i] for pair in pairs) for i in (1, 2)]
    print("%s %s mean       %7.3f K here, %7.3f K there" % (name, side, sums[0] / len(pairs), sums[1] / len(pairs)))
    if abs(sums[0] - sums[1]) > TOLERANCE * sums[0] or found or len(pairs) < 30:
        print("FAULT %s %s: mean over %d layers, %d cuts at unknown heights" % (name, side, len(pairs), len(found)))
        good = False
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
