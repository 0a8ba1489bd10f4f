"""Works out anew, for every layer of a summary, how hot it gets and what it asks of spindle and fixture.

    python3 prove_heat.py EXPECTATIONS FOLDER NAME...

reads FOLDER/NAME/summary.json and the hand-written numbers in EXPECTATIONS. Prints one line for each side, and a
line that begins with FAULT for every layer above a limit or far from what the summary says. Exit status 1 then.

The flash is worked out at the layer's full depth. At the place that gets hottest the planner's may be lower, where
less stands above the layer (in the first, shortest layers above all), never higher; and no later layer may stay
cooler than 0.85 of the flash on top of the ambient. What earlier passes left in the tang is the planner's own.

Size effect: R. Snoeys, J. Peters, A. Decneut, CIRP Ann. 23(2), 1974. Partition: R. S. Hahn 1962, W. B. Rowe and
others, CIRP Ann. 44(1), 1995. Moving band: J. C. Jaeger 1942, its integral by adaptive quadrature. SI units.
"""
import functools
import json
import math
import os
import sys

from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.special import k0, k0e
from shapely.geometry import box

import knife_drawings


@functools.lru_cache(None)
def jaeger(peclet):
    """Largest value of Jaeger's integral over the band, from -peclet to +peclet."""
    def rise(x):
        return (quad(lambda s: math.exp(-s) * k0(s), 0, min(peclet + x, 300), limit=400)[0]
                + quad(k0e, 0, peclet - x, limit=400)[0])
    return -minimize_scalar(lambda x: -rise(x), method="bounded", bounds=(-peclet, 0), options={"xatol": 1e-9}).fun


def rise(cut, speed, wheel, steel, coolant, limit):
    """K above ambient, and power per width in W/m, at depth and table speed in m and m/s."""
    depth, table, band = cut
    conductivity, density, heat = steel["k"], steel["rho"], steel["c"]
    energy = max(wheel["u_min"], wheel["u"] * (0.1e-6 * speed / (depth * table)) ** wheel["n"]) * 1e9
    power = energy * depth * table
    chips = min(wheel["chips"] * 1e9, energy) * depth * table
    diffusivity = conductivity / (density * heat)
    unit = 2 * diffusivity / (math.pi * conductivity * table) * jaeger(table * band / (4 * diffusivity))
    share = 1 / (1 + 0.97 * wheel["grain_k"] / math.sqrt(conductivity * density * heat) / math.sqrt(wheel["grain_m"] * speed))
    flux = (power - chips) / band
    wet, dry = flux / (1 / (unit * share) + coolant["h"]), flux * unit * share
    return (wet if coolant["ambient"] + wet < coolant["boils"] or coolant["h"] == 0 else dry), power


def prove(name, setup, shared, folder, samples):
    wheel = dict(shared["wheels"][setup["wheel"]], **setup.get("wheel_differs", {}))
    hot, steel, coolant = (dict(shared["wheel heat"][setup["wheel"]], **setup.get("heat_differs", {})),
                           shared["steels"][setup["steel"]], shared["coolants"][setup["coolant"]])
    machine, fixture = shared["machines"][setup["machine"]], dict(shared["fixtures"][setup["fixture"]],
                                                                   **setup.get("fixture_differs", {}))
    tang = knife_drawings.knife(setup["drawing"], os.path.join(samples, name)).intersection(box(0, -1e3, 1e3, 1e3))
    holding = 0.15 / 2.0 * (fixture["clamp_N"] + fixture["pull_N_per_mm2"] * tang.area)
    limit = setup["limit_degC"]
    summary = json.load(open(os.path.join(folder, name, "summary.json")))
    speed = math.pi * wheel["diameter_mm"] * 1e-3 * summary["spindle_rpm"] / 60
    faults = []
    if speed > hot["marked_m_per_s"] or summary["spindle_rpm"] > machine["rpm_max"]:
        faults.append("%.2f m/s at %g rpm" % (speed, summary["spindle_rpm"]))
    if abs(summary["limit_degC"] - limit) > 0.01:
        faults.append("the limit is %g and not %g degC" % (limit, summary["limit_degC"]))
    tapers = (wheel, hot, speed)
    for side in summary["setups"]:
        hottest = 0.0
        wheel, hot, speed = tapers
        if side["stage"] == "relief" and "wheel" in setup["relief"]:
            wheel, hot = shared["wheels"][setup["relief"]["wheel"]], shared["wheel heat"][setup["relief"]["wheel"]]
            speed = math.pi * wheel["diameter_mm"] * 1e-3 * side["spindle_rpm"] / 60
            if speed > hot["marked_m_per_s"] or side["spindle_rpm"] > machine["rpm_max"]:
                faults.append("relief: %.2f m/s at %g rpm" % (speed, side["spindle_rpm"]))
        for number, layer in enumerate(side["layers"], 1):
            if layer["depth_mm"] == 0:
                continue
            depth, table = layer["depth_mm"] * 1e-3, layer["table_mm_per_s"] * 1e-3
            band = math.sqrt(depth * wheel["diameter_mm"] * 1e-3) if wheel["kind"] == "disc" else \
                (hot["edge_mm"] if setup["mount"] == "level" else hot["rim_mm"]) * 1e-3
            kelvin, power = rise((depth, table, band), speed, hot, steel, coolant, limit)
            if layer["lanes"] > 1:      # later lanes meet less stock beside them and may run faster, and hotter
                later = layer["later_mm_per_s"] * 1e-3
                kelvin = max(kelvin, rise((depth, later, band), speed, hot, steel, coolant, limit)[0])
            peak, watts = layer["peak_degC"], power * layer["engaged_mm"] * 1e-3
            hottest = max(hottest, peak)
            where = "side %s layer %d" % (side["side"], number)
            flash, edge, plate = layer["flash_K"], layer["edge_factor"], layer["plate_factor"]
            if flash > kelvin * (1 + 1e-6) or (number > 1 and peak < coolant["ambient"] + 0.85 * kelvin):
                faults.append("%s: a flash of %.4f K, and the summary says %.4f" % (where, kelvin, flash))
            if not (1.0 <= edge <= 2.0 and 0.99 <= plate <= 2.5 and layer["bulk_degC"] >= coolant["ambient"] - 1e-6):
                faults.append("%s: factors %.3f %.3f, bulk %.1f" % (where, edge, plate, layer["bulk_degC"]))
            whole = layer["bulk_degC"] + flash * edge * plate
            if layer["engaged_mm"] > 2 and abs(peak - whole) > 1e-3:    # a sliver is less than the plate's cells
                faults.append("%s: %.3f degC in parts, %.3f in all" % (where, whole, peak))
            if max(peak, coolant["ambient"] + kelvin) > limit + 1e-6:
                faults.append("%s: %.1f degC is above %.1f" % (where, peak, limit))
            if watts > machine["power_W"] * (1 + 1e-9) or watts > layer["power_W"] * (1 + 1e-6):
                faults.append("%s: %.1f W" % (where, watts))
            if watts / speed > holding or watts / speed > layer["force_N"] * (1 + 1e-6):
                faults.append("%s: pushes with %.1f N, held with %.1f" % (where, watts / speed, holding))
            if layer["depth_mm"] > wheel["max_infeed_mm"] + 1e-9 or table > machine["feed_max_m_per_s"] + 1e-9:
                faults.append("%s: deeper or faster than wheel and machine allow" % where)
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
