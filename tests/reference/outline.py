"""Reads a drawing with a general-purpose library and compares it with our outline of the same file.

usage: outline.py wkt|geojson|svg|dxf FILE MM_PER_UNIT OURS.wkt
Prints the area of the symmetric difference in mm2, the larger Hausdorff distance of the boundaries in mm,
and the reference's perimeter in mm and number of holes.
"""
import json
import sys

import numpy
from shapely import wkt
from shapely.affinity import affine_transform
from shapely.geometry import LineString, Polygon, shape
from shapely.ops import polygonize, unary_union

FINE = 400  # points on each curved segment of an SVG: far finer than the chords compared
SAGITTA_MM = 1e-4
mm_per_unit = float(sys.argv[3])


def outline_of_lines(lines):
    """The face with the largest shell: the outline with its holes."""
    faces = list(polygonize(unary_union([LineString(numpy.round(line, 5)) for line in lines])))
    return max(faces, key=lambda face: Polygon(face.exterior).area)


def read_wkt(path):
    return wkt.loads(open(path).read())


def read_geojson(path):
    def lines(node):
        if node["type"] in ("FeatureCollection", "GeometryCollection"):
            for child in node.get("features", node.get("geometries")):
                yield from lines(child)
        elif node["type"] == "Feature":
            yield from lines(node["geometry"])
        elif node["type"] != "Point":
            geometry = shape(node)
            rings = geometry.geoms if hasattr(geometry, "geoms") else [geometry]
            for ring in rings:
                if ring.geom_type == "Polygon":
                    yield from (list(r.coords) for r in (ring.exterior, *ring.interiors))
                else:
                    yield list(ring.coords)

    return outline_of_lines(lines(json.load(open(path))))


def read_svg(path):
    import svgelements

    drawing = svgelements.SVG.parse(path, ppi=96, reify=True)
    lines = []
    for element in drawing.elements():
        if not isinstance(element, svgelements.Shape) or element.values.get("display") == "none":
            continue
        whole = svgelements.Path(element)
        whole.reify()
        for subpath in whole.as_subpaths():
            points = []
            for segment in svgelements.Path(subpath):
                if isinstance(segment, svgelements.Move):
                    continue
                if segment.start is None or segment.end is None:
                    continue
                straight = isinstance(segment, (svgelements.Line, svgelements.Close))
                steps = numpy.array([0.0, 1.0]) if straight else numpy.linspace(0, 1, FINE + 1)
                points.extend((x, y) for x, y in segment.npoint(steps))
            if len(points) > 1:
                lines.append(points)
    box = drawing.viewbox
    # The library moves the corner of the view box to the origin; our frame keeps the drawing's own origin.
    left, top = (float(box.x), float(box.y)) if box is not None else (0.0, 0.0)
    scale = float(drawing.width) / float(box.width) if box is not None else 1.0
    mm = 25.4 / 96.0
    moved = [[((x + left * scale) * mm, -(y + top * scale) * mm) for x, y in line] for line in lines]
    return outline_of_lines(moved)


def read_dxf(path):
    import ezdxf

    document = ezdxf.readfile(path)
    hidden = {layer.dxf.name for layer in document.layers if layer.is_frozen() or layer.is_off()}
    lines = []

    def add(entity):
        kind = entity.dxftype()
        if entity.dxf.layer in hidden:
            return
        if kind in ("INSERT", "LWPOLYLINE", "POLYLINE"):  # bulges become true arcs
            for inner in entity.virtual_entities():
                add(inner)
        elif kind == "LINE":
            lines.append([(p.x, p.y) for p in (entity.dxf.start, entity.dxf.end)])
        elif kind in ("ARC", "CIRCLE", "ELLIPSE", "SPLINE"):
            sagitta = SAGITTA_MM / mm_per_unit
            points = [(p[0], p[1]) for p in entity.flattening(sagitta)]
            lines.append(points)

    for entity in document.modelspace():
        add(entity)
    return outline_of_lines(lines)


def main():
    kind, path, _, ours_path = sys.argv[1:]
    readers = {"wkt": read_wkt, "geojson": read_geojson, "svg": read_svg, "dxf": read_dxf}
    theirs = readers[kind](path)
    theirs = affine_transform(theirs, [mm_per_unit, 0, 0, mm_per_unit, 0, 0])
    ours = wkt.loads(open(ours_path).read())
    ours_rings, their_rings = ours.boundary, theirs.boundary
    far = max(ours_rings.hausdorff_distance(their_rings), their_rings.hausdorff_distance(ours_rings))
    print(theirs.symmetric_difference(ours).area, far, theirs.length, len(theirs.interiors))


main()
