"""Weights and balance points of a knife by strips and Gauss points, beside ours by Green's theorem.

usage: balance.py KNIFE.json
KNIFE.json holds the polygons in the part frame, the figures of the job, and our answer. Regions are cut by Shapely
with arcs twice as fine as ours; integrals run over strips between the corners of a polygon, where the width
across is linear in x, with three Gauss points each. Prints the largest deviations; exit status 1 if a mass, a centre
of mass or the relief's area is farther off than 0.01 %.
"""
import json
import sys

import numpy
from shapely.geometry import Point, Polygon, box
from shapely.ops import unary_union

ALLOWED = 1e-4
QUADRANT = 256
GAUSS, WEIGHTS = numpy.polynomial.legendre.leggauss(3)
knife = json.load(open(sys.argv[1]))
worst = {"mass": 0.0, "moment": 0.0, "area": 0.0}
failures = []


def polygon(rings):
    return Polygon(rings[0], rings[1:])


def polygons(shape):
    return [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "Polygon" and p.area > 1e-4]


def sections(shape, breaks):
    """x, weight dx, width across and first moment of the section about y = 0, at every Gauss point."""
    xs, dxs, widths, moments = [], [], [], []
    for part in polygons(shape):
        a = numpy.concatenate([numpy.array(r.coords)[:-1, :2] for r in (part.exterior, *part.interiors)])
        b = numpy.concatenate([numpy.array(r.coords)[1:, :2] for r in (part.exterior, *part.interiors)])
        low, high = a[:, 0].min(), a[:, 0].max()
        ends = numpy.unique(numpy.concatenate([a[:, 0], [k for k in breaks if low < k < high]]))
        for left, right in zip(ends[:-1], ends[1:]):
            if right - left < 1e-10:
                continue
            near = (numpy.minimum(a[:, 0], b[:, 0]) <= left) & (numpy.maximum(a[:, 0], b[:, 0]) >= right)
            p, q = a[near], b[near]
            for g, w in zip(GAUSS, WEIGHTS):
                x = (left + right) / 2 + g * (right - left) / 2
                y = numpy.sort(p[:, 1] + (q[:, 1] - p[:, 1]) * (x - p[:, 0]) / (q[:, 0] - p[:, 0]))
                xs.append(x)
                dxs.append(w * (right - left) / 2)
                widths.append((y[1::2] - y[::2]).sum())
                moments.append((y[1::2] ** 2 - y[::2] ** 2).sum() / 2)
    return tuple(numpy.array(column) for column in (xs, dxs, widths, moments))


T0, T1, L = knife["T0"], knife["T1"], knife["L"]
slope = (T0 - T1) / (2 * L)
cap = (T0 - knife["smallest"]) / 2
breaks = [knife["allowance"] / slope, cap / slope]
steel = knife["steel"]


def taken(x):
    return numpy.maximum(0.0, numpy.minimum(slope * x, cap) - knife["allowance"])


def body(shape, depth, middle, density):
    """Mass and moments of depth(x) over a shape, with its middle at height middle(x)."""
    x, dx, width, moment = sections(shape, breaks)
    d = depth(x)
    return density * numpy.array([(d * width * dx).sum(), (x * d * width * dx).sum(), (d * moment * dx).sum(),
                                  (d * middle(x) * width * dx).sum()])


def compare(name, ours, reference):
    mass, centre = ours["mass_g"], ours["centre_mm"]
    if reference[0] == 0 and mass == 0:
        return
    scale = max(abs(mass), 1e-12)
    off = abs(mass - reference[0]) / max(abs(reference[0]), 1e-12)
    worst["mass"] = max(worst["mass"], off)
    if off > ALLOWED:
        failures.append(f"{name}: {mass} g, the reference says {reference[0]} g")
    for axis, wanted, got in zip("xyz", reference[1:], centre):
        # a centre near the axis has no relative accuracy: a hundredth of a per cent of 10 mm then
        off = abs(mass * got - wanted) / max(abs(wanted), scale * 10.0)
        worst["moment"] = max(worst["moment"], off)
        if off > ALLOWED:
            failures.append(f"{name}: moment in {axis} {mass * got} g mm, the reference says {wanted} g mm")


def zero(x):
    return 0.0 * x


def even(thickness):
    return lambda x: thickness + 0.0 * x


tang = polygon(knife["tang"])
ours = knife["ours"]
compare("tang", ours["tang"], body(tang, even(T0), zero, steel))
holes = [Polygon(ring) for ring in knife["tang"][1:]]
if holes:
    compare("holes", ours["holes"], body(unary_union(holes), even(T0), zero, steel))

# what comes off
relief = knife["relief"]
region = Polygon(knife["tang"][0]).buffer(-relief["land"], QUADRANT)
region = region.intersection(box(relief["end"], -1e4, 1e4, 1e4))
for hole in holes:
    region = region.difference(hole.buffer(relief["boss"], QUADRANT))
worst["area"] = abs(relief["area"] - region.area) / region.area
if worst["area"] > ALLOWED:
    failures.append(f"relief: {relief['area']} mm2, the reference says {region.area} mm2")
steel_off = numpy.zeros(4)
for side, up in enumerate((1, -1)):
    wedge = body(tang, taken, lambda x: up * (T0 / 2 - taken(x) / 2), steel)
    compare(f"taper {side}", ours["taper"][side], wedge)
    steel_off += wedge
    if side in relief["faces"]:
        hollow = body(region, even(relief["depth"]), lambda x: up * (T0 / 2 - taken(x) - relief["depth"] / 2), steel)
        compare(f"relief {side}", ours["relief"][side], hollow)
        steel_off += hollow
compare("removed", ours["removed"], steel_off)

# what goes on
handle = knife["handle"]
whole = unary_union([tang, polygon(knife["blade"])]) if knife["blade"] and handle["front"] < 0 else tang
scale = Polygon(whole.exterior).buffer(handle["offset"], QUADRANT) if handle["offset"] else Polygon(whole.exterior)
scale = scale.intersection(box(handle["front"], -1e4, 1e4, 1e4))
slabs = body(scale, even(2 * handle["thickness"] * handle["fill"]), zero, handle["density"])
pins = numpy.zeros(4)
order = sorted(holes, key=lambda h: h.centroid.x)
for pin in knife["pins"]:
    at = order[pin["hole"] - 1].centroid
    disc = numpy.pi / 4 * pin["diameter"] ** 2
    slabs -= 2 * handle["thickness"] * handle["fill"] * handle["density"] * disc * numpy.array([1, at.x, at.y, 0])
    length = T0 - 2 * taken(numpy.array([at.x]))[0] + 2 * (handle["thickness"] + handle["glue"])
    metal = pin["density"] * length * (disc - numpy.pi / 4 * pin["bore"] ** 2)
    pins += metal * numpy.array([1, at.x, at.y, 0])
compare("scales", ours["scales"], slabs)
compare("pins", ours["pins"], pins)
glue = body(scale.intersection(whole), even(2 * handle["glue"]), zero, handle["glue_density"])
for side, up in enumerate((1, -1)):
    if side in relief["faces"] and handle["filled"]:
        glue += body(region.intersection(scale), even(relief["depth"]),
                     lambda x: up * (T0 / 2 - taken(x) - relief["depth"] / 2), handle["glue_density"])
compare("glue", ours["glue"], glue)
on = slabs + pins + glue
compare("handle", ours["handle"], on)

# the whole knife
mass, moment = knife["blank"]["mass"], knife["blank"]["mass"] * knife["blank"]["x"]
mass, moment = mass - steel_off[0] + on[0], moment - steel_off[1] + on[1]
finished = ours["knife"]["finished"]
if abs(finished["mass_g"] - mass) > ALLOWED * mass or abs(finished["x_mm"] - moment / mass) > ALLOWED * 100:
    failures.append(f"finished: {finished}, the reference says {mass} g at {moment / mass} mm")

# no point of the region nearer to the edge or a hole than asked for: sampled on our own region's corners
edge = tang.exterior
for piece in relief["pieces"]:
    for ring in piece:
        for x, y in ring:
            if edge.distance(Point(x, y)) < relief["land"] - 1e-6 or x < relief["end"] - 1e-6:
                failures.append(f"the land is too narrow at {x}, {y}")
            if any(hole.distance(Point(x, y)) < relief["boss"] - 1e-6 for hole in holes):
                failures.append(f"a boss is too narrow at {x}, {y}")

print("worst: mass %.2e, moment %.2e, relief's area %.2e" % (worst["mass"], worst["moment"], worst["area"]))
print("\n".join(failures))
sys.exit(1 if failures else 0)
