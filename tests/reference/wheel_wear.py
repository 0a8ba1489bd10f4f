"""How much of a wheel goes while it grinds, by the rules of docs/wheel-state.md and nothing else.

loss = V / (G A). G is that of low-alloy steel in plenty of coolant; a steel wears alumina so many times as fast, and a wheel
lasts 0.4 (alumina) or 0.25 (CBN) as long dry, the root of that under mist. A: the rim of a cup, in the level mount the ring
under a layer of the largest infeed; of a disc its periphery, as wide as it stands on the tang. Millimetres.
"""
import math

from shapely.geometry import box

STRIPS = 800
TOLERANCE = 0.04        # of the thickness, and by how much blanks differ: a job's defaults
BAND = 0.05
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


class Stock:
    """What stands over the finished face of one side, strip by strip; `raw`: see surveyed() of prove_program.py."""

    def __init__(self, setup, tang, raw=None):
        end, slope = tang.bounds[2], slope_of(setup, tang)
        self.strips = []
        for i in range(STRIPS):
            middle = (i + 0.5) * end / STRIPS
            over = slope * middle - setup["allowance_mm"] + (float(raw(middle)) - setup["T0_mm"] / 2 if raw else 0.0)
            self.strips.append((over, tang.intersection(box(i * end / STRIPS, -1e3, (i + 1) * end / STRIPS, 1e3)).area))

    def above(self, plane, thicker=0.0):
        return sum(max(0.0, over + thicker - plane) * area for over, area in self.strips)


def follows(setup, loss):
    """Whether a program goes lower by what the wheel has likely lost: where that is too much to be left standing."""
    taken = min(0.25 * setup.get("tolerance_mm", TOLERANCE) / 2.0, 0.4 * setup["flatness_mm"])
    return setup.get("parts", 1) == 1 and loss > taken


def band(setup):
    """By how much blanks may be thicker or thinner. Where a setup only says to what they are sorted, its ends are not ground."""
    return 0.0 if "survey" in setup else setup.get("band_mm", setup.get("sorted_mm", BAND))


def followed(setup, stock, bottoms, step, each):
    """By how much each layer lies lower: the loss when it is half ground, of the thinnest blank, in whole steps down."""
    thinner = 0.0 if setup.get("zero") == "ricasso" else -band(setup)
    done = [0.0] + [stock.above(bottom, thinner) for bottom in bottoms]
    return [step * math.floor((before + after) / 2.0 / each / step + 1e-6) for before, after in zip(done, done[1:])]


def high(setup, stock, step, each):
    """By how much the face of the blank as stated comes out high: what its wheel loses, less what is followed in the end. What
    stays on the face does not wear the wheel."""
    down, lifted = followed(setup, stock, [0.0, 0.0], step, each)[-1], 0.0
    for _ in range(20):
        lifted = max(0.0, stock.above(lifted) / each - down)
    return lifted
