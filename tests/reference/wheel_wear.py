"""How much of a wheel goes while it grinds, by the rules of docs/wheel-state.md and nothing else.

loss = V / (G A). G is that of low-alloy steel in plenty of coolant; a steel wears alumina so many times as fast, and a wheel
lasts 0.4 (alumina) or 0.25 (CBN) as long dry, the root of that under mist. A: the rim of a cup, in the level mount the ring
under a layer of the largest infeed; of a disc its periphery, as wide as it stands on the tang. Of several parts each meets a
wheel that was at the others before. Millimetres.
"""
import math
import re

import numpy as np
from shapely.geometry import box

STRIPS = 800
TOLERANCE = 0.04        # of the thickness, and by how much blanks differ: a job's defaults
BAND = 0.05
FIRST_PASS = r"\(PASS (\d+)(?:-\d+)? OF"
DRY = {"cbn": 0.25, "alumina": 0.4}


def slope_of(setup, tang):
    return (setup["T0_mm"] - setup["T1_mm"]) / (2.0 * (setup["L_mm"] or tang.bounds[2]))


def for_each_mm(setup, wheel, steel, coolant, tang):
    """G A in mm2: mm3 of steel that cost the wheel a millimetre."""
    abrasive = wheel["abrasive"]
    lasts = {"plenty": 1.0, "mist": math.sqrt(DRY[abrasive]), "dry": DRY[abrasive]}[coolant["wear"]]
    ratio = wheel["ratio"] * lasts / (steel["wear"] if abrasive == "alumina" else 1.0)
    if wheel["kind"] == "disc":
        return ratio * math.pi * wheel["diameter_mm"] * min(wheel["width_mm"], tang.bounds[3] - tang.bounds[1])
    ring = wheel["rim_mm"]
    if setup["mount"] == "level":
        ring = min(ring, wheel["max_infeed_mm"] / slope_of(setup, tang))
    return ratio * math.pi * (wheel["diameter_mm"] - ring) * ring


AREAS = {}     # both sides and all operations grind one tang


def strip_areas(tang):
    if tang.wkb not in AREAS:
        end = tang.bounds[2]
        AREAS[tang.wkb] = np.array([tang.intersection(box(i * end / STRIPS, -1e3, (i + 1) * end / STRIPS, 1e3)).area
                                    for i in range(STRIPS)])
    return AREAS[tang.wkb]


class Stock:
    """What stands over the finished face of one side, strip by strip; `raw`: see surveyed() of prove_program.py."""

    def __init__(self, setup, tang, raw=None):
        end, slope = tang.bounds[2], slope_of(setup, tang)
        over, area = np.empty(STRIPS), strip_areas(tang)
        for i in range(STRIPS):
            middle = (i + 0.5) * end / STRIPS
            over[i] = slope * middle - setup["allowance_mm"] + (float(raw(middle)) - setup["T0_mm"] / 2 if raw else 0.0)
        self.over, self.area = over, area

    def above(self, plane, thicker=0.0):
        return float(np.maximum(0.0, self.over + thicker - plane) @ self.area)


def follows(setup, loss):
    """Whether a program goes lower by what the wheel has likely lost: where that is too much to be left standing."""
    taken = min(0.25 * setup.get("tolerance_mm", TOLERANCE) / 2.0, 0.4 * setup["flatness_mm"])
    return setup.get("parts", 1) * loss > taken


def layer_numbers(path):
    """Of the first pass of each layer, as the program tells it: the layer's number, from 1."""
    return {first: i + 1 for i, first in enumerate(sorted({int(first) for first in re.findall(FIRST_PASS, open(path).read())}))}


def stays(path):
    """The first layer, from 0, of each stay of the wheel at the first part."""
    first, part, comes, numbers = [], 1, True, layer_numbers(path)
    for line in open(path):
        comes |= re.search(r"\(PART 1 OF", line) is not None
        part = int((re.findall(r"\(PART (\d+) OF", line) or [part])[0])
        layer = [numbers[int(first_pass)] for first_pass in re.findall(FIRST_PASS, line)]
        if comes and part == 1 and layer:
            first, comes = first + [layer[0] - 1], False
    return first


def band(setup):
    """By how much blanks may be thicker or thinner. Where a setup only says to what they are sorted, its ends are not ground."""
    return 0.0 if "survey" in setup else setup.get("band_mm", setup.get("sorted_mm", BAND))


def followed(setup, stock, bottoms, step, each, starts, part=0):
    """By how much each layer lies lower: the loss when it is half ground, of the thinnest blanks, in whole steps down; and whole
    steps down for what those before it in the round have cost in this stay."""
    thinner = 0.0 if setup.get("zero") == "ricasso" else -band(setup)
    done, out = [0.0] + [stock.above(bottom, thinner) for bottom in bottoms], []
    for layer in range(len(bottoms)):
        first = max(start for start in starts if start <= layer)
        after = min([start for start in starts if start > layer] + [len(bottoms)])
        loss = ((done[layer] + done[layer + 1]) / 2.0 + (setup.get("parts", 1) - 1) * done[first]) / each
        extra = part * (done[after] - done[first]) / each
        out.append(step * (math.floor(loss / step + 1e-6) + math.floor(extra / step + 1e-6)))
    return out


def high(setup, stock, bottoms, step, each, starts, part):
    """By how much the face of the blank as stated comes out high: what its wheel loses, less what is followed in the end. What
    stays on the face does not wear the wheel."""
    down, lifted, parts = followed(setup, stock, bottoms, step, each, starts, part)[-1], 0.0, setup.get("parts", 1)
    for _ in range(20):
        done = [0.0] + [stock.above(max(bottom, lifted)) for bottom in bottoms]
        taken = done[-1] + part * (done[-1] - done[starts[-1]]) + (parts - 1) * done[starts[-1]]
        lifted = max(0.0, taken / each - down)
    return lifted
