"""Draws the worked example of the README from what `plan` wrote: picture.py SAMPLE_FOLDER PLAN_FOLDER > docs/....svg

Knife from the drawing (read by svgelements), path of the last layer from the program text, temperatures and fronts of
the layers from summary.json."""
import json
import math
import re
import sys

import svgelements

BLUE, ORANGE, GREEN, GREY, BLACK = "#0072B2", "#E69F00", "#009E73", "#999999", "#000000"


def rings(path):
    for shape in svgelements.SVG.parse(path, ppi=25.4).elements():
        if isinstance(shape, svgelements.Shape):
            # by way of its path data, because Path() of a circle forgets its transformation
            for part in svgelements.Path(shape.d(transformed=True)).as_subpaths():
                piece = svgelements.Path(part)
                yield [(p.x, -p.y) for p in (piece.point(i / 400) for i in range(401))]


def last_layer(program):
    x = y = 0.0
    path, layer, cutting = [], 0, False
    for line in open(program):
        if line.startswith("(PASS "):
            layer += 1
            path = []
        if line[0] == "G":
            words = dict((w[0], float(w[1:])) for w in re.findall(r"[XYZF]-?[\d.]+", line))
            nx, ny = words.get("X", x), words.get("Y", y)
            if line.startswith("G1") and (nx, ny) != (x, y):
                path.append(((x, y), (nx, ny)))
            x, y = nx, ny
    return path


def main(sample, plan):
    summary = json.load(open(plan + "/summary.json"))
    setup = summary["setups"][0]
    length = setup["packing"][-1]["x_mm"]
    ricasso, butt = setup["packing"][0]["finished_thickness_mm"], setup["packing"][-1]["finished_thickness_mm"]
    job = open(sample + "/job.cfg").read()
    start = [float(v) for v in re.search(r'taper_start\s*=\s*\[\s*"([-\d.]+) mm",\s*"([-\d.]+) mm"', job).groups()] \
        if "taper_start" in job else [0.0, 0.0]
    knife = list(rings(sample + "/knife.svg"))
    xs = [p[0] - start[0] for r in knife for p in r]
    scale = 800 / (max(xs) - min(xs) + 20)
    left = 20 - min(xs) * scale

    def at(x, y):
        return f"{left + x * scale:.1f},{120 - y * scale:.1f}"

    out = ['<svg xmlns="http://www.w3.org/2000/svg" width="840" height="470" viewBox="0 0 840 470" '
           'font-family="sans-serif" font-size="12">', '<rect width="840" height="470" fill="white"/>']
    out.append('<text x="20" y="18" font-weight="bold">Knife from side A, with the last layer\'s path of the wheel\'s centre</text>')
    for ring in knife:
        out.append('<polygon fill="none" stroke="%s" points="%s"/>' % (BLACK, " ".join(at(x - start[0], y - start[1]) for x, y in ring)))
    for (x0, y0), (x1, y1) in last_layer(plan + "/side-a-finish.nc"):
        x0 = min(x0, max(xs) + 8)
        out.append(f'<polyline fill="none" stroke="{BLUE}" stroke-width="2" points="{at(x0, y0)} {at(min(x1, max(xs) + 8), y1) if x1 > x0 else at(x1, y1)}"/>')
    out.append(f'<line x1="{left:.1f}" y1="30" x2="{left:.1f}" y2="210" stroke="{ORANGE}" stroke-dasharray="4 3"/>'
               f'<text x="{left + 4:.1f}" y="206" fill="{BLACK}">taper start</text>')
    thick = 12
    top, butt_x = 270, left + length * scale
    out.append(f'<text x="20" y="232" font-weight="bold">From the spine, thickness drawn {thick / scale:.0f} times too large</text>')
    x0 = 20
    half0, half1 = ricasso / 2 * thick, butt / 2 * thick
    out.append(f'<polygon fill="none" stroke="{GREY}" stroke-dasharray="4 3" points="{x0},{top - half0} {butt_x:.1f},{top - half0} '
               f'{butt_x:.1f},{top + half0} {x0},{top + half0}"/>')
    out.append(f'<polygon fill="#dde8ee" stroke="{BLACK}" points="{x0},{top - half0} {left:.1f},{top - half0} {butt_x:.1f},{top - half1} '
               f'{butt_x:.1f},{top + half1} {left:.1f},{top + half0} {x0},{top + half0}"/>')
    out.append(f'<text x="{x0 + 6}" y="{top + 4}">{ricasso:.2f} mm</text><text x="{butt_x - 60:.1f}" y="{top + 4}">{butt:.2f} mm</text>')
    out.append('<text x="20" y="322" font-weight="bold">Hottest estimate of each layer, roughing and finishing</text>')
    low, high = 20, summary["limit_degC"] + 15
    out.append(f'<line x1="60" y1="440" x2="810" y2="440" stroke="{BLACK}"/><line x1="60" y1="440" x2="60" y2="335" stroke="{BLACK}"/>')

    def chart(value):
        return 440 - (value - low) / (high - low) * 105

    out.append(f'<line x1="60" y1="{chart(summary["limit_degC"]):.1f}" x2="810" y2="{chart(summary["limit_degC"]):.1f}" stroke="{ORANGE}" stroke-width="2"/>'
               f'<text x="640" y="{chart(summary["limit_degC"]) - 4:.1f}">limit {summary["limit_degC"]:.0f} degC</text>')
    for side, colour, dash in (("a", BLUE, ""), ("b", GREEN, "6 3")):
        layers = [layer for setup in summary["setups"] if setup["side"] == side for layer in setup["layers"]]
        points = " ".join(f"{60 + 750 * (i + 0.5) / len(layers):.1f},{chart(l['peak_degC']):.1f}" for i, l in enumerate(layers))
        out.append(f'<polyline fill="none" stroke="{colour}" stroke-width="2" stroke-dasharray="{dash}" points="{points}"/>')
    out.append(f'<text x="70" y="458"><tspan fill="{BLUE}">side A, solid</tspan>   <tspan fill="{GREEN}">side B on packing, dashed</tspan></text>')
    for value in (50, 100, 150):
        out.append(f'<text x="30" y="{chart(value) + 4:.1f}">{value}</text>')
    out.append('<text x="560" y="458">layers, in the order of grinding</text></svg>')
    print("\n".join(out))


main(sys.argv[1], sys.argv[2])
