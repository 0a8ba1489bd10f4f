"""Makes up legal jobs at random, has each planned, and judges the answer without the planner's own formulas.

    python3 random_jobs.py TANGWRIGHT FOLDER SEED FIRST COUNT

Job number i of a seed is always the same one and stands in FOLDER/SEED-i. A plan must satisfy prove_program.py, the
dry-run and the summary's contract; a refusal must be one sentence that is true: with what it names out of the way the
job plans, or is refused for something else. Prints one line for each job, and FAULT with what is wrong. Exit status 1
when anything was.
"""
import copy
import hashlib
import json
import math
import os
import random
import re
import resource
import subprocess
import sys

import numpy as np
from shapely.geometry import Point, box

import prove_program
import random_shapes
from random_shapes import UNITS, length

SLOWEST_S = 5.0         # of processor time, for one plan; sanitizers are allowed SANITIZED times that
SANITIZED = 12.0
LETTERS = "XYZ"
OFFSETS = ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]


# ---- making up ----

def right_handed(rng):
    """Signed letters of along, across, up."""
    while True:
        order = rng.sample(range(3), 3)
        signs = [rng.choice([1, -1]) for _ in order]
        matrix = np.zeros((3, 3))
        for row, (column, sign) in enumerate(zip(order, signs)):
            matrix[row][column] = sign
        if np.linalg.det(matrix) > 0:
            return [("-" if sign < 0 else "") + LETTERS[column] for column, sign in zip(order, signs)]


def make_machine(rng, cup):
    inch = rng.random() < 0.35
    decimals = rng.choice([3, 4, 4, 5]) if inch else rng.choice([2, 3, 4, 4, 5])
    last = 10.0 ** -decimals * (25.4 if inch else 1.0)
    letters = rng.choice([["X", "Y", "Z"], ["X", "-Z", "Y"], right_handed(rng), right_handed(rng)])
    feed_max = rng.choice([3000.0, 8000.0, 25000.0])
    return {
        "cup": cup, "inch": inch, "decimals": decimals, "last": last, "letters": letters,
        "step": max(last, rng.choice([0.0005, 0.001, 0.001, 0.00254, 0.005])),
        "feed_min": rng.choice([5.0, 20.0, 60.0]), "feed_max": feed_max, "feed_decimals": rng.choice([1, 2, 3]),
        "overhang": rng.uniform(15.0, 80.0), "nose": rng.uniform(10.0, 70.0), "power": rng.choice([300.0, 750.0, 1200.0, 4000.0]),
        "programmable": rng.random() < 0.7, "direction": rng.choice(["clockwise", "counterclockwise"]),
        "rapid": [rng.uniform(1.0, 25.0) for _ in range(3)], "acceleration": [rng.uniform(100.0, 3000.0) for _ in range(3)],
        "half_travel": rng.choice([1500.0, 1500.0, 1500.0, rng.uniform(225.0, 600.0)]),
        "dwell": rng.choice(["P seconds", "P milliseconds", "X seconds"]), "path": rng.choice(["unset", "G61", "G61.1", "G64"]),
        "numbers": rng.random() < 0.4, "percent": rng.random() < 0.3, "returns": rng.random() < 0.3,
        "two_digits": rng.random() < 0.3, "comments": rng.random() < 0.85, "end": rng.choice(["M2", "M30"]),
        "plane": rng.random() < 0.8,
    }


def make_wheel(rng, cup, machine):
    diameter = rng.choice([rng.uniform(40.0, 120.0), rng.uniform(60.0, 200.0)]) if cup else rng.uniform(60.0, 350.0)
    if cup and rng.random() < 0.3:
        diameter = rng.uniform(4.0, 25.0)                       # a mounted point
    rim = diameter / 2.0001 if diameter < 26.0 else rng.uniform(0.05, 0.5) * diameter
    largest = max(machine["step"], rng.choice([0.01, 0.01, 0.02, 0.05]))
    sharp = rng.random() < 0.7
    return {
        "kind": "cup" if cup else "disc", "diameter": diameter, "width": rng.uniform(10.0, 40.0) if cup else rng.uniform(3.0, 30.0),
        "rim": rim, "speed": rng.uniform(10.0, 14.0 if diameter < 12.0 else 30.0), "min_infeed": rng.choice([0.0005, 0.001]), "max_infeed": largest,
        "crossfeed": rng.choice([0.3, 0.5, 0.8, 1.0, rng.uniform(0.15, 1.0)]),
        "grain": 240.0 if sharp else 35.0, "energy": 30.0 if sharp else 45.0,
        "rim_contact": rng.choice([None, min(rim * 0.9999, 3.0)]), "rim_state": "fresh" if int(diameter * 1e3) % 4 == 0 else "worn-in",
    }


STEELS = [("52100", 37.0, 7810.0, 475.0), ("1095", 40.0, 7830.0, 480.0), ("D2", 20.5, 7700.0, 470.0), ("13Cr", 24.0, 7700.0, 470.0)]
COOLANTS = [("flood", 290000.0, 120.0, 2400.0, 8000.0), ("mist", 25000.0, 300.0, 300.0, 1500.0), ("dry", 0.0, 300.0, 20.0, 1500.0),
            ("flood", 23000.0, 300.0, 1000.0, 8000.0)]


def make_taper(rng, polygon):
    far = polygon.bounds[2]
    ricasso = rng.uniform(1.6, 6.5)
    smallest = rng.uniform(0.3, 1.0)
    butt = rng.uniform(max(smallest, ricasso * 0.35), ricasso * 0.95)
    butt = min(butt, ricasso - 0.02)
    taper = {"ricasso": ricasso, "butt": butt, "smallest": smallest, "length": None}
    if rng.random() < 0.4 and far >= 5.0:
        least = (ricasso - butt) * far / (ricasso - smallest)   # of the length, so that the end stays thick enough
        taper["length"] = min(500.0, max(5.0, least + 0.01, rng.choice([0.85, 0.95, 1.0, 1.1, 1.6]) * far))
    return taper


def finish_of(rng, machine, wheel, taper):
    stock = (taper["ricasso"] - taper["butt"]) / 2.0
    return {
        "flatness": max(machine["last"], rng.choice([0.005, 0.01, 0.01, 0.02, 0.05, 0.2])),
        "allowance": rng.choice([0.0, 0.0, min(0.05, 0.3 * stock), 0.5 * stock]),
        "infeed": min(wheel["max_infeed"], max(machine["step"], wheel["min_infeed"], rng.choice([0.002, 0.005, 0.01]))),
        "layers": rng.choice([0, 1, 2, 2, 4]), "spark_out": rng.choice([0, 1, 1, 3]),
    }


def keep_outs_of(rng, polygon, taper, clearance):
    """What may stand about: never inside the steel."""
    x1, low, high = polygon.bounds[2], polygon.bounds[1], polygon.bounds[3]
    slope = (taper["ricasso"] - taper["butt"]) / 2.0 / (taper["length"] or x1)
    thin = taper["ricasso"] - 2.0 * slope * x1
    out = []

    def add(kind, plan, top):
        out.append(dict(plan, name="%s %d" % (kind, len(out) + 1), kind=kind, top=top))

    if rng.random() < 0.8:
        add("pad", {"box": [-rng.uniform(20.0, 40.0), -25.0, -rng.uniform(1.0, 3.0), 25.0]}, 0.0)
    if rng.random() < 0.5:                                      # a clamp ahead
        front = -rng.choice([rng.uniform(3.0, 30.0), rng.uniform(30.0, 90.0), rng.uniform(60.0, 160.0)])
        add("clamp", {"box": [front - 16.0, -40.0, front, 40.0]}, rng.choice([thin - clearance, 5.0, 10.0, 15.0, 40.0]))
    if rng.random() < 0.25:                                     # an end stop behind the butt
        at = x1 + rng.choice([rng.uniform(3.5, 8.0), rng.uniform(20.0, 150.0)])
        add("pin", {"circle": [at, rng.uniform(-0.5, 0.5) * (high - low), 6.0]}, rng.choice([thin * 0.5, 2.0, 6.0]))
    if rng.random() < 0.3:                                      # beside the tang
        side, gap = rng.choice([-1.0, 1.0]), rng.choice([rng.uniform(0.5, 5.0), rng.uniform(5.0, 60.0)])
        at, edge = rng.uniform(-0.3, 1.2) * x1, high if rng.random() < 0.5 else -low
        corners = sorted([side * (edge + gap), side * (edge + gap + 10.0)])
        plan = {"box": [at, corners[0], at + rng.uniform(3.0, 30.0), corners[1]]}
        if rng.random() < 0.3:
            plan = {"polygon": [[at, side * (edge + gap)], [at + 20.0, side * (edge + gap + 3.0)], [at + 8.0, side * (edge + gap + 20.0)]]}
        add("body", plan, rng.choice([thin * 0.5, thin - clearance - 0.1, 3.0, 8.0, 30.0]))
    for ring in polygon.interiors:                              # pins in holes
        inside = random_shapes.Polygon(ring)
        at = inside.representative_point()
        room = at.distance(ring) if hasattr(at, "distance") else 0.0
        if rng.random() < 0.3 and room > 1.0:
            add("pin", {"circle": [at.x, at.y * rng.choice([1.0, 1.0]), room]}, rng.choice([thin - clearance - 0.5, thin * 0.4]))
    if rng.random() < 0.1:
        add("pin", {"circle": [rng.uniform(-90.0, -20.0), rng.uniform(-30.0, 30.0), 6.0]}, rng.choice([1.0, 2.0, 6.0]))
    return out


def fixture_of(rng, polygon, taper, machine):
    clearance = rng.choice([0.5, 1.0, 2.0, 2.0, 5.0])
    places = rng.choice([1, 1, 1, 1, 2, 3])
    wide = polygon.bounds[3] - polygon.bounds[1]
    long = polygon.bounds[2] - polygon.bounds[0]
    step = np.array([0.0, 0.0, 0.0])
    step[rng.choice([1, 1, 0])] = 1.0
    step *= rng.choice([-1.0, 1.0]) * (long if step[0] else wide) * rng.choice([1.2, 2.0, 3.0]) + rng.choice([10.0, 100.0, 250.0])
    at = np.array([rng.uniform(-60.0, 0.0), rng.uniform(-50.0, 50.0), -220.0])
    stations = []
    for name in sorted(rng.sample(OFFSETS, places), key=OFFSETS.index if rng.random() < 0.7 else lambda n: rng.random()):
        stations.append((name, list(np.round(at, 4))))
        at = at + step + [0.0, 0.0, rng.choice([0.0, 0.0, 3.0, -3.0, 40.0, -40.0])]
    force = rng.random()
    return {
        "clearance": clearance, "clamp": rng.choice([300.0, 1500.0, 5000.0]) if force < 0.7 else 0.0,
        "pull": rng.choice([20.0, 60.0]) if force > 0.4 else 0.0, "friction": rng.choice([0.15, 0.2, 0.3]),
        "safety": rng.choice([1.5, 2.0, 3.0]), "keep_outs": keep_outs_of(rng, polygon, taper, clearance), "stations": stations,
    }


def make_case(rng, folder):
    polygon = random_shapes.shape(rng)
    cup = rng.random() < 0.55
    machine = make_machine(rng, cup)
    wheel = make_wheel(rng, cup, machine)
    taper = make_taper(rng, polygon)
    fixture = fixture_of(rng, polygon, taper, machine)
    steel, coolant = rng.choice(STEELS), rng.choice(COOLANTS)
    clear = rng.choice([1.5, 5.0, 25.0, 60.0])
    return {
        "polygon": polygon, "drawing": random_shapes.draw(rng, polygon, folder), "machine": machine, "wheel": wheel,
        "taper": taper, "finish": finish_of(rng, machine, wheel, taper), "fixture": fixture, "steel": steel, "coolant": coolant,
        "tempering": rng.choice([180.0, 200.0, 230.0, 260.0, 500.0]), "margin": rng.choice([10.0, 25.0]),
        "mount": rng.choice(["level", "tilted"]), "parts": rng.randint(1, len(fixture["stations"])),
        "clear": clear, "approach": min(clear, rng.choice([0.2, 1.0, 5.0])), "overtravel": rng.choice([0.0, 1.0, 2.0, 10.0]),
        "units": rng.getrandbits(32),
    }


# ---- the job as a person writes it ----

def word(flag):
    return "true" if flag else "false"


def machine_text(rng, m, rpm):
    axes = ""
    for i, name in enumerate(("along", "across", "up")):
        axes += '    %s: { letter = "%s"; travel_min = "%.9g mm"; travel_max = "%.9g mm"; rapid = "%.9g m/min"; acceleration = ' \
                '"%.9g mm/s2"; };\n' % (name, m["letters"][i], -m["half_travel"], m["half_travel"], m["rapid"][i], m["acceleration"][i])
    return """name = "made-up machine";
feed_min = "%.9g mm/min"; feed_max = "%.9g mm/min"; smallest_step = "%.9g mm"; wheel_overhang = %s;
spindle: { axis = "%s"; power = "%.9g W"; min_speed = "%.9f rpm"; max_speed = "%.9f rpm"; programmable = %s; direction = "%s";
           up_to_speed = "5 s"; nose_diameter = %s; };
axes: {
%s};
program: { unit = "%s"; length_decimals = %d; feed_decimals = %d; line_numbers = %s; percent_lines = %s; carriage_returns = %s;
           two_digit_codes = %s; comments = %s; path_mode = "%s"; dwell = "%s"; end_code = "%s"; select_plane = %s; };
""" % (m["feed_min"], m["feed_max"], m["step"], length(rng, m["overhang"]), "vertical" if m["cup"] else "horizontal", m["power"],
       rpm if not m["programmable"] else 10.0, rpm if not m["programmable"] else 90000.0, word(m["programmable"]), m["direction"],
       length(rng, m["nose"]), axes, "inch" if m["inch"] else "mm", m["decimals"], m["feed_decimals"], word(m["numbers"]),
       word(m["percent"]), word(m["returns"]), word(m["two_digits"]), word(m["comments"]), m["path"], m["dwell"], m["end"],
       word(m["plane"]))


def wheel_text(rng, w):
    text = """name = "made-up wheel"; kind = "%s"; diameter = %s; width = %s; operating_speed = "60 m/s"; speed = "%.9g m/s";
min_infeed = %s; max_infeed = %s; max_crossfeed = %.9g; customary_table_speed = "100 mm/s";
grain_conductivity = "%.9g W/mK"; grain_radius = "15 um"; specific_energy = "%.9g J/mm3"; size_exponent = 0.4;
""" % (w["kind"], length(rng, w["diameter"]), length(rng, w["width"]), w["speed"], length(rng, w["min_infeed"]),
       length(rng, w["max_infeed"]), w["crossfeed"], w["grain"], w["energy"])
    if w["kind"] == "cup":
        text += 'rim_width = "%.12g mm"; rim_state = "%s";\n' % (w["rim"], w["rim_state"])
        if w["rim_contact"]:
            text += 'rim_contact = "%.12g mm";\n' % w["rim_contact"]
    return text


def fixture_text(rng, f, letters):
    keep_outs = []
    for k in f["keep_outs"]:
        if "polygon" in k:
            plan = "polygon = (%s)" % ", ".join("[%s, %s]" % (length(rng, x), length(rng, y)) for x, y in k["polygon"])
        else:
            kind = "box" if "box" in k else "circle"
            plan = "%s = [%s]" % (kind, ", ".join(length(rng, v) for v in k[kind]))
        keep_outs.append('    { name = "%s"; kind = "%s"; %s; top = %s; }' % (k["name"], k["kind"], plan, length(rng, k["top"])))
    stations = ['    { offset = "%s"; along = %s; across = %s; up = %s; }' % (name, *(length(rng, v) for v in at))
                for name, at in f["stations"]]
    return """name = "made-up fixture"; clearance = %s; clamp_force = "%.9g N"; pull = "%.9g N/cm2"; friction = %.9g; holding_safety = %.9g;
keep_outs = (
%s
);
stations = (
%s
);
""" % (length(rng, f["clearance"]), f["clamp"], f["pull"], f["friction"], f["safety"], ",\n".join(keep_outs), ",\n".join(stations))


def write_case(case, folder):
    rng = random.Random(case["units"])
    w, t, f = case["wheel"], case["taper"], case["finish"]
    rpm = w["speed"] * 60000.0 / (math.pi * w["diameter"])
    texts = {
        "machine": machine_text(rng, case["machine"], rpm), "wheel": wheel_text(rng, w),
        "fixture": fixture_text(rng, case["fixture"], case["machine"]["letters"]),
        "steel": 'name = "%s"; conductivity = "%g W/mK"; density = "%g kg/m3"; specific_heat = "%g J/kgK"; '
                 'tempering_temperature = "200 degC";\n' % case["steel"],
        "coolant": 'name = "made-up"; kind = "%s"; contact_conductance = "%g W/m2K"; boiling_temperature = "%g degC"; '
                   'surface_conductance = "%g W/m2K"; joint_conductance = "%g W/m2K";\n' % case["coolant"],
    }
    job = 'name = "made up";\n' + case["drawing"]
    job += "taper: { ricasso_thickness = %s; butt_thickness = %s; smallest_thickness = %s;%s };\n" % (
        length(rng, t["ricasso"]), length(rng, t["butt"]), length(rng, t["smallest"]),
        " length = %s;" % length(rng, t["length"]) if t["length"] else "")
    job += 'mount = "%s";\norder = "a-then-b";\nparts = %d;\n' % (case["mount"], case["parts"])
    job += "finish: { flatness = %s; allowance = %s; infeed = %s; layers = %d; spark_out = %d; };\n" % (
        length(rng, f["flatness"]), length(rng, f["allowance"]), length(rng, f["infeed"]), f["layers"], f["spark_out"])
    job += 'heat: { tempering_temperature = "%g degC"; margin = "%g K"; };\n' % (case["tempering"], case["margin"])
    job += "travel: { clear_height = %s; approach = %s; overtravel = %s; };\n" % (
        length(rng, case["clear"]), length(rng, case["approach"]), length(rng, case["overtravel"]))
    for name, text in texts.items():
        job += '%s: { profile = "%s.cfg"; };\n' % (name, name)
        with open(os.path.join(folder, name + ".cfg"), "w") as file:
            file.write(text)
    with open(os.path.join(folder, "job.cfg"), "w") as file:
        file.write(job)


# ---- what the proof has to know ----

def setup_of(case):
    m, w, t, f = case["machine"], case["wheel"], case["taper"], case["fixture"]
    letters = m["letters"]
    tang = case["polygon"].intersection(box(0.0, -1e3, 1e3, 1e3))
    setup = {
        "T0_mm": t["ricasso"], "T1_mm": t["butt"], "L_mm": t["length"], "smallest_mm": t["smallest"], "mount": case["mount"],
        "allowance_mm": case["finish"]["allowance"], "flatness_mm": case["finish"]["flatness"],
        "machine": {"unit_mm": 25.4 if m["inch"] else 1.0, "decimals": m["decimals"], "along": letters[0], "across": letters[1],
                    "up": letters[2], "dwell": "ms" if m["dwell"] == "P milliseconds" else "s", "blends": m["path"] == "G64"},
        "wheel": {"kind": w["kind"], "diameter_mm": w["diameter"], "width_mm": w["width"], "rim_mm": w["rim"],
                  "max_infeed_mm": max(w["max_infeed"], m["step"])},
        "nose_mm": m["nose"], "overhang_mm": m["overhang"],
        "keep_outs": [dict(k, top_mm=k["top"]) for k in f["keep_outs"]], "clearance_mm": f["clearance"],
        "stations": dict(f["stations"][:case["parts"]]),
        "signs": np.array([-1.0 if letter[0] == "-" else 1.0 for letter in letters]),
        "rapid_mm_per_s": np.array(m["rapid"]) * 1000.0 / 60.0, "acceleration_mm_per_s2": np.array(m["acceleration"]),
        "grid_mm": min(0.8, max(0.05, math.sqrt(tang.area / 9000.0))), "rough": True,
    }
    return setup


# ---- running ----

class Answer:
    def __init__(self, status, out, err, seconds):
        self.status, self.out, self.err, self.seconds = status, out, err, seconds


def run(program, *words, cwd=None):
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    try:
        done = subprocess.run([program, *words], capture_output=True, text=True, timeout=180, cwd=cwd)
        status, out, err = done.returncode, done.stdout, done.stderr
    except subprocess.TimeoutExpired:
        status, out, err = -99, "", "hangs"
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return Answer(status, out, err, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def complaints(answer):
    return [line for line in answer.err.splitlines() if not line.startswith("note: ")]


KEYS = {"format": str, "job": str, "limit_degC": float, "peak_degC": float, "pass_count": int, "cycle_time_s": float,
        "removed_mm3": float, "removed_g": float, "setups": list}
SETUP_KEYS = {"side": str, "program": str, "mount": str, "tilt_rad": float, "finish_height_mm": float, "pass_count": int,
              "layer_count": int, "cut_time_s": float, "cycle_time_s": float, "peak_degC": float, "layers": list}
LAYER_KEYS = {"depth_mm": float, "table_mm_per_s": float, "lanes": int, "peak_degC": float, "binding_limit": str}


def expect_keys(thing, keys, what, faults):
    for key, kind in keys.items():
        if key not in thing or not isinstance(thing[key], (int, float) if kind is float else kind):
            faults.append("the summary's %s has no sound %s" % (what, key))


def judge_summary(case, setup, summary, passes, faults):
    expect_keys(summary, KEYS, "object", faults)
    slope = setup["slope"]
    alpha = math.atan(slope) if case["mount"] == "tilted" else 0.0
    height = (setup["T0_mm"] * math.cos(alpha)) + setup["allowance_mm"]
    limit = case["tempering"] - case["margin"]

    def same(what, said, right, slack):
        if abs(said - right) > slack:
            faults.append("the summary's %s is %.9g and not %.9g" % (what, said, right))

    same("limit_degC", summary["limit_degC"], limit, 1e-6)
    same("removed_g", summary["removed_g"], summary["removed_mm3"] * case["steel"][2] * 1e-6, 1e-6 * summary["removed_g"])
    same("pass_count", summary["pass_count"], sum(passes), 0)
    same("cycle_time_s", summary["cycle_time_s"], sum(s["cycle_time_s"] for s in summary["setups"]), 1e-6 * summary["cycle_time_s"])
    if [s["side"] for s in summary["setups"]] != ["a", "b"]:
        faults.append("the setups are not side a and side b")
    for side, counted in zip(summary["setups"], passes):
        expect_keys(side, SETUP_KEYS, "setup", faults)
        same("tilt_rad", side["tilt_rad"], alpha, 1e-8)
        same("finish_height_mm", side["finish_height_mm"], height, 1e-6)
        same("pass_count of a side", side["pass_count"], counted, 0)
        same("layer_count", side["layer_count"], len(side["layers"]), 0)
        for layer in side["layers"]:
            expect_keys(layer, LAYER_KEYS, "layer", faults)
            if layer["peak_degC"] > limit + 1e-6:
                faults.append("a layer reaches %.2f degC and the limit is %.2f" % (layer["peak_degC"], limit))
            if layer["table_mm_per_s"] > case["machine"]["feed_max"] / 60.0 * (1 + 1e-9):
                faults.append("a layer at %.3f mm/s is faster than the machine" % layer["table_mm_per_s"])
        spark = [layer for layer in side["layers"] if layer["depth_mm"] == 0]
        if len(spark) != case["finish"]["spark_out"]:
            faults.append("%d layers of spark-out" % len(spark))
        deepest = max(case["wheel"]["max_infeed"], case["machine"]["step"])
        if any(layer["depth_mm"] > deepest * (1 + 1e-9) for layer in side["layers"]):
            faults.append("a layer deeper than the wheel's largest infeed")


def judge_plan(case, program, folder, name, faults):
    setup = setup_of(case)
    where = os.path.join(folder, name)
    found = []
    passes = prove_program.prove_outline(name, setup, case["polygon"], folder, found)
    faults += found
    summary = json.load(open(os.path.join(where, "summary.json")))
    judge_summary(case, setup, summary, passes, faults)
    dry = run(program, "dry-run", os.path.join(where, "job.cfg"), os.path.join(where, "side-a.nc"), os.path.join(where, "side-b.nc"))
    if dry.status != 0:
        lines = [line.strip() for line in dry.out.splitlines() if line.startswith("  FAIL")] + complaints(dry)
        faults.append("dry-run exits %d: %s" % (dry.status, " / ".join(lines)[:400]))
    return summary


# ---- refusals ----

def without(case, name):
    case["fixture"]["keep_outs"] = [k for k in case["fixture"]["keep_outs"] if k["name"] != name]


def relaxed(case, sentence):
    """The case with what the sentence names out of the way; None when it names nothing known."""
    other = copy.deepcopy(case)
    named = [k["name"] for k in case["fixture"]["keep_outs"] if k["name"] in sentence]
    if " at G5" in sentence:
        other["parts"] = 1
    elif named:
        for name in named:
            without(other, name)
    elif "holding force stops it" in sentence or "does not hold" in sentence:
        other["fixture"].update(clamp=90000.0, friction=1.0)
    elif "spindle power stops it" in sentence:
        other["machine"]["power"] = 50000.0
    elif "temperature stops it" in sentence or "boiling stops it" in sentence or "waiting do not bring it" in sentence:
        other["tempering"], other["margin"] = 700.0, 0.0
    elif "past its travel" in sentence:
        other["machine"]["half_travel"] = 9000.0
    elif "lanes would be needed" in sentence:
        other["finish"]["flatness"], other["wheel"]["crossfeed"] = 0.2, 1.0
    else:
        return None
    return other


def judge_refusal(case, program, folder, name, answer, faults):
    lines = complaints(answer)
    if answer.status == 3 and all("lies outside the travel" in line for line in lines):
        return                                                  # of stations: true by the job's own numbers
    if len(lines) != 1:
        faults.append("exit %d with %d sentences: %s" % (answer.status, len(lines), " | ".join(lines)[:300]))
        return
    if answer.status != 4:
        faults.append("a legal job is refused: " + lines[0])
        return
    if os.path.exists(os.path.join(folder, name, "summary.json")):
        faults.append("refused, and yet something was written")
    other = relaxed(case, lines[0])
    if other is None:
        faults.append("a refusal that names nothing: " + lines[0])
        return
    where = os.path.join(folder, name, "relaxed")
    os.makedirs(where, exist_ok=True)
    for file in os.listdir(os.path.join(folder, name)):
        path = os.path.join(folder, name, file)
        if os.path.isfile(path):
            with open(path, "rb") as source, open(os.path.join(where, file), "wb") as copied:
                copied.write(source.read())
    write_case(other, where)
    again = run(program, "preview", os.path.join(where, "job.cfg"))
    kind = re.sub(r"[-0-9.]+", "#", lines[0])
    if again.status not in (0, 4) or (again.status == 4 and any(re.sub(r"[-0-9.]+", "#", line) == kind for line in complaints(again))):
        faults.append("refused, and with that out of the way still: %s -> exit %d: %s" % (
            lines[0], again.status, " | ".join(complaints(again))))


# ---- one job ----

def digest(folder):
    return [hashlib.sha256(open(os.path.join(folder, f), "rb").read()).hexdigest() for f in ("side-a.nc", "side-b.nc", "summary.json")]


def one(program, folder, seed, index, sanitized):
    name = "%s-%d" % (seed, index)
    where = os.path.join(folder, name)
    os.makedirs(where, exist_ok=True)
    for old in ("side-a.nc", "side-b.nc", "summary.json"):
        if os.path.exists(os.path.join(where, old)):
            os.remove(os.path.join(where, old))
    rng = random.Random(name)
    case = make_case(rng, where)
    write_case(case, where)
    job, faults = os.path.join(where, "job.cfg"), []
    answer = run(program, "plan", job, "--out", where)
    said = "exit %d" % answer.status
    if answer.seconds > SLOWEST_S * (SANITIZED if sanitized else 1.0):
        faults.append("took %.1f s" % answer.seconds)
    if answer.status == 0:
        if complaints(answer):
            faults.append("done, and yet: " + complaints(answer)[0])
        summary = judge_plan(case, program, folder, name, faults)
        said = "%d passes, %s, %s" % (summary["pass_count"], summary["setups"][0]["travel_style"], "%.1f s" % answer.seconds)
        if index % 5 == 0:
            before = digest(where)
            run(program, "plan", job, "--out", where)
            if digest(where) != before:
                faults.append("another run, another plan")
    elif answer.status in (3, 4):
        judge_refusal(case, program, folder, name, answer, faults)
        said += ": " + (complaints(answer) or [""])[0].replace(where + "/", "")
    else:
        faults.append("exit %d: %s" % (answer.status, answer.err[-2000:]))
    w = case["wheel"]
    print("%-12s %s %s %.0f x %.0f mm, %.0f x %.0f mm, %d parts: %s" % (
        name, case["mount"], w["kind"], w["diameter"], w["width"] if w["kind"] == "disc" else w["rim"], case["polygon"].bounds[2],
        case["polygon"].bounds[3] - case["polygon"].bounds[1], case["parts"], said))
    for fault in faults:
        print("FAULT %s: %s" % (name, fault))
    sys.stdout.flush()
    return not faults


def main():
    program, folder, seed = os.path.abspath(sys.argv[1]), sys.argv[2], sys.argv[3]
    first, count = int(sys.argv[4]), int(sys.argv[5])
    good = [one(program, folder, seed, i, "checked" in program) for i in range(first, first + count)]
    print("%d jobs, %d with a fault" % (count, good.count(False)))
    sys.exit(0 if all(good) else 1)


if __name__ == "__main__":
    main()
