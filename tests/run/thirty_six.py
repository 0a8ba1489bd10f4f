"""The sample run of thirty-six blanks, from measurements to the last part, in a shop that is only simulated here.

    thirty_six.py TANGWRIGHT WORK-FOLDER [short]

Load by load: `run --out` plans what is left, `dry-run` proves each program once more by the job that stands beside it, the
machine of machine.py grinds by the programs' text, a micrometer that reads to a micrometre and is itself a little off
measures the parts, `run --done` and `gauge` take down what came of it. Before load 6 the wheel is dressed, and the record is told.
A short run is of six flat blanks with little to take off, on two stations, and the wheel is dressed before its last load.

What is asked: the mean error of a load, which is that of its thicknesses against what it aims at, falls with the first readings to
what the gauge can tell, and stays there, over the wheel's wear and the dressing. What the gauge can tell is its uncertainty,
which the run file states; parts and touching off scatter besides, so a load's mean may be off by twice its own scatter more."""
import csv
import math
import pathlib
import random
import shutil
import subprocess
import sys

import machine

PLACES_MM = (5, 30, 55, 80, 105)
GAUGE_MM = 0.002        # standard uncertainty that the run file states
MICROMETER_MM = 0.0008  # what it is off by
READING_MM = 0.0007     # scatter of a reading, before it is read to a micrometre
PART_MM = 0.0008        # scatter of a part, which chips and dirt under it make
DRESSED_BEFORE = 6
RUN = "samples/utility-four"


def scatter_mm(parts):
    """Of the mean of a load's parts, each ground on two faces after touching off twice: hand calculation."""
    return math.hypot(PART_MM / math.sqrt(parts), math.sqrt(2) * machine.Machine.TOUCHING_OFF)


def shorten(folder):
    """Six flat blanks of like thickness, on two stations, with butts of 2.3 mm."""
    run, job, blanks = (folder / RUN / name for name in ("run.cfg", "job.cfg", "blanks.csv"))
    run.write_text(run.read_text() + 'stations = "1, 2";\n')
    job.write_text(job.read_text().replace('"1.4 mm"', '"2.3 mm"').replace('thickness_band = "0.02 mm"', 'thickness_band = "0.01 mm"'))
    rows = [row for row in blanks.read_text().splitlines() if "surveys" not in row]
    blanks.write_text("\n".join(rows[:2] + [row for row in rows[2:] if ", 2.5" in row and "2.56" not in row][:6]) + "\n")


def table(path):
    with open(path, newline="") as lines:
        return list(csv.DictReader(lines))


def survey(path):
    """Heights of both faces: the sample's surveys are in mm, x, a, b."""
    lines = [line for line in path.read_text().splitlines() if line and not line.startswith("#")]
    return [tuple(float(cell) for cell in line.split(",")) for line in lines[1:]]


class Shop:
    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        self.run, self.out = folder / RUN / "run.cfg", folder / "out"
        self.dice = random.Random(36)
        self.machine = machine.Machine(self.dice)
        with open(folder / RUN / "blanks.csv", newline="") as lines:
            rows = csv.DictReader((line for line in lines if not line.startswith("#")), skipinitialspace=True)
            self.surveys = {row["blank"]: survey(folder / RUN / row["survey"]) for row in rows if row["survey"]}
        self.proved = 0

    def tangwright(self, *words):
        done = subprocess.run([self.program, *map(str, words)], capture_output=True, text=True)
        if done.returncode != 0:
            sys.exit(f"{' '.join(map(str, words))}: {done.returncode}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
        return done.stdout

    def plan(self):
        self.tangwright("run", self.run, "--out", self.out)
        self.tangwright("run", self.run, "--export", self.folder / "tables")
        self.blanks = [row for row in table(self.folder / "tables/blank.csv") if int(row["load"] or 0) > 0]
        self.loads = [int(row["load"]) for row in table(self.folder / "tables/load.csv")]

    def folders(self, load):
        """Each with the blanks that its programs are for."""
        blanks = {int(row["station"]): row for row in self.blanks if int(row["load"]) == load}
        home = self.out / f"load-{load:02}"
        if (home / "side-a.nc").exists():
            return [(home, blanks)]
        return [(home / f"station-{station}", {station: row}) for station, row in blanks.items()]

    def grind(self, load):
        """Readings of the load's parts, and the mean of their errors against what the load aims at."""
        rows, errors = [], []
        self.machine.next_load()
        for folder, blanks in self.folders(load):
            self.tangwright("dry-run", folder / "job.cfg", folder / "side-a.nc", folder / "side-b.nc")
            self.proved += 2
            lie = {station: machine.Blank(float(row["thickness_mm"]), self.surveys.get(row["number"]))
                   for station, row in blanks.items()}
            faces = {side: self.machine.grind((folder / f"side-{side}.nc").read_text(), side, lie) for side in "ab"}
            for station, row in blanks.items():
                part_mm = self.dice.gauss(0, PART_MM)
                planned, butt = float(row["planned_mm"]), float(row["butt_mm"])
                thinner = float(row["thickness_mm"]) - planned  # of a thicker blank, both faces left where they are
                for x in PLACES_MM:
                    true_mm = part_mm + machine.thickness({side: faces[side][station] for side in "ab"}, lie[station], x)
                    read_mm = round(true_mm + MICROMETER_MM + self.dice.gauss(0, READING_MM), 3)
                    errors.append(true_mm + thinner - (planned + (butt - planned) * x / machine.LENGTH))
                    rows.append((row["number"], x, read_mm))
        return rows, errors

    def gauge(self, load, rows):
        path = self.folder / f"readings-{load}.csv"
        path.write_text("part, x, thickness\n" + "".join(f"{n}, {x} mm, {t:.3f} mm\n" for n, x, t in rows))
        (self.folder / f"gauge-{load}.txt").write_text(self.tangwright("gauge", self.run, path))

    def dress(self, load):
        self.machine.wheel.dress()
        self.tangwright("run", self.run, "--dressed", load)


def main():
    program, folder = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for part in ("profiles", RUN):
        shutil.copytree(part, folder / part)
    (folder / RUN / "run.record").unlink(missing_ok=True)
    if sys.argv[3:] == ["short"]:
        shorten(folder)
    shop = Shop(program, folder)
    shop.plan()
    last, faults = shop.loads[-1], 0
    for load in range(1, last + 1):
        if load == min(DRESSED_BEFORE, last):
            shop.dress(load)
        if load > 1:
            shop.plan()
        rows, errors = shop.grind(load)
        mean_mm, worst_mm = sum(errors) / len(errors), max(errors, key=abs)
        allowed_mm = GAUGE_MM + 2 * scatter_mm(len(errors) / len(PLACES_MM))
        settling = load == 1
        fault = not settling and abs(mean_mm) > allowed_mm
        faults += fault
        print(f"load {load}: mean error {1000 * mean_mm:+.1f} um, worst of {len(errors)} places {1000 * worst_mm:+.1f} um"
              f"{' (settling)' if settling else ''}"
              f"{f', more than {1000 * allowed_mm:.1f} um' if fault else ''}", flush=True)
        shop.tangwright("run", shop.run, "--done", load)
        shop.gauge(load, rows)
    status = shop.tangwright("run", shop.run, "--status")
    if "nothing: every load is ground and gauged" not in status:
        sys.exit(f"the record does not know the end:\n{status}")
    print(f"{last} loads, {len(shop.blanks)} blanks, {shop.proved} programs proved by dry-run, "
          f"{faults} loads beyond what the gauge can tell")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
