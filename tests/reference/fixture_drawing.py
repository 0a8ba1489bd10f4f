"""Reads a plate's drawing with ezdxf, and asks whether its holes are where the fixture's profile has them.

Usage: fixture_drawing.py FOLDER    with plate.dxf, plate.svg, fixture.cfg

For each station, from the profile's machine coordinates, each pin's circle must be there once, in its diameter, on the layer of its
side; no other dowel's hole may be there; the drawing is R12, in plain ASCII, and ezdxf's own audit finds no fault. The SVG's circles
are compared with the drawing's, up to its own origin."""
import math
import re
import sys
import xml.etree.ElementTree as tree

import ezdxf

PIN = re.compile(r'kind = "pin"; sides = "(\w+)"; circle = \["([-.\d]+) mm", "([-.\d]+) mm", "([-.\d]+) mm"\]')
STATION = re.compile(r'offset = "G[\d.]+"; along = "([-.\d]+) mm"; across = "([-.\d]+) mm"')
LAYERS = {"both": "DOWEL", "a": "DOWEL-A", "b": "DOWEL-B"}


def main():
    folder, along, across = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])  # signs of the machine's axes
    profile = open(f"{folder}/fixture.cfg", encoding="utf-8").read()
    open(f"{folder}/plate.dxf", "rb").read().decode("ascii")
    drawing = ezdxf.readfile(f"{folder}/plate.dxf")
    faults = []
    if drawing.dxfversion != "AC1009":
        faults.append(f"the drawing is {drawing.dxfversion}")
    if drawing.audit().errors:
        faults.append("the audit finds faults")
    holes = [(e.dxf.layer, e.dxf.center.x, e.dxf.center.y, 2.0 * e.dxf.radius)
             for e in drawing.modelspace().query("CIRCLE") if e.dxf.layer.startswith("DOWEL")]
    stations = [(float(a), float(b)) for a, b in STATION.findall(profile)]
    wanted = []
    for a, b in stations:
        x, y = along * (a - stations[0][0]), across * (b - stations[0][1])
        wanted += [(LAYERS[sides], x + float(px), y + float(py), float(d)) for sides, px, py, d in PIN.findall(profile)]
    for hole in wanted:
        near = [h for h in holes if h[0] == hole[0] and math.dist(h[1:3], hole[1:3]) < 2e-4 and abs(h[3] - hole[3]) < 1e-6]
        if len(near) != 1:
            faults.append(f"{len(near)} holes for {hole}")
    if len(holes) != len(wanted):
        faults.append(f"{len(holes)} holes drawn, {len(wanted)} wanted")
    picture = tree.parse(f"{folder}/plate.svg").getroot()
    space = "{http://www.w3.org/2000/svg}"
    box = [float(v) for v in picture.get("viewBox").split()]
    if abs(float(picture.get("width")[:-2]) - box[2]) > 1e-6 or not picture.get("width").endswith("mm"):
        faults.append("the SVG is not 1:1 in mm")
    drawn = [(float(c.get("cx")), float(c.get("cy"))) for c in picture.iter(space + "circle") if "dowel" in c.get("class")]
    if len(drawn) != len(holes):
        faults.append(f"{len(drawn)} dowels in the SVG")
    else:
        off_x, off_y = drawn[0][0] - holes[0][1], drawn[0][1] + holes[0][2]
        worst = max(math.dist((x - off_x, off_y - y), h[1:3]) for (x, y), h in zip(drawn, holes))
        if worst > 2e-4:
            faults.append(f"SVG and DXF differ by {worst}")
    table = [text.text for text in picture.iter(space + "text")]
    inches = any("in inches" in words for words in table)
    if inches != (len(sys.argv) > 4 and sys.argv[4] == "inch"):
        faults.append("the table is in the other unit")
    for _, x, y, _ in holes:
        told = ["%.4f" % (v / 25.4) if inches else "%.3f" % v for v in (x, y)]
        if not any(table[i:i + 2] == told for i in range(len(table))):
            faults.append(f"a hole at {x:.3f} {y:.3f} mm is not in the table as {' '.join(told)}")
    print(f"{len(holes)} holes at {len(stations)} stations")
    print("\n".join(faults))
    return 1 if faults or not stations else 0


sys.exit(main())
