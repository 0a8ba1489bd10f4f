"""Makes up jobs as a shop would write them, has each planned and its programs proved, and counts what came of it.

    python3 shop_jobs.py TANGWRIGHT FOLDER FIRST COUNT [relief] [measured] [untimed]
    python3 shop_jobs.py table FOLDER...

Job number i is always the same one and stands in FOLDER/i. With `relief` every job hollows its faces; with `measured` the shop
also knows what its blanks, wheel, machine and coolant really are: the band of thickness, wear, stiffness, flow. A job must either be
planned, and its programs then pass their dry-run; or be refused by one sentence. Nothing else may happen: no crash, no
programs that their own dry-run refuses, no longer than SLOWEST_S of processor time for either, no more than MOST_MB.
Each plan and each dry-run is a process of its own, ended when it takes HANGS_S of processor time or HANGS_MB.
Prints a line for each job, FAULT with what is wrong, and a table at the end. Exit status 1 when anything was wrong; `untimed`: not
for a job that was only slow, which on a busy machine any may be.
What came of each job is added to FOLDER/results.jsonl at once; jobs that stand there already are not run again, so a run that
was broken off goes on where it was. `table` prints what the results of several folders come to.
Jobs that are planned and pass are removed from FOLDER again.

random_jobs.py makes up far odder ones, and proves their programs by an implementation of its own.
"""
import collections
import json
import math
import os
import random
import re
import resource
import shutil
import subprocess
import sys
import threading

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

import random_shapes
from random_shapes import length

SLOWEST_S = 10.0
MOST_MB = 1024.0
SANITIZED = 20.0        # times as long and as much, under sanitizers
HANGS_S = 120.0
HANGS_MB = 4096.0


# ---- the knife ----

def tang_of(rng):
    """Handle-shaped: its edges bulge a little, its butt is round, slanted or square."""
    long, wide = rng.uniform(80.0, 130.0), rng.uniform(16.0, 32.0)
    x = np.linspace(0.0, 1.0, rng.choice([3, 9, 41]))
    half = wide / 2.0 * (1.0 + rng.uniform(-0.2, 0.15) * np.sin(math.pi * x) + rng.uniform(-0.15, 0.25) * x ** 2)
    drop = rng.choice([0.0, 0.0, rng.uniform(-8.0, 8.0)]) * x ** 2
    tang = Polygon(np.vstack([np.column_stack([x * long, drop + half]), np.column_stack([x * long, drop - half])[::-1]]))
    if rng.random() < 0.6:
        radius = rng.uniform(2.0, 0.45 * wide)
        soft = tang.buffer(-radius, 16).buffer(radius, 16)
        tang = unary_union([soft, tang.intersection(box(-1.0, -1e3, 0.4 * long, 1e3))]).buffer(0)
    if tang.geom_type != "Polygon": # softened apart at a waist
        tang = min(tang.geoms, key=lambda piece: piece.bounds[0])
    return Polygon(tang.exterior), long, wide


def holes_of(rng, tang, long):
    """Pin holes along the middle, now and then a slot that takes weight out."""
    holes = []
    count = rng.choice([0, 2, 2, 3, 3, 4])
    for i in range(count):
        x = long * (0.15 + 0.7 * i / max(1, count - 1)) + rng.uniform(-3.0, 3.0)
        cut = tang.intersection(LineString([(x, -1e3), (x, 1e3)]))
        if cut.is_empty: # a tang that was softened short
            continue
        y = (cut.bounds[1] + cut.bounds[3]) / 2.0 + rng.uniform(-1.5, 1.5)
        hole = Point(x, y).buffer(rng.uniform(1.5, 4.2), 16)
        if rng.random() < 0.1:
            hole = LineString([(x, y), (x + rng.uniform(5.0, 15.0), y)]).buffer(rng.uniform(1.5, 4.0), 8)
        if tang.buffer(-2.5).contains(hole) and not any(h.distance(hole) < 2.5 for h in holes):
            holes.append(hole)
    return holes


def blade_of(rng, wide):
    long, heel = rng.uniform(80.0, 260.0), rng.uniform(0.0, 22.0)
    low, high = -wide / 2.0, wide / 2.0
    neck = rng.uniform(5.0, 15.0)
    belly = [(-neck - (long - neck) * s, low - heel + (heel + wide * 0.8) * s ** 3) for s in np.linspace(0.0, 1.0, 24)]
    return Polygon([(0.0, low), (0.0, high), (-long * 0.6, high), (-long, belly[-1][1] + 0.5)] + belly[::-1] + [(-neck, low)])


def knife_of(rng):
    while True:
        tang, long, wide = tang_of(rng)
        holes = holes_of(rng, tang, long)
        whole = tang
        if rng.random() < 0.5:
            front = tang.intersection(box(-1.0, -1e3, 1e-6, 1e3)).bounds
            whole = random_shapes.largest(unary_union([tang, blade_of(rng, front[3] - front[1]).buffer(0)]).buffer(0))
        knife = Polygon(whole.exterior, [h.exterior for h in holes])
        if knife.is_valid and knife.intersection(box(0.0, -1e3, 1e3, 1e3)).geom_type == "Polygon":
            return knife


# ---- the equipment ----

def wheel_text(rng, kind, diameter, name="wheel"):
    point = kind == "cup" and diameter < 15.0
    speed = rng.uniform(10.0, 16.0) if point else rng.uniform(15.0, 32.0)
    cbn = rng.random() < 0.7
    text = 'name = "%s"; kind = "%s"; diameter = %s; operating_speed = "%.1f m/s"; speed = "%.2f m/s";\n' % (
        name, kind, length(rng, diameter), speed * 1.25, speed)
    width = rng.choice([10.0, 12.0, 20.0, 25.0]) if kind == "cup" else rng.choice([6.0, 8.0, 10.0, 12.7, 13.0, 20.0])
    text += "width = %s;\n" % length(rng, width)
    text += 'min_infeed = "0.001 mm"; max_infeed = "%g mm"; max_crossfeed = %.2f; customary_table_speed = "%g mm/s";\n' % (
        rng.choice([0.01, 0.01, 0.02, 0.05]), rng.uniform(0.25, 0.7), rng.choice([10, 50, 250]))
    text += 'grain_conductivity = "%g W/mK"; grain_radius = "15 um"; specific_energy = "%g J/mm3"; size_exponent = %g;\n' % (
        240.0 if cbn else 35.0, rng.choice([25.0, 30.0, 45.0]), rng.choice([0.2, 0.4, 0.5]))
    text += "contact_ratio = %g;\n" % rng.choice([1.0, 1.0, 1.5])
    if kind == "cup":
        rim = diameter / 2.0 if point else diameter * rng.uniform(0.05, 0.2)
        fresh = rim > 2.0 and rng.uniform(0.5, 1.8) < 0.8
        text += 'rim_width = "%.3f mm"; rim_state = "%s";\n' % (rim, "fresh" if fresh else "worn-in")
        if rng.random() < 0.3:
            text += 'rim_contact = "%.3f mm";\n' % min(rim, 3.0)
    return text, speed


def machine_text(rng, kind, rpm):
    inch = rng.random() < 0.35
    along, across, up = rng.choice([("X", "Y", "Z"), ("X", "Y", "Z"), ("Y", "-X", "Z")]) if kind == "cup" else ("X", "-Z", "Y")
    axes = "".join('    %s: { letter = "%s"; travel_min = "-900 mm"; travel_max = "900 mm"; rapid = "%.3g m/min"; '
                   'acceleration = "%.0f mm/s2"; };\n' % (name, letter, rng.uniform(4.0, 25.0), rng.uniform(200.0, 2000.0))
                   for name, letter in (("along", along), ("across", across), ("up", up)))
    text = 'name = "machine"; feed_min = "%g mm/min"; feed_max = "%g m/min"; smallest_step = "%g mm"; wheel_overhang = "%.1f mm";\n' % (
        rng.choice([5, 20, 60]), rng.choice([3, 10, 25]), 0.00254 if inch else rng.choice([0.001, 0.001, 0.002]), rng.uniform(20.0, 65.0))
    text += 'spindle: { axis = "%s"; power = "%d W"; min_speed = "50 rpm"; max_speed = "%.0f rpm"; direction = "%s"; up_to_speed = "%d s"; nose_diameter = "%d mm"; };\n' % (
        "vertical" if kind == "cup" else "horizontal", rng.choice([300, 750, 1200, 2200]), rpm * 1.05 + 60.0,
        rng.choice(["clockwise", "counterclockwise"]), rng.choice([0, 2, 10]), rng.uniform(25, 70))
    text += "axes: {\n%s};\n" % axes
    text += 'program: { unit = "%s"; length_decimals = %d; feed_decimals = %d; line_numbers = %s; percent_lines = %s; comments = %s; ' % (
        "inch" if inch else "mm", rng.choice([4, 5]) if inch else rng.choice([3, 3, 4]), rng.choice([1, 2]),
        *(rng.choice(["true", "false"]) for _ in range(2)), rng.choice(["true", "true", "true", "false"]))
    text += 'path_mode = "%s"; dwell = "%s"; end_code = "%s"; };\n' % (
        rng.choice(["unset", "G61", "G61.1", "G64"]), rng.choice(["P seconds", "X seconds"]), rng.choice(["M2", "M30"]))
    return text


STEELS = [(45.0, 7.8, 460.0), (24.0, 7.7, 470.0), (20.0, 7.7, 470.0), (37.0, 7.81, 475.0)]
COOLANTS = [("flood", 200000, 120, 3000, 5000, 15), ("flood", 290000, 120, 2400, 8000, 20), ("flood", 23000, 300, 600, 5000, 25),
            ("mist", 25000, 120, 300, 500, 20), ("mist", 25000, 300, 300, 1500, 20), ("dry", 0, 250, 30, 5000, 25), ("dry", 0, 300, 20, 1500, 20)]


def fixture_text(rng, knife, wheel_mm, parts, thick, thin):
    wide = knife.bounds[3] - knife.bounds[1]
    pitch = wide + 2.0 * wheel_mm + 30.0
    whole = knife.bounds[0] < -20.0
    reach = parts * pitch
    clamp_at = -rng.uniform(0.9, 1.6) * wheel_mm - 30.0
    keep_outs = ['{ name = "pad"; kind = "pad"; box = ["-32 mm", "%.3f mm", "-2 mm", "%.3f mm"]; top = "0 mm"; }' % (-reach, reach)]
    if whole and knife.bounds[0] < clamp_at - 10.0:
        keep_outs.append('{ name = "clamp"; kind = "clamp"; box = ["%.3f mm", "%.3f mm", "%.3f mm", "%.3f mm"]; top = "%.4f mm"; }' % (
            clamp_at - 20.0, -reach, clamp_at, reach, thick + rng.choice([3.0, 8.0, 12.0])))
    if rng.random() < 0.3:
        keep_outs.append('{ name = "end stop"; kind = "pin"; circle = ["%.3f mm", "%.3f mm", "6 mm"]; top = "%.3f mm"; }' % (
            knife.bounds[2] + 3.05, 0.0, max(0.3, thin * 0.4)))
    stations = ",\n".join('    { offset = "%s"; along = "-20 mm"; across = "%.3f mm"; up = "-100 mm"; }' % (
        name, (i - (parts - 1) / 2.0) * pitch) for i, name in enumerate(["G54", "G55", "G56", "G57"][:parts]))
    magnet = rng.random() < 0.5
    return 'name = "fixture"; clearance = "%g mm"; clamp_force = "%d N"; pull = "%d N/cm2"; friction = %g; holding_safety = %g;\n' \
           "keep_outs = ( %s );\nstations = (\n%s );\n" % (
               rng.choice([0.5, 1.0, 2.0]), rng.choice([0, 400]) if magnet else rng.choice([800, 3000]),
               rng.choice([20, 40]) if magnet else 0, rng.choice([0.15, 0.2]), rng.choice([2.0, 3.0]),
               ",\n    ".join(keep_outs), stations)


# ---- the job ----

def survey_text(rng, butt):
    """A gentle bow: as much as heat treatment leaves, to a hundredth."""
    bow = rng.choice([0.02, 0.05, 0.1]) * rng.choice([-1.0, 1.0])
    rows = ["%.1f, %.2f, %.2f" % (x, 0.0, 0.0) for x in (-25.0, -15.0, -5.0)]
    for x in np.linspace(8.0, butt, 9):
        lift = bow * (x / butt) ** 2
        rows.append("%.2f, %.2f, %.2f" % (x, lift + rng.choice([-0.01, 0.0, 0.0, 0.01]), -lift))
    return "x [mm], a [mm], b [mm]\n" + "\n".join(rows) + "\n"


def relief_lines(rng, kind, wheel_text_of, folder):
    """A mounted point, a small cup or a disc of its own hollows; now and then the wheel that tapers."""
    lines = "relief: { depth = %s; land = %s; boss = %s; end = %s; sides = \"%s\"; when = \"%s\"; };\n" % (
        length(rng, rng.choice([0.1, 0.2, 0.3, 0.5])), length(rng, rng.uniform(3.0, 6.5)), length(rng, rng.uniform(1.5, 4.0)),
        length(rng, rng.uniform(2.0, 10.0)), rng.choice(["a", "b", "both"]), rng.choice(["auto", "first", "last", "last"]))
    if kind == "cup" or rng.random() < 0.7:
        size = rng.choice([4.0, 6.0, 6.0, 8.0, 10.0, 12.0]) if kind == "cup" else rng.choice([60.0, 80.0, 100.0])
        text, speed = wheel_text_of(rng, kind, size, "small wheel")
        with open(os.path.join(folder, "small.cfg"), "w") as file:
            file.write(text)
        return lines + 'relief_wheel: { profile = "small.cfg"; };\n', speed * 60000.0 / (math.pi * size)
    return lines, 0.0


def measured_lines(rng, lines, texts):
    """The job with what a shop that measures would write besides, and the profiles likewise."""
    lines = lines.replace('smallest_thickness', 'thickness_band = "%g mm"; height_zero = "%s"; smallest_thickness' % (
        rng.choice([0.0, 0.02, 0.05, 0.1, 0.2]), rng.choice(["pad", "pad", "ricasso"])))
    lines = re.sub(r"spark_out = [0-9]+; ", "" if rng.random() < 0.7 else r"\g<0>", lines)
    if rng.random() < 0.5:
        lines = re.sub('order = "[^"]*"', 'order = "as-needed"', lines)
    if rng.random() < 0.5:
        lines = lines.replace("finish: {", 'finish: { thickness_tolerance = "%g mm";' % rng.choice([0.02, 0.04, 0.1]))
    cbn = "240 W/mK" in texts["wheel"]
    ratio = rng.choice([300.0, 1000.0, 4000.0]) if cbn else rng.choice([5.0, 15.0, 40.0])
    texts["wheel"] += 'abrasive = "%s"; grinding_ratio = %g;\n' % ("cbn" if cbn else "alumina", ratio)
    if rng.random() < 0.3:
        texts["wheel"] += 'dress_after = "%g mm3";\n' % rng.choice([200, 1000, 5000])
    if rng.random() < 0.3:
        texts["wheel"] += "calibrated = true;\n"
    stiff = rng.choice([1.0, 4.0, 8.0, 20.0])
    texts["machine"] += 'stiffness = "%g N/um"; stiffness_least = "%g N/um"; stiffness_most = "%g N/um";\n' % (stiff, 0.8 * stiff, 1.2 * stiff)
    if "mist" in texts["coolant"]:
        texts["coolant"] += 'flow = "%g l/min"; flow_heat = "2600 J/cm3";\n' % rng.choice([0.005, 0.02, 0.05])
    elif "flood" in texts["coolant"]:
        texts["coolant"] += 'flow = "%g l/min";\n' % rng.choice([2.0, 8.0, 20.0])
    if rng.random() < 0.5:
        texts["fixture"] += 'packing = "steel wedge";\n'
    texts["steel"] += "wheel_wear = %g;\n" % rng.choice([1.0, 1.5, 5.0])
    return lines


def write_job(rng, folder, relief, measured):
    knife = knife_of(rng)
    kind = rng.choice(["cup", "cup", "disc"])
    diameter = rng.choice([23.0, 40.0, 50.0, 60.0, 75.0, 100.0]) if kind == "cup" else rng.choice([150.0, 175.0, 200.0, 250.0])
    wheel, speed = wheel_text(rng, kind, diameter)
    rpm = speed * 60000.0 / (math.pi * diameter)
    thick = rng.uniform(1.8, 5.5)
    thin = max(1.0, thick * rng.uniform(0.45, 0.85))
    parts = rng.choice([1, 1, 1, 2, 3, 4])
    texts = {"wheel": wheel, "fixture": fixture_text(rng, knife, diameter, parts, thick, thin)}
    lines = 'name = "job %s";\n' % os.path.basename(folder)
    lines += 'mount = "%s"; order = "%s"; parts = %d;\n' % (
        "tilted" if relief and kind == "cup" else rng.choice(["tilted", "level"]), rng.choice(["a-then-b", "a-then-b", "rough-then-finish"]), parts)
    lines += random_shapes.draw(rng, knife, folder)
    lines += "taper: { ricasso_thickness = %s; butt_thickness = %s; smallest_thickness = \"0.5 mm\"; };\n" % (length(rng, thick), length(rng, thin))
    lines += 'finish: { flatness = "%g mm"; infeed = "%g mm"; layers = %d; spark_out = %d; allowance = "%g mm"; };\n' % (
        rng.choice([0.01, 0.01, 0.02, 0.05]), rng.choice([0.003, 0.005, 0.01]), rng.randint(0, 3), rng.randint(0, 2), rng.choice([0, 0, 0.02]))
    lines += 'heat: { tempering_temperature = "%g degC"; margin = "%g K"; flash_limit = "%s"; };\n' % (
        rng.choice([180, 200, 220, 300]), rng.choice([10, 25, 25, 40]), rng.choice(["strict", "strict", "equivalent"]))
    lines += 'travel: { clear_height = "%g mm"; approach = "%g mm"; overtravel = "%g mm"; };\n' % (
        rng.choice([10, 25, 40]), rng.choice([0.5, 1, 2]), rng.choice([1, 2, 5]))
    if relief:
        more, small_rpm = relief_lines(rng, kind, wheel_text, folder)
        lines, rpm = lines + more, max(rpm, small_rpm)
    if parts == 1 and rng.random() < 0.4:
        lines += 'survey: { file = "survey.csv"; }; straighten: { tolerance = "0.1 mm"; largest_tilt = "0.2 deg"; };\n'
        with open(os.path.join(folder, "survey.csv"), "w") as file:
            file.write(survey_text(rng, knife.bounds[2] * 0.97))
    texts["machine"] = machine_text(rng, kind, rpm)
    steel, coolant = rng.choice(STEELS), rng.choice(COOLANTS)
    texts["steel"] = 'name = "steel"; conductivity = "%g W/mK"; density = "%g g/cm3"; specific_heat = "%g J/kgK"; tempering_temperature = "200 degC";\n' % steel
    texts["coolant"] = 'name = "coolant"; kind = "%s"; contact_conductance = "%d W/m2K"; boiling_temperature = "%d degC"; ' \
                       'surface_conductance = "%d W/m2K"; joint_conductance = "%d W/m2K"; temperature = "%d degC";\n' % coolant
    if measured:
        lines = measured_lines(rng, lines, texts)
    if "relief_wheel" in lines and "rough-then-finish" in lines: # one touching off for what is measured between
        lines = lines.replace('when = "first"', 'when = "last"')
    for name, text in texts.items():
        lines += '%s: { profile = "%s.cfg"; };\n' % (name, name)
        with open(os.path.join(folder, name + ".cfg"), "w") as file:
            file.write(text)
    with open(os.path.join(folder, "job.cfg"), "w") as file:
        file.write(lines)


# ---- running ----

Answer = collections.namedtuple("Answer", "status out err seconds megabytes")


def slack_of(program):
    return SANITIZED if "checked" in program else 1.0


def limits(slack):
    resource.setrlimit(resource.RLIMIT_CPU, (int(HANGS_S * slack), int(HANGS_S * slack) + 5))
    if slack == 1.0:  # sanitizers reserve far more than they use
        resource.setrlimit(resource.RLIMIT_AS, (int(HANGS_MB * 2 ** 20), int(HANGS_MB * 2 ** 20)))


def run(program, *words):
    with open(os.devnull) as nothing:
        process = subprocess.Popen([program, *words], stdin=nothing, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=lambda: limits(slack_of(program)))
    out, err = [], []
    readers = [threading.Thread(target=lambda stream, to: to.append(stream.read()), args=pair) for pair in ((process.stdout, out), (process.stderr, err))]
    for reader in readers:
        reader.start()
    _, status, used = os.wait4(process.pid, 0)
    for reader in readers:
        reader.join()
    return Answer(os.waitstatus_to_exitcode(status), out[0], err[0], used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0)


def faults_of(answer):
    return [line for line in answer.err.splitlines() if not line.startswith("note: ")]


def judge_cost(what, answer, slack, faults):
    if answer.seconds > SLOWEST_S * slack:
        faults.append("%s took %.1f s" % (what, answer.seconds))
    if answer.megabytes > MOST_MB * slack:
        faults.append("%s took %.0f MB" % (what, answer.megabytes))


def kind_of(sentence, where):
    """A refusal without its own numbers and names, for counting."""
    sentence = re.sub(r"\S*%s\S*: " % re.escape(where), "", sentence)
    sentence = re.sub(r"-?[0-9][0-9.e+-]*", "#", sentence)
    return re.sub(r"side [AB]|side-[ab]\S*", "side", sentence)[:90]


def judge_plan(plan, where, faults):
    """What is to be said of a plan that was not made, and why it was refused, for counting."""
    if plan.status not in (3, 4):
        faults.append("exit %d: %s" % (plan.status, plan.err[-300:]))
        return "exit %d" % plan.status, ""
    lines = faults_of(plan)
    if plan.status == 4 and len(lines) != 1:
        faults.append("%d sentences: %s" % (len(lines), " | ".join(lines)[:300]))
    return "refused: " + " | ".join(lines).replace(where + "/", ""), kind_of(lines[0] if lines else "", where)


def judge_figures(out, faults):
    """What a plan says of its own temperatures is within the limit it says it keeps."""
    with open(os.path.join(out, "summary.json")) as file:
        summary = json.load(file)
    most = summary["limit_degC"] if summary["flash_limit"] == "strict" else summary["flash_limit_degC"]
    if summary["peak_with_reserve_degC"] > most + 0.5:
        faults.append("plans for %.1f degC where %.1f are allowed" % (summary["peak_with_reserve_degC"], most))


def prove(program, job, out, faults):
    cards = sorted(os.path.join(out, name) for name in os.listdir(out) if name.endswith(".nc") and not name.startswith("air-"))
    dry = run(program, "dry-run", job, *cards)
    if dry.status != 0:
        failed = [line.strip() for line in dry.out.splitlines() if line.startswith("  FAIL")] + faults_of(dry)
        faults.append("its own dry-run exits %d: %s" % (dry.status, " / ".join(failed)[:300]))
    return dry


def one(program, folder, index, relief, measured):
    """Result of one job, as it is kept in results.jsonl."""
    where = os.path.join(folder, str(index))
    shutil.rmtree(where, ignore_errors=True)
    os.makedirs(where)
    write_job(random.Random("shop %d %s" % (index, relief)), where, relief, measured)
    job, faults, slow, dry, because = os.path.join(where, "job.cfg"), [], [], None, ""
    plan = run(program, "plan", job, "--out", os.path.join(where, "out"))
    judge_cost("planning", plan, slack_of(program), slow)
    if plan.status == 0:
        said = "planned"
        judge_figures(os.path.join(where, "out"), faults)
        dry = prove(program, job, os.path.join(where, "out"), faults)
        judge_cost("the dry-run", dry, slack_of(program), slow)
    else:
        said, because = judge_plan(plan, where, faults)
    print("%4d  %5.1f s %4.0f MB  %5.1f s  %s" % (index, plan.seconds, plan.megabytes, dry.seconds if dry else 0.0, said))
    for fault in faults + slow:
        print("FAULT %d%s: %s" % (index, " relief" if relief else "", fault))
    if plan.status == 0 and not faults + slow:
        shutil.rmtree(where)
    sys.stdout.flush()
    return {"job": index, "relief": relief, "outcome": "anything else" if faults else "planned and passed" if plan.status == 0 else
            "refused with a reason", "because": because, "faults": faults, "slow": slow, "plan_s": plan.seconds,
            "dry_s": dry.seconds if dry else None, "MB": max(plan.megabytes, dry.megabytes if dry else 0.0)}


def results_of(folder):
    try:
        with open(os.path.join(folder, "results.jsonl")) as file:
            return [json.loads(line) for line in file]
    except FileNotFoundError:
        return []


def times_row(what, seconds):
    if not seconds:
        return "| %s | none |" % what
    seconds = sorted(seconds)
    return "| %s: median, 95th percentile, longest | %.2f, %.1f, %.1f s |" % (
        what, seconds[len(seconds) // 2], seconds[int(len(seconds) * 0.95)], seconds[-1])


def print_table(results):
    print("| jobs | %d |\n| --- | --- |" % len(results))
    for relief in (False, True):
        numbers = sorted(result["job"] for result in results if result["relief"] == relief)
        if numbers:
            print("| %s a relief | %d, numbers %d to %d |" % ("with" if relief else "without", len(numbers), numbers[0], numbers[-1]))
    for row in ("planned and passed", "refused with a reason", "anything else"):
        print("| %s | %d |" % (row, sum(result["outcome"] == row for result in results)))
    print(times_row("processor time of a plan", [result["plan_s"] for result in results]))
    print(times_row("of a dry-run", [result["dry_s"] for result in results if result["dry_s"] is not None]))
    print("| plans above %g s, dry-runs above %g s | %d, %d |" % (
        SLOWEST_S, SLOWEST_S, sum(result["plan_s"] > SLOWEST_S for result in results), sum((result["dry_s"] or 0.0) > SLOWEST_S for result in results)))
    print("| most memory | %.0f MB |" % max([result["MB"] for result in results] + [0.0]))
    print("\nrefused:")
    for row, number in collections.Counter(result["because"] for result in results if result["because"]).most_common():
        print("%6d  %s" % (number, row))
    print("anything else, or slow:")
    for result in results:
        for fault in result["faults"] + result["slow"]:
            print("%6d%s  %s" % (result["job"], " relief" if result["relief"] else "", fault))


def main():
    if sys.argv[1] == "table":
        print_table([result for folder in sys.argv[2:] for result in results_of(folder)])
        return
    program, folder = os.path.abspath(sys.argv[1]), sys.argv[2]
    first, count, relief = int(sys.argv[3]), int(sys.argv[4]), "relief" in sys.argv[5:]
    measured = "measured" in sys.argv[5:]
    os.makedirs(folder, exist_ok=True)
    results = {result["job"]: result for result in results_of(folder) if result["relief"] == relief}
    for index in range(first, first + count):
        if index in results:
            continue
        results[index] = one(program, folder, index, relief, measured)
        with open(os.path.join(folder, "results.jsonl"), "a") as file:
            file.write(json.dumps(results[index]) + "\n")
    asked = [results[index] for index in range(first, first + count)]
    print()
    print_table(asked)
    slow = any(result["slow"] for result in asked) and "untimed" not in sys.argv[5:]
    sys.exit(1 if slow or any(result["faults"] for result in asked) else 0)


if __name__ == "__main__":
    main()
