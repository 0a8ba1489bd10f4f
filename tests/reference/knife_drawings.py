"""Reads a knife's drawing with general-purpose libraries and brings it to the part frame.

    knife(expectation, folder) -> shapely polygon of the whole drawing, mm, taper start at x = 0, butt towards +x

Curves are replaced by many short chords, far finer than what the planner is asked for. SVG: svgelements; DXF:
ezdxf; WKT and GeoJSON: shapely; CSV by hand. Frames: SVG in its outermost user units with y turned up.
"""
import json
import math
import os

import numpy as np
from shapely import wkt
from shapely.geometry import Polygon, shape
from shapely.ops import linemerge, polygonize

CHORDS = 200            # per curve


def read_wkt(path, given):
    return wkt.loads(open(path).read())


def read_geojson(path, given):
    document = json.load(open(path))
    if document["type"] == "FeatureCollection":
        document = next(f for f in document["features"] if f.get("id") == given["pick"])
    return shape(document.get("geometry", document))


def read_csv(path, given):
    rings = [[]]
    for line in open(path):
        if ";" in line:
            line = line.replace(",", ".").replace(";", ",")         # decimal commas
        if not line.strip():
            rings.append([])
        elif line[0] in "-0123456789":
            rings[-1].append([float(word) for word in line.split(",")])
    return Polygon(rings[0], [ring for ring in rings[1:] if ring])


def read_svg(path, given):
    from svgelements import SVG, Path, Shape
    drawing = SVG.parse(path, ppi=25.4)                      # one pixel is then one millimetre, but for
    exact = float(drawing.values["width"][:-2]) / drawing.width     # the library's rounded mm
    scale = drawing.width / drawing.viewbox.width
    corner = np.array([drawing.viewbox.x, drawing.viewbox.y]) * scale
    rings = []
    for element in drawing.elements():
        if not isinstance(element, Shape):
            continue
        for part in abs(Path(element)).as_subpaths():
            ring = []
            for segment in Path(part):
                if type(segment).__name__ in ("Line", "Close") and segment.end is not None:
                    ring.append(segment.end)
                elif type(segment).__name__ != "Move":
                    ring += [segment.point(i / CHORDS) for i in range(1, CHORDS + 1)]
            rings.append((np.array([[p.x, p.y] for p in ring]) + corner) * exact)
    rings.sort(key=lambda r: -Polygon(r).area)
    return Polygon(rings[0] * [1, -1], [r * [1, -1] for r in rings[1:]])


def read_dxf(path, given):
    import ezdxf
    from ezdxf.path import make_path
    units = {1: 25.4, 4: 1.0}
    drawing = ezdxf.readfile(path)
    loose, closed = [], []
    for entity in drawing.modelspace():
        bulged = entity.dxftype() == "LWPOLYLINE"
        points = [(p.x, p.y) for p in make_path(entity).flattening(1e-4, segments=16 if bulged else CHORDS)]
        (closed if entity.dxftype() == "CIRCLE" or (bulged and entity.closed) else loose).append(np.round(points, 5))
    rings = [Polygon(points) for points in closed]
    if loose:
        rings += list(polygonize(linemerge([list(map(tuple, points)) for points in loose])))
    rings.sort(key=lambda r: -r.area)
    outline = Polygon(rings[0].exterior, [r.exterior for r in rings[1:]])
    outline = Polygon(np.array(outline.exterior.coords), [np.array(r.coords) for r in outline.interiors])
    given.setdefault("unit_mm", units[drawing.units])
    return outline


READERS = {".wkt": read_wkt, ".geojson": read_geojson, ".csv": read_csv, ".svg": read_svg, ".dxf": read_dxf}


def knife(given, folder):
    """The drawing in the part frame. `given`: file, unit_mm, start_mm, towards_mm, mirrored, pick."""
    given = dict(given)
    path = os.path.join(folder, given["file"])
    drawn = READERS[os.path.splitext(path)[1]](path, given)
    unit = given.get("unit_mm", 1.0)
    start = np.array(given.get("start_mm", [0, 0]), float)
    towards = np.array(given.get("towards_mm", start + [1, 0]), float)
    along = (towards - start) / math.hypot(*(towards - start))
    across = np.array([-along[1], along[0]]) * (-1 if given.get("mirrored") else 1)

    def turned(ring):
        points = np.array(ring.coords)[:-1, :2] * unit - start
        return np.column_stack([points @ along, points @ across])

    return Polygon(turned(drawn.exterior), [turned(ring) for ring in drawn.interiors])
