"""Writes exchange drawings with a general-purpose library: outline_make.py FOLDER"""
import math
import sys

import ezdxf
from ezdxf.enums import InsertUnits
from ezdxf.math import BSpline


def new(release, units):
    document = ezdxf.new(release)
    document.header["$INSUNITS"] = units
    return document, document.modelspace()


def closed_polyline(folder):
    """Bulged heavy polyline in the old release, which has no light one."""
    document = ezdxf.new("R12")
    space = document.modelspace()
    points = [(0, -12, 0), (90, -10, 0.4), (95, 8, 0.1), (40, 14, -0.08), (0, 12, 0)]
    space.add_polyline2d(points, format="xyb", close=True)
    space.add_circle((20, 0), 2.5)
    space.add_circle((75, 0), 2.5)
    space.add_text("TANG")
    document.saveas(folder + "/polyline-r12.dxf")


def mirrored(folder):
    """Seen from below: extrusion 0, 0, -1 turns x over."""
    document, space = new("R2000", InsertUnits.Millimeters)
    down = {"extrusion": (0, 0, -1)}
    space.add_lwpolyline([(0, -12, 0), (90, -10, 0.4), (95, 8, 0.1), (40, 14, -0.08), (0, 12, 0)], format="xyb",
                         close=True, dxfattribs=down)
    space.add_circle((20, 0), 2.5, dxfattribs=down)
    space.add_arc((75, 0), 3, 30, 210, dxfattribs=down)
    space.add_arc((75, 0), 3, 210, 30, dxfattribs=down)
    space.add_ellipse((-48, 1), (6, 1), 0.5, dxfattribs=down)
    document.saveas(folder + "/mirrored.dxf")


def loose(folder):
    """Lines, arcs, partial ellipse and rational spline, in no order, each in its own direction."""
    document, space = new("R2010", InsertUnits.Inches)
    space.add_line((4, 0.6), (2, 0.7))
    weights = [1, 2, 0.5, 1, 3, 1]
    controls = [(0, 0.5), (0.4, 0.9), (0.9, 0.4), (1.2, 0.9), (1.6, 0.6), (2, 0.7)]
    spline = space.add_rational_spline(controls, weights, degree=4)
    assert len(spline.knots) == len(controls) + 5
    space.add_line((0, 0.5), (0, -0.5))
    space.add_arc((1, -0.5), 1, 180, 270)
    space.add_line((4, -1.5), (1, -1.5))
    # half an ellipse from 4, -1.5 round to 4, 0.6
    space.add_ellipse((4, -0.45), (0, 1.05), 0.6, math.pi, 2 * math.pi)
    space.add_circle((1.5, -0.3), 0.1)
    space.add_lwpolyline([(3, -0.4, 1), (3.2, -0.4, 1)], format="xyb", close=True)
    document.saveas(folder + "/loose.dxf")


def blocks(folder):
    document, space = new("R2010", InsertUnits.Millimeters)
    pin = document.blocks.new("PIN", base_point=(5, 5))
    pin.add_circle((5, 5), 2)
    pair = document.blocks.new("PAIR")
    pair.add_blockref("PIN", (0, 0))
    pair.add_blockref("PIN", (12, 3), dxfattribs={"xscale": 1.5, "yscale": 0.7, "rotation": 25})
    tang = document.blocks.new("TANG")
    tang.add_lwpolyline([(0, -12), (100, -16), (110, -4), (100, 10), (0, 12)], close=True)
    tang.add_blockref("PAIR", (20, -2), dxfattribs={"rotation": 10})
    tang.add_blockref("PAIR", (80, 0), dxfattribs={"xscale": -1})
    space.add_blockref("TANG", (15, -7), dxfattribs={"rotation": -12, "xscale": 1.1, "yscale": 1.1})
    document.saveas(folder + "/blocks.dxf")


def splines(folder):
    """A closed outline of one unclamped periodic spline, with a high-degree spline closing on itself as a hole."""
    document, space = new("R2000", InsertUnits.Centimeters)
    ring = [(0, -1.2), (4, -1.5), (9, -1.3), (10.5, 0.2), (8, 1.4), (4, 1.1), (0, 1.3), (-1, 0)]
    spline = space.add_spline()
    periodic = BSpline([*ring, *ring[:3]], order=4, knots=list(range(len(ring) + 3 + 4)))
    spline.apply_construction_tool(periodic)
    inner = [(5, 0), (5.4, 0.5), (6, 0.6), (6.5, 0), (6, -0.5), (5.4, -0.4), (5, 0)]
    space.add_open_spline(inner, degree=5)
    document.saveas(folder + "/splines.dxf")


for make in (closed_polyline, mirrored, loose, blocks, splines):
    make(sys.argv[1])
