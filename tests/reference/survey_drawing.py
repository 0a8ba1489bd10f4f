"""Draws docs/survey.svg: how a bowed blank is surveyed, packed and tilted. Heights are exaggerated.

Usage: survey_drawing.py > docs/survey.svg
"""
import math

STEPS = 12
START, END = 70.0, 160.0  # x of the taper start and the butt on the sheet
TAPER, BOW = 3.2, 7.0     # heights at the butt on the sheet
PACKED = (88, 106, 124, 142, 155)

HEAD = '''<svg xmlns="http://www.w3.org/2000/svg" width="180mm" height="192mm" viewBox="0 0 180 192" role="img" aria-labelledby="t d">
<title id="t">Survey and packing of a bowed blank</title>
<desc id="d">Three side views, heights exaggerated: reading side A over the plate with the ricasso on a parallel, the blank
packed with side A up, and packed with side B up on a sine plate.</desc>
<style>
text { font-family: sans-serif; font-size: 3.6px; fill: #000; }
.head { font-size: 4.4px; font-weight: bold; }
.steel { fill: #d9dde0; stroke: #000; stroke-width: 0.35; }
.rest { fill: #f3ead8; stroke: #000; stroke-width: 0.35; }
.shim { fill: #E69F00; stroke: #000; stroke-width: 0.25; }
.block { fill: #56B4E9; stroke: #000; stroke-width: 0.25; }
.off { fill: #D55E00; fill-opacity: 0.35; stroke: #D55E00; stroke-width: 0.25; stroke-dasharray: 1 0.7; }
.roll { fill: #fff; stroke: #000; stroke-width: 0.35; }
.line { stroke: #000; stroke-width: 0.3; fill: none; }
.centre { stroke: #0072B2; stroke-width: 0.35; stroke-dasharray: 4 1 1 1; fill: none; }
</style>
<rect width="180" height="192" fill="#fff"/>'''


def along(height):
    """Points of the tang's face whose height over the sheet's y at u = 0..1 is `height(u)`."""
    return [(START + (END - START) * i / STEPS, height(i / STEPS)) for i in range(STEPS + 1)]


def poly(points, kind):
    print(f'<polygon class="{kind}" points="{" ".join(f"{x:.2f},{y:.2f}" for x, y in points)}"/>')


def rect(kind, x, y, width, height):
    print(f'<rect class="{kind}" x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}"/>')


def line(x1, y1, x2, y2, kind="line"):
    print(f'<line class="{kind}" x1="{x1:.2f}" y1="{y1:.2f}" x2="{x2:.2f}" y2="{y2:.2f}"/>')


def text(x, y, words, anchor="start", kind=""):
    print(f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{" class=" + chr(34) + kind + chr(34) if kind else ""}>{words}</text>')


def blank(top, upper, lower):
    """Blade and ricasso 10 high, then the tang between two faces."""
    poly([(14, top), (START, top)] + along(lambda u: top + upper(u))
         + [(x, y) for x, y in reversed(along(lambda u: top + 10 + lower(u)))] + [(14, top + 10)], "steel")


def packing(level, gap):
    for x in PACKED:
        high = gap((x - START) / (END - START))
        rect("shim", x - 2.5, level - high, 5, high)


def bow(u):
    return -BOW * u * u


def survey():
    text(6, 9, "1  Survey: ricasso flat on a parallel, indicator over the tang", kind="head")
    rect("rest", 6, 54, 168, 6)
    text(12, 58.2, "surface plate")
    rect("block", 38, 48, 28, 6)
    text(52, 52.2, "parallel", "middle")
    blank(38, bow, bow)
    line(14, 43, 150, 43, "centre")
    text(16, 41.5, "blade")
    text(16, 46.8, "centre plane")
    text(52, 32, "ricasso, x below 0", "middle")
    text(78, 29.5, "tang, bowed towards side A")
    for x in (44, 54, 64, 82, 100, 118, 136, 154):
        y = 38 + bow(max(0.0, (x - START) / (END - START)))
        print(f'<circle cx="{x}" cy="{y:.2f}" r="0.8"/>')
    y = 38 + bow((136 - START) / (END - START))
    print(f'<circle class="roll" cx="136" cy="{y - 15:.2f}" r="5"/>')
    line(136, y - 10, 136, y - 0.8)
    line(136, y - 15, 138.6, y - 18)
    text(144, y - 14, "indicator")
    line(START, 49, START, 63.5)
    text(START, 67, "x = 0, taper start", "middle")
    text(172, 67, "x grows to the butt", "end")
    text(6, 73, "Set the indicator to zero on the ricasso. Read, roll the blank over about its length, read the other face.")


def side_a():
    text(6, 85, "2  Side A up: fill the gap under the bow, then hold", kind="head")
    rect("rest", 6, 113, 168, 8)
    text(12, 118.4, "magnet, level with the pad")
    rect("block", 64, 113, 6, 6)
    text(72, 118, "datum pad")
    blank(103, bow, bow)
    packing(113, lambda u: -bow(u))
    poly(along(lambda u: 103 + bow(u)) + along(lambda u: 103 + TAPER * u)[::-1], "off")
    line(14, 108, 168, 108, "centre")
    text(98, 94, "comes off side A", "middle")
    line(112, 95, 128, 101.5)
    text(172, 126, "packing: the gaps that straighten lists", "end")


def side_b():
    text(6, 138, "3  Side B up: side A, ground, no longer touches the rest", kind="head")
    turn = math.degrees(math.atan(TAPER / (END - START)))
    print(f'<g transform="rotate(-{turn:.3f} 20 176)">')
    rect("rest", 10, 166, 160, 7)
    text(14, 171, "sine plate")
    rect("block", 64, 166, 6, 5)
    blank(156, lambda u: -bow(u) * 0.15, lambda u: -TAPER * u)
    packing(166, lambda u: TAPER * u)
    poly(along(lambda u: 156 - bow(u) * 0.15) + along(lambda u: 156 + TAPER * u)[::-1], "off")
    for x in (20, 160):
        print(f'<circle class="roll" cx="{x}" cy="175.5" r="2.5"/>')
    print("</g>")
    rect("rest", 6, 178.5, 168, 5)
    right = 175.5 - 140 * math.sin(math.radians(turn)) + 2.5
    rect("block", 156, right, 8, 178.5 - right)
    text(152, 176.8, "gauge blocks: bar length × sin(angle)", "end")
    text(98, 147, "comes off side B", "middle")
    line(112, 148, 126, 154.4)
    text(6, 189, "Heights are drawn many times too large. The ground face comes to lie level, so passes run at one height.")


print(HEAD)
survey()
side_a()
side_b()
print("</svg>")
