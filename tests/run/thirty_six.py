"""The sample run of thirty-six blanks, from measurements to the last part, on a machine that is only simulated here.

    thirty_six.py TANGWRIGHT WORK-FOLDER [BLANKS]

Load by load: the emitted programs are read for the height at which each station's faces are left, the machine below adds
errors of its own, the parts are measured with chance, `gauge` takes the readings, `run` plans what is left. The thickness
follows from the heights alone: each face lies over the datum pad, on which the ricasso's other face lies, so

    thickness(x) = (ZA + ZB) / cos(tilt) - 2 x tan(tilt) - ricasso

with tilt from the rise that the program's head tells. The machine: springs back, wears its wheel 1.3 times as fast as planned,
has stations that are not alike, warms up from load to load, jumps at a dressing before load 6. None of it is told to the
program. What is asked: the mean error of a load falls within two loads to what gauge and scatter leave, and comes back within
two loads after the dressing; every load was planned, which its own dry-run proves; the record knows all at the end."""
import csv
import math
import pathlib
import random
import re
import shutil
import subprocess
import sys

PLACES_MM = (5, 30, 55, 80, 105)
GAUGE_MM = 0.002        # standard uncertainty that the run file tells
READING_MM = 0.001      # scatter of a reading
PART_MM = 0.001         # and of a part
SPRING_BACK_MM = 0.006  # of each face
STATIONS_MM = {1: 0.0, 2: 0.004, 3: -0.003, 4: 0.001}
TAPER_MM = 0.006        # of the thickness, at the butt
WARMING_MM = 0.0003     # of each face, from load to load
DRESSING, JUMP_MM = 6, 0.006
WEAR = 1.3
RUN = "samples/utility-four"


def faces(program):
    """Lowest height at each work offset, and the tilt."""
    text = program.read_text()
    rise = re.search(r"BUTT END RAISED ([\d.]+) MM IN ([\d.]+) MM", text)
    tilt = math.asin(float(rise[1]) / float(rise[2]))
    lowest, station = {}, None
    for line in text.splitlines():
        if line.startswith("("):
            continue
        offset = re.search(r"\bG(5[4-7])\b", line)
        height = re.search(r"\bZ(-?[\d.]+)", line)
        if offset:
            station = int(offset[1]) - 53
        if height and station:
            lowest[station] = min(lowest.get(station, math.inf), float(height[1]))
    return lowest, tilt


def table(path):
    with open(path, newline="") as lines:
        return list(csv.DictReader(lines))


class Shop:
    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        self.run = folder / "samples/utility-four/run.cfg"
        self.out = folder / "out"
        self.dice = random.Random(36)

    def tangwright(self, *words):
        done = subprocess.run([self.program, *map(str, words)], capture_output=True, text=True)
        if done.returncode != 0:
            sys.exit(f"{' '.join(map(str, words))}: {done.returncode}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
        return done.stdout

    def plan(self):
        self.tangwright("run", self.run, "--out", self.out)
        self.tangwright("run", self.run, "--export", self.folder / "tables")
        self.blanks = [row for row in table(self.folder / "tables/blank.csv") if int(row["load"] or 0) > 0]
        self.loads = {int(row["load"]): row for row in table(self.folder / "tables/load.csv")}

    def error_mm(self, load, station, wear_mm):
        """Of one face: it is left so much too high."""
        jump = JUMP_MM if load >= DRESSING else 0.0
        return SPRING_BACK_MM + STATIONS_MM[station] + WARMING_MM * load + jump + WEAR * wear_mm

    def grind(self, load):
        """Readings of the load's parts, and the mean of their errors against what the load aims at."""
        rows, errors = [], []
        blanks = [row for row in self.blanks if int(row["load"]) == load]
        own = (self.out / f"load-{load:02}/load.html").exists() and not (self.out / f"load-{load:02}/side-a.ngc").exists()
        wear_mm = float(self.loads[load]["wheel_mm"]) / 2 / (len(blanks) if own else 1)
        for blank in blanks:
            station = int(blank["station"])
            folder = self.out / f"load-{load:02}" / (f"station-{station}" if own else ".")
            (a, tilt), (b, _) = faces(folder / "side-a.ngc"), faces(folder / "side-b.ngc")
            part_mm = self.dice.gauss(0, PART_MM)
            for x in PLACES_MM:
                true_mm = ((a[station] + b[station] + 2 * self.error_mm(load, station, wear_mm)) / math.cos(tilt)
                           - 2 * x * math.tan(tilt) - float(blank["thickness_mm"]) + TAPER_MM * x / 110 + part_mm)
                planned, butt = float(blank["planned_mm"]), float(blank["butt_mm"])
                thinner = float(blank["thickness_mm"]) - planned  # of a thicker blank, both faces left where they are
                errors.append(true_mm + thinner - (planned + (butt - planned) * x / 110))
                rows.append((blank["number"], x, true_mm + self.dice.gauss(0, READING_MM)))
        return rows, sum(errors) / len(errors)

    def gauge(self, load, rows):
        path = self.folder / f"readings-{load}.csv"
        path.write_text("part, x, thickness\n" + "".join(f"{n}, {x} mm, {t:.4f} mm\n" for n, x, t in rows))
        self.tangwright("gauge", self.run, path)


def main():
    program, folder = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for part in ("profiles", RUN):
        shutil.copytree(part, folder / part)
    if len(sys.argv) > 3:  # only the first so many blanks: a shorter run
        path = folder / RUN / "blanks.csv"
        path.write_text("".join(path.read_text().splitlines(True)[:int(sys.argv[3]) + 2]))
    shop = Shop(program, folder)
    shop.plan()
    last, faults = max(shop.loads), 0
    # Twice the uncertainty that the offset of four parts has, stations not yet told from chance, and three loads' drift.
    allowed_mm = 2 * math.hypot(GAUGE_MM, math.hypot(PART_MM, 2 * 0.003) / 2) + 3 * 2 * WARMING_MM
    for load in range(1, last + 1):
        rows, error_mm = shop.grind(load)
        settling = load <= 2 or DRESSING <= load <= DRESSING + 1
        fault = not settling and abs(error_mm) > allowed_mm
        faults += fault
        print(f"load {load}: mean error {1000 * error_mm:+.1f} um{' (settling)' if settling else ''}"
              f"{f', more than {1000 * allowed_mm:.1f} um' if fault else ''}", flush=True)
        shop.gauge(load, rows)
        if load < last:
            shop.plan()
    status = shop.tangwright("run", shop.run, "--status")
    if "nothing: every load is ground and gauged" not in status:
        sys.exit(f"the record does not know the end:\n{status}")
    print(f"{last} loads, {len(shop.blanks)} blanks, {faults} loads beyond what gauge and scatter leave")
    sys.exit(1 if faults else 0)


main()
