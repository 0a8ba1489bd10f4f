"""Works out anew, for every layer of a summary, how hot it gets and what it asks of spindle and fixture.

    python3 prove_heat.py EXPECTATIONS FOLDER NAME...

reads FOLDER/NAME/summary.json and the hand-written numbers in EXPECTATIONS. Prints one line for each side, and a
line that begins with FAULT for every layer above a limit or far from what the summary says. Exit status 1 then.

The flash is worked out at the layer's full depth, and, where a program follows the wear of its wheel (wheel_wear.py), at as
much more as it goes down with that layer. A rim that is worn in cuts over rim_mm, in the level mount over no more than depth
over slope. At the front end of its lane a round wheel leaves steel to both sides of the middle, ahead of the taper start of
the thickest blank: the next layer may meet it too. At the place that gets hottest the planner's may be lower, where less
stands above the layer (in the first, shortest layers above all), never higher; and no later layer may stay cooler than 0.85
of the flash on top of the ambient. What earlier passes left in the tang is the planner's own.

Size effect: R. Snoeys, J. Peters, A. Decneut, CIRP Ann. 23(2), 1974. Partition: R. S. Hahn 1962, W. B. Rowe and
others, CIRP Ann. 44(1), 1995. Moving band: J. C. Jaeger 1942, its integral by adaptive quadrature. SI units.
"""
import functools
import json
import math
import os
import re
import sys

import numpy as np
from scipy.integrate import quad
from scipy.optimize import minimize, minimize_scalar
from scipy.special import k0, k0e
from shapely.affinity import scale
from shapely.geometry import LineString, Polygon, box

import knife_drawings
import prove_program
import wheel_wear


@functools.lru_cache(None)
def jaeger(peclet):
    """Largest value of Jaeger's integral over the band, from -peclet to +peclet."""
    def rise(x):
        return (quad(lambda s: math.exp(-s) * k0(s), 0, min(peclet + x, 300), limit=400)[0]
                + quad(k0e, 0, peclet - x, limit=400)[0])
    return -minimize_scalar(lambda x: -rise(x), method="bounded", bounds=(-peclet, 0), options={"xatol": 1e-9}).fun


CAP = 500.0     # no flash may come nearer than this to where steel hardens again, 727 degC


def temper(so_far, celsius, seconds):
    """Parameter of Hollomon and Jaffe, C = 20, in K: `so_far`, then so long at this temperature."""
    kelvin = celsius + 273.15
    hours = seconds / 3600.0 + (10.0 ** (so_far / kelvin - 20.0) if so_far else 0.0)
    return max(so_far, kelvin * (20.0 + math.log10(hours)))


def rise(cut, speed, wheel, steel, coolant, limit):
    """K above ambient, and power per width in W/m, at depth and table speed in m and m/s.

    The coolant's h holds in a contact 1.4 mm long at 30 m/s and goes as the root of speed over length (laminar film over a
    flat plate); over the whole width it takes no more than its "watts"."""
    depth, table, band, width = cut
    conductivity, density, heat = steel["k"], steel["rho"], steel["c"]
    energy = max(wheel["u_min"], wheel["u"] * (0.1e-6 * speed / (depth * table)) ** wheel["n"]) * 1e9
    power = energy * depth * table
    chips = min(wheel["chips"] * 1e9, energy) * depth * table
    diffusivity = conductivity / (density * heat)
    unit = 2 * diffusivity / (math.pi * conductivity * table) * jaeger(table * band / (4 * diffusivity))
    share = 1 / (1 + 0.97 * wheel["grain_k"] / math.sqrt(conductivity * density * heat) / math.sqrt(wheel["grain_m"] * speed))
    flux = (power - chips) / band
    film = coolant["h"] * math.sqrt(speed / 30 * 1.4e-3 / band)
    wet, dry = flux / (1 / (unit * share) + film), flux * unit * share
    wet = max(wet, dry - coolant.get("watts", math.inf) / (band * width) * unit * share)
    return (wet if coolant["ambient"] + wet < coolant["boils"] or coolant["h"] == 0 else dry), power, dry


STRIPS = 300
POLES_MM, GAP_MM = 10.0, 0.1        # the profiles say nothing of them: as docs/profile-reference.md has them


def thickness(setup, length, x, faces):
    """Of the tang at x with so many faces ground."""
    slope = (setup["T0_mm"] - setup["T1_mm"]) / (2 * length)
    return setup["T0_mm"] - faces * max(0.0, slope * x - setup["allowance_mm"])


def holding(setup, side, blank, tang, steel, fixture, wheel, solid, over_ground, hollowed):
    """Sideways force in N, `over_ground` where the face below was ground before, `hollowed` where it has its relief: friction 0.15 and safety 2 on what clamps and magnet press, strip by strip over pad and tang.
    Steel leads all flux down to 7/16 of the distance of poles; over a gap g the pull falls as (1 + g/0.1)^-2."""
    length = setup["L_mm"] or tang.bounds[2]
    faces = 2 if over_ground else 1
    pad = next(k["box"] for k in fixture["keep_outs"] if "datum" in k["name"])
    under = tang.union(blank.intersection(box(*pad)))
    relief = setup.get("relief")
    if hollowed:
        land = relief["land_mm"]
        inside = Polygon(tang.exterior).buffer(-land).intersection(box(max(land, relief.get("end_mm", 8.0)), -1e3, 1e3, 1e3))
        under = under.difference(inside)
    led = lambda t: min(1.0, t / (7 / 16 * POLES_MM)) ** 2
    pressed, places = 0.0, []
    for x, area, pieces in strips(under):
        gap = 0.0 if faces == 1 or x < 0 else setup["T0_mm"] - thickness(setup, length, x, 1)
        thin = led(thickness(setup, length, max(0.0, x), faces)) / led(setup["T0_mm"])
        share = thin / (1 + (0.0 if solid else gap) / GAP_MM) ** 2
        pressed += area * share
        each = fixture["pull_N_per_mm2"] * steel["magnetic"] * share
        places += [(px, py, each * of) for px, py, of in pieces] if each > 0.0 else []
    slides = 0.15 / 2.0 * (fixture["clamp_N"] + fixture["pull_N_per_mm2"] * steel["magnetic"] * pressed)
    if wheel["kind"] == "disc":     # it pushes along the tang
        return slides
    places += clamped(fixture, blank, side["side"] == "b")
    end = tang.bounds[2] - (relief["land_mm"] if relief and side["stage"] == "relief" else 0.0)
    return min(slides, turns(np.array(places), end, 0.15 * FORCE_RATIO[wheel["abrasive"]]) / 2.0)


CUT = {}     # one blank is held by several programs


def strips(under):
    """Middle, area and squares of each strip of what lies on pad and fixture."""
    if under.wkb not in CUT:
        left, right = under.bounds[0], under.bounds[2]
        step = (right - left) / STRIPS
        middles = [left + (i + 0.5) * step for i in range(STRIPS)]
        cut = [under.intersection(box(x - step / 2, -1e3, x + step / 2, 1e3)) for x in middles]
        CUT[under.wkb] = [(x, strip.area, squares(strip, 1.0)) for x, strip in zip(middles, cut)]
    return CUT[under.wkb]


SQUARE_MM = 2.0
FORCE_RATIO = {"cbn": 2.5, "alumina": 2.0}      # the least of normal over tangential, as the profiles' wheels have it


def squares(area, each):
    """x, y and force of the pieces of an area, in bands of SQUARE_MM across, pressed with so much on each mm2."""
    if area.is_empty or each <= 0.0:
        return []
    low, high = area.bounds[1], area.bounds[3]
    bands = [area.intersection(box(-1e3, low + i * SQUARE_MM, 1e3, low + (i + 1) * SQUARE_MM))
             for i in range(int((high - low) / SQUARE_MM) + 1)]
    return [(band.centroid.x, band.centroid.y, each * band.area) for band in bands if band.area > 0.0]


def clamped(fixture, blank, mirrored):
    """The same of the clamps, each of which takes as much: over what it has of the blank, or of a blade as wide as the tang is at
    its start where the drawing ends ahead of it."""
    boxes = [Polygon(k["polygon"]) if "polygon" in k else box(*k["box"]) for k in fixture["keep_outs"] if "clamp" in k["name"]]
    if mirrored:        # the blank is rolled over, the clamps stay: seen from the blank they are mirrored
        boxes = [scale(one, 1, -1, origin=(0, 0)) for one in boxes]
    start = blank.intersection(LineString([(0.5, -1e3), (0.5, 1e3)])).bounds
    seats = [seat for seat in (blank.intersection(one) for one in boxes) if seat.area > 0.0]
    if not seats:       # the drawing ends ahead of the clamps
        longer = box(-1e3, start[1], blank.bounds[0], start[3])
        seats = [seat for seat in (longer.intersection(one) for one in boxes) if seat.area > 0.0]
    places = []
    for seat in seats:
        left, right = seat.bounds[0], seat.bounds[2]
        for i in range(int((right - left) / SQUARE_MM) + 1):
            piece = seat.intersection(box(left + i * SQUARE_MM, -1e3, left + (i + 1) * SQUARE_MM, 1e3))
            places += squares(piece, fixture["clamp_N"] / len(seats) / seat.area)
    return places


def turns(places, end, helps):
    """The least push across at x = end that turns what is pressed at these places, friction 0.15, the wheel's own pressing taking a
    share `helps` of its push: over all centres, by a simplex from several of them. Upper-bound theorem of limit analysis."""
    x, y, force = places.T
    def push(centre):
        lever = abs(end - centre[0]) * (1.0 - helps)
        return 0.15 * float(force @ np.hypot(x - centre[0], y - centre[1])) / lever if lever > 1e-9 else 1e9
    tries = [minimize(push, (end - away, float(force @ y / force.sum())), method="Nelder-Mead",
                      options={"xatol": 1e-4, "fatol": 1e-6, "maxiter": 2000}).fun for away in (30.0, 100.0, 200.0, 400.0)]
    return min(tries)


def band_mm(setup, wheel, hot, tang, depth):
    """Length of contact at a depth in mm."""
    if wheel["kind"] == "disc":
        return math.sqrt(depth * wheel["diameter_mm"])
    return hot["rim_mm"] if setup["mount"] == "tilted" else min(hot["rim_mm"], depth / wheel_wear.slope_of(setup, tang))


def steps_down(setup, wheel, machine, steel, coolant, tang, raw, side, path):
    """By how much lower each layer of the first part lies than the one above beyond its depth, in mm: its program follows the
    wheel's wear."""
    each = wheel_wear.for_each_mm(setup, wheel, steel, coolant, tang)
    stock = wheel_wear.Stock(setup, tang, raw)
    if side["stage"] or not wheel_wear.follows(setup, stock.above(0.0) / each):
        return [0.0] * len(side["layers"])
    down = wheel_wear.followed(setup, stock, [layer["bottom_mm"] for layer in side["layers"]], machine["step_mm"], each,
                               wheel_wear.stays(path))
    return [after - before for before, after in zip([0.0] + down, down)]


def layers_of(path, machine):
    """The ways on which the wheel is fed in each layer of the first part: for each a list of pairs of x, y, setup frame."""
    layers, number, at, feeds, part, numbers = {}, None, {}, False, 1, wheel_wear.layer_numbers(path)
    axes = {machine[axis][-1]: (axis, -1.0 if machine[axis][0] == "-" else 1.0) for axis in ("along", "across", "up")}
    for line in open(path):
        number = ([numbers[int(first)] for first in re.findall(wheel_wear.FIRST_PASS, line)] or [number or 0])[0]
        part = int((re.findall(r"PART (\d+) OF", line) or [part])[0])
        line = re.sub(r"\([^()]*\)", "", line)
        for code in re.findall(r"G0?([01])\b", line):
            feeds = code == "1"
        words = [] if re.search(r"G0?4\b", line) else re.findall(r"([XYZ])(-?[0-9.]+)", line)
        before = dict(at)
        for letter, value in words:
            at[axes[letter][0]] = axes[letter][1] * float(value) * machine["unit_mm"]
        if words and feeds and part == 1 and len(before) == 3:
            layers.setdefault(number, []).append([(place["along"], place["across"]) for place in (before, at)])
    return layers


def jump_mm(setup, wheel, steel, coolant, tang, raw, side):
    """How much lower the wheel may stand at the end than is reckoned with, where it lasts as well as its range says and the program
    follows what is likely."""
    each, stock = wheel_wear.for_each_mm(setup, wheel, steel, coolant, tang), wheel_wear.Stock(setup, tang, raw)
    loss, parts = stock.above(0.0) / each, setup.get("parts", 1)
    if parts == 1 or side["stage"] or not wheel_wear.follows(setup, loss):
        return 0.0
    return parts * loss * (1.0 - wheel["ratio"] / wheel["ratio_most"])


def ahead_mm(setup, wheel, machine, blank, tang, side, path, jump):
    """For each layer the most that it meets over its own plane ahead of the taper start of the thickest blank, where the layer
    above has not been."""
    none, slope = [0.0] * len(side["layers"]), wheel_wear.slope_of(setup, tang)
    if wheel["kind"] == "disc" or "survey" in setup or setup.get("zero") == "ricasso" or side["stage"] == "relief":
        return none
    alpha = math.atan(slope) if setup["mount"] == "tilted" else 0.0
    thicker, radius = wheel_wear.band(setup) / math.cos(alpha) + jump, wheel["diameter_mm"] / 2
    begins, out = -(wheel_wear.band(setup) + jump) / slope, list(none)
    left = scale(blank, 1, -1 if side["side"] == "b" else 1, origin=(0, 0)).intersection(box(begins, -1e3, 0, 1e3))
    ways, sunk = layers_of(path, machine), setup["T0_mm"] * math.sin(alpha)
    for k in range(len(none)):
        bottom = side["layers"][k]["bottom_mm"] + setup["allowance_mm"]
        before = left
        for way in ways.get(k + 1, []):
            way = LineString([((x + sunk) / math.cos(alpha), y) for x, y in way])       # in the part's x
            if not left.is_empty and way.bounds[0] - radius < 0.0:
                left = left.difference(way.buffer(radius, 256))
        met = before.difference(left)
        if k > 0 and met.area > 0.0:
            out[k] = slope * met.bounds[2] + thicker - bottom
    return out


def prove(name, setup, shared, folder, samples):
    wheel = dict(shared["wheels"][setup["wheel"]], **setup.get("wheel_differs", {}))
    hot, steel, coolant = (dict(shared["wheel heat"][setup["wheel"]], **setup.get("heat_differs", {})),
                           shared["steels"][setup["steel"]], shared["coolants"][setup["coolant"]])
    machine, fixture = shared["machines"][setup["machine"]], dict(shared["fixtures"][setup["fixture"]],
                                                                   **setup.get("fixture_differs", {}))
    blank = knife_drawings.knife(setup["drawing"], os.path.join(samples, name))
    tang = blank.intersection(box(0, -1e3, 1e3, 1e3))
    limit = setup["limit_degC"]
    summary = json.load(open(os.path.join(folder, name, "summary.json")))
    speed = math.pi * wheel["diameter_mm"] * 1e-3 * summary["spindle_rpm"] / 60
    faults, equivalent = [], setup.get("equivalent", False)
    if summary["flash_limit"] != ("equivalent" if equivalent else "strict"):
        faults.append("the flashes are held to the %s limit" % summary["flash_limit"])
    if speed > hot["marked_m_per_s"] or summary["spindle_rpm"] > machine["rpm_max"]:
        faults.append("%.2f m/s at %g rpm" % (speed, summary["spindle_rpm"]))
    if abs(summary["limit_degC"] - limit) > 0.01:
        faults.append("the limit is %g and not %g degC" % (limit, summary["limit_degC"]))
    tapers, raw = (wheel, hot, speed), prove_program.surveyed(setup, samples, name)
    for i, side in enumerate(summary["setups"]):
        hottest, tempered = 0.0, 0.0
        below = any(s["side"] != side["side"] for s in summary["setups"][:i])
        grinds = shared["wheels"][setup["relief"]["wheel"]] if side["stage"] == "relief" and "wheel" in setup["relief"] else tapers[0]
        hollowed = any(s["side"] != side["side"] and s["stage"] == "relief" for s in summary["setups"][:i])
        solid = "survey" in setup or setup.get("packing") == "steel"
        held = holding(setup, side, blank, tang, steel, fixture, grinds, solid, below, hollowed)
        if side["side"] == "a" and side["stage"] == "roughing" and any(s["side"] == "b" for s in summary["setups"]):
            held = min(held, holding(setup, side, blank, tang, steel, fixture, grinds, solid, True, hollowed))     # run once more
        if side["holding"]["force_N"] > held * 1.01 or ("survey" not in setup and side["holding"]["force_N"] < held * 0.97):
            faults.append("side %s: held with %.2f N, and the summary says %.2f" % (side["side"], held, side["holding"]["force_N"]))
        wheel, hot, speed = tapers
        if side["stage"] == "relief" and "wheel" in setup["relief"]:
            wheel, hot = shared["wheels"][setup["relief"]["wheel"]], shared["wheel heat"][setup["relief"]["wheel"]]
            speed = math.pi * wheel["diameter_mm"] * 1e-3 * side["spindle_rpm"] / 60
            if speed > hot["marked_m_per_s"] or side["spindle_rpm"] > machine["rpm_max"]:
                faults.append("relief: %.2f m/s at %g rpm" % (speed, side["spindle_rpm"]))
        path = os.path.join(folder, name, side["program"])
        down = steps_down(setup, wheel, machine, steel, coolant, tang, raw.get(side["side"]), side, path)
        jump = jump_mm(setup, wheel, steel, coolant, tang, raw.get(side["side"]), side)
        ahead = ahead_mm(setup, wheel, machine, blank, tang, side, path, jump)
        for number, (layer, lower, met) in enumerate(zip(side["layers"], down, ahead), 1):
            if layer["depth_mm"] == 0:
                continue
            depth, table = layer["depth_mm"] * 1e-3, layer["table_mm_per_s"] * 1e-3
            band = band_mm(setup, wheel, hot, tang, layer["depth_mm"]) * 1e-3
            width = layer["engaged_mm"] * 1e-3
            kelvin, power, dry = rise((depth, table, band, width), speed, hot, steel, coolant, limit)
            if layer["lanes"] > 1:      # later lanes meet less stock beside them and may run faster, and hotter
                later = layer["later_mm_per_s"] * 1e-3
                faster = rise((depth, later, band, width), speed, hot, steel, coolant, limit)
                kelvin, dry = max(kelvin, faster[0]), max(dry, faster[2])
            if jump > 0.0 and number == 1:
                lower = machine["step_mm"]      # it may be no more than a sliver, which is stated with a step more
            deepest = max(depth + lower * 1e-3, met * 1e-3)
            if deepest > depth:
                longer = band_mm(setup, wheel, hot, tang, deepest * 1e3) * 1e-3
                fastest = max(table, layer["later_mm_per_s"] * 1e-3)
                deeper = rise((deepest, fastest, longer, width), speed, hot, steel, coolant, limit)
                most_wet, most_dry = max(kelvin, deeper[0]), max(dry, deeper[2])
            else:
                most_wet, most_dry = kelvin, dry
            # Near an edge, on a warm tang, the film may boil where it would not here; and over a cut wider than the layer's
            # mean a mist carries less off each millimetre.
            sliver = layer["boiling_room_K"] is None and coolant["h"] > 0     # no cell of the plate met it
            most = most_dry if layer["coolant_boiled"] or sliver or "watts" in coolant and coolant["watts"] < 10 else most_wet
            peak, watts = layer["peak_degC"], power * layer["engaged_mm"] * 1e-3
            hottest = max(hottest, peak)
            where = "side %s layer %d" % (side["side"], number)
            flash, edge, plate = layer["flash_K"], layer["edge_factor"], layer["plate_factor"]
            if flash > most * (1 + 1e-6) or (number > 1 and peak < coolant["ambient"] + 0.85 * kelvin):
                faults.append("%s: a flash of %.4f K, and the summary says %.4f" % (where, kelvin, flash))
            if not (1.0 <= edge <= 2.0 and 0.99 <= plate <= 2.5 and layer["bulk_degC"] >= coolant["ambient"] - 1e-6):
                faults.append("%s: factors %.3f %.3f, bulk %.1f" % (where, edge, plate, layer["bulk_degC"]))
            whole = layer["bulk_degC"] + flash * edge * plate
            if layer["engaged_mm"] > 2 and abs(peak - whole) > 1e-3:    # a sliver is less than the plate's cells
                faults.append("%s: %.3f degC in parts, %.3f in all" % (where, whole, peak))
            if max(peak, coolant["ambient"] + most_wet) > (CAP if equivalent else limit) + 1e-6:
                faults.append("%s: %.1f degC is above %.1f" % (where, peak, CAP if equivalent else limit))
            tempered = temper(tempered, layer["bulk_degC"] + flash, band / table)
            if watts > machine["power_W"] * (1 + 1e-9) or watts > layer["power_W"] * (1 + 1e-6):
                faults.append("%s: %.1f W" % (where, watts))
            if watts / speed > held or watts / speed > layer["force_N"] * (1 + 1e-6):
                faults.append("%s: pushes with %.1f N, held with %.1f" % (where, watts / speed, held))
            if deepest * 1e3 > wheel["max_infeed_mm"] + 1e-9 or table > machine["feed_max_m_per_s"] + 1e-9:
                faults.append("%s: deeper or faster than wheel and machine allow" % where)
        if equivalent and tempered > temper(0.0, limit, 4 * 3600.0):
            faults.append("side %s: its layers together temper the butt farther than 4 h at %g degC" % (side["side"], limit))
        if side["bulk_with_reserve_degC"] > limit:
            faults.append("side %s: the tang itself comes to %g degC" % (side["side"], side["bulk_with_reserve_degC"]))
        print("%-14s %s  hottest %6.2f degC of %5.1f" % (name, side["side"], hottest, limit))
    for fault in faults:
        print("FAULT %s: %s" % (name, fault))
    return not faults


def main():
    expectations, folder, names = sys.argv[1], sys.argv[2], sys.argv[3:]
    shared = json.load(open(expectations))
    samples = os.path.join(os.path.dirname(expectations), shared["folder"])
    good = [prove(name, shared["samples"][name], shared, folder, samples) for name in names]
    sys.exit(0 if all(good) else 1)


if __name__ == "__main__":
    main()
