"""Random tangs and whole knives as polygons in the part frame, and drawings of them in every format.

    shape(rng)                     -> shapely polygon: taper start at x = 0, butt towards +x, the blade (if any) at x < 0
    draw(rng, polygon, folder)     -> the job's outline group as text

Straight, tapered, dropped, fishtail and skeleton tangs, notched, with square, slanted or round butts, from a few
millimetres to a few hundred. Drawings are turned, moved, mirrored, scaled to another unit. Corners are written with
ten digits, so the polygon is the truth.
"""
import math
import os

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

UNITS = {"mm": 1.0, "in": 25.4, "cm": 10.0, "thou": 0.0254, "um": 0.001, "m": 1000.0}


def length(rng, mm, units=("mm", "mm", "mm", "in", "cm", "thou", "um")):
    """A length as a person may write it; exact to a picometre or so."""
    unit = rng.choice(units)
    return '"%.10g %s"' % (mm / UNITS[unit], unit)


# ---- shapes ----

def edges(rng, long, wide):
    """Two edges of a tang as height over x: tapered, dropped, with a fishtail or a wave."""
    x = np.linspace(0.0, 1.0, rng.choice([2, 3, 9, 41, 121]))
    end = wide * rng.choice([1.0, 1.0, rng.uniform(0.4, 1.0), rng.uniform(1.0, 1.5)])
    half = (wide + (end - wide) * x) / 2.0
    if rng.random() < 0.3:
        half = half + wide * rng.uniform(0.1, 0.5) * np.clip((x - 0.6) / 0.4, 0.0, 1.0) ** 2    # fishtail
    if rng.random() < 0.3:
        half = half + wide * rng.uniform(0.02, 0.08) * np.sin(x * rng.uniform(3.0, 15.0))
    drop = rng.uniform(-0.15, 0.15) * long * x ** 2 if rng.random() < 0.4 else 0.0 * x
    slanted = rng.uniform(-0.5, 0.5) * min(wide, long) if rng.random() < 0.3 else 0.0
    top, bottom = drop + half, drop - half
    share = x ** 4
    return (np.column_stack([x * long + slanted * share, top]), np.column_stack([x * long - slanted * share, bottom]))


def largest(shape):
    return max(getattr(shape, "geoms", [shape]), key=lambda part: part.area)


def tang_of(rng, long, wide):
    top, bottom = edges(rng, long, wide)
    tang = Polygon(np.vstack([top, bottom[::-1]]))
    if rng.random() < 0.35:                                     # round butt and corners
        radius = rng.uniform(0.05, 0.45) * min(wide, long)
        soft = tang.buffer(-radius / 2.0).buffer(radius / 2.0, 16)
        front = box(-1.0, -1e3, min(long, radius) / 2.0, 1e3)
        tang = largest(unary_union([soft, tang.intersection(front)]).buffer(0))
    for _ in range(rng.choice([0, 0, 0, 1, 3])):                # notches in the edges and the butt
        ring = LineString(tang.exterior.coords)
        at = ring.interpolate(rng.random(), normalized=True)
        if at.x > 0.1 * long:
            tang = largest(tang.difference(at.buffer(rng.uniform(0.03, 0.25) * wide, rng.choice([1, 2, 16]))))
    return Polygon(tang.exterior)


def holes_of(rng, tang, wide):
    x1 = tang.bounds[2]
    holes = []
    for _ in range(rng.choice([0, 0, 1, 2, 6])):
        size = rng.uniform(0.05, 0.35) * wide
        x, y = rng.uniform(0.02, 0.95) * x1, rng.uniform(-0.4, 0.4) * wide
        hole = Point(x, y).buffer(size, rng.choice([1, 3, 16]))
        if rng.random() < 0.5:                                  # a slot or window
            hole = LineString([(x, y), (x + rng.uniform(0.1, 0.6) * x1, y)]).buffer(size, rng.choice([1, 8]))
        if tang.buffer(-0.4).contains(hole) and not any(h.distance(hole) < 0.5 for h in holes) and hole.bounds[0] > 0.05:
            holes.append(hole)
    return holes


def with_blade(rng, tang, wide):
    """Joins a blade on at x = 0, mostly wider than the tang."""
    ahead = tang.intersection(box(-1.0, -1e3, 0.0, 1e3))
    low, high = ahead.bounds[1], ahead.bounds[3]
    long, deep = rng.uniform(0.3, 1.5) * 120.0, rng.choice([0.0, rng.uniform(0.0, 45.0)])
    ricasso = rng.uniform(0.5, 12.0)
    blade = Polygon([(0.0, low), (0.0, high), (-long * 0.5, high + rng.uniform(0.0, 2.0)), (-long, low),
                     (-long * 0.9, low - deep * 0.5), (-ricasso - 1.0, low - deep), (-ricasso, low - deep), (-ricasso, low)])
    joined = unary_union([tang, blade.buffer(0), box(-ricasso, low, 0.0, high)])
    return Polygon(largest(joined).exterior)


def shape(rng):
    """Returns a valid polygon."""
    while True:
        long = rng.choice([rng.uniform(5.0, 20.0), rng.uniform(40.0, 130.0), rng.uniform(40.0, 130.0), rng.uniform(60.0, 130.0),
                           rng.uniform(130.0, 380.0)])
        wide = min(rng.choice([rng.uniform(4.0, 12.0), rng.uniform(12.0, 35.0), rng.uniform(12.0, 35.0),
                               rng.uniform(35.0, 60.0)]), 1.5 * long)
        tang = tang_of(rng, long, wide)
        holes = holes_of(rng, tang, wide)
        whole = with_blade(rng, tang, wide) if rng.random() < 0.5 else tang
        knife = Polygon(whole.exterior, [h.exterior for h in holes])
        cut = knife.intersection(box(0.0, -1e3, 1e3, 1e3))
        ahead = knife.intersection(box(-1e3, -1e3, 0.0, 1e3))
        pieces = [p for g in (cut, ahead) for p in [[q for q in getattr(g, "geoms", [g]) if q.area > 1e-4]]]
        measures = np.array(knife.bounds[2:]) - knife.bounds[:2]
        if knife.is_valid and measures.max() > 10.0 and len(pieces[0]) == 1 and len(pieces[1]) <= 1 and knife.bounds[2] < 450.0 and \
                abs(cut.bounds[0]) < 1e-9 and cut.area > 15.0:
            return knife


# ---- drawings ----

def rings_of(polygon):
    return [np.array(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]


def numbers(ring, between=" ", after=", "):
    return after.join("%.10f%s%.10f" % (x, between, y) for x, y in ring)


def write_wkt(rng, rings, unit):
    closed = [np.vstack([r, r[:1]]) for r in rings]
    return "wkt", "POLYGON (%s)\n" % ", ".join("(%s)" % numbers(r) for r in closed), True


def write_geojson(rng, rings, unit):
    closed = [np.vstack([r, r[:1]]) for r in rings]
    geometry = '{"type": "Polygon", "coordinates": [%s]}' % ", ".join(
        "[%s]" % ", ".join("[%.10f, %.10f]" % tuple(p) for p in r) for r in closed)
    if rng.random() < 0.5:
        geometry = '{"type": "Feature", "properties": {}, "geometry": %s}' % geometry
    return "geojson", geometry, True


def write_csv(rng, rings, unit):
    if rng.random() < 0.3:
        lines = [[("%.10f;%.10f" % tuple(p)).replace(".", ",") for p in r] for r in rings]
    else:
        lines = [["%.10f,%.10f" % tuple(p) for p in r] for r in rings]
    end = rng.choice(["\n", "\r\n"])
    return "csv", rng.choice(["", "x,y" + end]) + (end + end).join(end.join(r) for r in lines) + end, True


def svg_path(rng, ring, k=1.0):
    down = ring * [1.0, -1.0] * k
    if rng.random() < 0.5:
        return "M " + numbers(down, ",", " L ") + " Z"
    steps = np.diff(np.round(down, 9), axis=0)                  # relative: the sums stay exact
    return "m %.9f,%.9f l " % tuple(down[0]) + " ".join("%.9f,%.9f" % tuple(s) for s in steps) + " z"


def write_svg(rng, rings, unit):
    """One user unit is `unit` mm: the physical size says so."""
    word = rng.choice(["mm", "cm", "in"])
    points = np.vstack(rings)
    low, high = points.min(axis=0) - 5.0, points.max(axis=0) + 5.0
    wide, tall = high - low
    k, group = (1.0, "") if rng.random() < 0.6 else (0.5, ' transform="scale(2)"')
    text = '<svg xmlns="http://www.w3.org/2000/svg" width="%.12g%s" height="%.12g%s" viewBox="%.10f %.10f %.10f %.10f">\n' % (
        wide * unit / UNITS[word], word, tall * unit / UNITS[word], word, low[0], -high[1], wide, tall)
    text += "<g%s>\n" % group
    if rng.random() < 0.5:
        text += '<path d="%s"/>\n' % " ".join(svg_path(rng, r, k).replace("m", "M", 0) for r in rings[:1])
        text += "".join('<path d="%s"/>\n' % svg_path(rng, r, k) for r in rings[1:])
    else:
        text += '<path d="%s"/>\n' % " ".join("M " + numbers(r * [k, -k], ",", " L ") + " Z" for r in rings)
    return "svg", text + "</g>\n</svg>\n", False


def write_dxf(rng, rings, unit):
    codes = {1.0: 4, 25.4: 1, 10.0: 5, 1000.0: 6}
    out = []
    known = unit in codes and rng.random() < 0.7
    if known:
        out += ["0", "SECTION", "2", "HEADER", "9", "$INSUNITS", "70", str(codes[unit]), "0", "ENDSEC"]
    out += ["0", "SECTION", "2", "ENTITIES"]
    for ring in rings:
        if rng.random() < 0.5:
            out += ["0", "LWPOLYLINE", "8", "0", "90", str(len(ring)), "70", "1"]
            for x, y in ring:
                out += ["10", "%.10f" % x, "20", "%.10f" % y]
            continue
        lines = list(zip(ring, np.roll(ring, -1, axis=0)))
        rng.shuffle(lines)
        for a, b in lines:
            a, b = (a, b) if rng.random() < 0.5 else (b, a)
            out += ["0", "LINE", "8", "0", "10", "%.10f" % a[0], "20", "%.10f" % a[1], "11", "%.10f" % b[0], "21", "%.10f" % b[1]]
    out += ["0", "ENDSEC", "0", "EOF"]
    return "dxf", "\n".join(out) + "\n", not known


WRITERS = [write_wkt, write_geojson, write_csv, write_svg, write_dxf]


def draw(rng, polygon, folder):
    placed = rng.random() < 0.6
    angle = rng.uniform(-180.0, 180.0) if placed else 0.0
    start = np.array([rng.uniform(-300.0, 300.0), rng.uniform(-300.0, 300.0)]) if placed else np.zeros(2)
    mirrored = rng.random() < 0.3
    unit = rng.choice([1.0, 1.0, 25.4, 10.0, 0.3527777778])
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    rings = [(r * [1.0, -1.0 if mirrored else 1.0] @ np.array([[c, s], [-s, c]]) + start) / unit for r in rings_of(polygon)]
    rings = [r[::-1] if rng.random() < 0.5 else r for r in rings]
    rings = [np.roll(r, rng.randrange(len(r)), axis=0) for r in rings]
    ending, text, unit_wanted = rng.choice(WRITERS)(rng, rings, unit)
    name = rng.choice(["tang", "My knife 3", "m\u00e9sser", "t"]) + "." + ending
    with open(os.path.join(folder, name), "w", newline="") as file:
        file.write(text)
    out = 'outline: {\n    file = "%s";\n' % name
    if unit_wanted or rng.random() < 0.2:
        out += '    unit = "%.10g mm";\n' % unit
    if mirrored:
        out += "    mirrored = true;\n"
    if placed:
        out += '    taper_start = ["%.10f mm", "%.10f mm"];\n' % tuple(start)
        if rng.random() < 0.5:
            towards = start + np.array([c, s]) * rng.uniform(20.0, 200.0)
            out += '    axis_towards = ["%.10f mm", "%.10f mm"];\n' % tuple(towards)
        else:
            out += '    axis_angle = "%.12g deg";\n' % angle
    return out + "};\n"
