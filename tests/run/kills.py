"""Kills a `tangwright run RUN --out DIR` at instants of chance and looks at what stands there.

    kills.py TANGWRIGHT WORK-FOLDER [KILLS]

One load is ground and gauged; the others are planned to and fro between two lists of blanks. After each kill the next call has to go
on by itself, and then record and folder are either all of the old plan or all of the new one: each program to the byte, its
list, its pages and its job, no mark that says unfinished, no reading lost. Of three kills one comes at any instant, one once files
are written aside, and one while they take their places, which is the shortest part of a run and the one that could leave a half."""
import hashlib
import json
import pathlib
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time

RUN = "samples/utility-four"
ASIDE = ".tangwright-"
LISTS = {"old": ("2.490", "2.505"), "new": ("2.494", "2.511")}


class Shop:
    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        self.run, self.out = folder / RUN / "kills.cfg", folder / "out"
        self.record = folder / RUN / "kills.record"
        job = self.run.parent / "job.cfg"
        job.write_text(job.read_text().replace('"1.4 mm"', '"2.3 mm"').replace('thickness_band = "0.02 mm"', 'thickness_band = "0.01 mm"'))  # little to take off is soon planned
        self.run.write_text('name = "killed"; job = "job.cfg"; table = "kills.csv"; stations = "2"; order = "as listed";\n')

    def list_blanks(self, which):
        rows = ["blank, thickness", "1, 2.500 mm", *(f"{i + 2}, {t} mm" for i, t in enumerate(LISTS[which]))]
        (self.run.parent / "kills.csv").write_text("\n".join(rows) + "\n")

    def words(self, *words):
        return [self.program, *map(str, words)]

    def tangwright(self, *words):
        done = subprocess.run(self.words(*words), capture_output=True, text=True)
        if done.returncode != 0:
            sys.exit(f"{' '.join(map(str, words))}: {done.returncode}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
        return done.stdout

    def files(self):
        """Of the run's folder, each by its bytes; what is aside is no file of it."""
        return {str(path.relative_to(self.out)): hashlib.sha256(path.read_bytes()).hexdigest()
                for path in sorted(self.out.rglob("*")) if path.is_file() and ASIDE not in path.name}

    def begin(self):
        self.list_blanks("old")
        self.tangwright("run", self.run, "--out", self.out)
        self.tangwright("run", self.run, "--done", 1)
        (self.folder / "readings.csv").write_text(
            "part, x, thickness\n" + "".join(f"1, {x} mm, {2.505 - x / 550:.3f} mm\n" for x in (5, 55, 105)))
        self.tangwright("gauge", self.run, self.folder / "readings.csv")

    def plan(self, which):
        self.list_blanks(which)
        begun = time.monotonic()
        self.tangwright("run", self.run, "--out", self.out)
        return self.files(), time.monotonic() - begun

    def is_writing(self):
        return any(self.out.rglob("*" + ASIDE + "new-*"))

    def is_placing(self):
        database = sqlite3.connect(self.record)
        try:
            return database.execute("SELECT count(*) FROM placing").fetchone()[0] > 0
        finally:
            database.close()

    def is_marked(self):
        return any(self.out.rglob("UNFINISHED.txt"))

    def kill(self, dice, lasts_s, when):
        run = subprocess.Popen(self.words("run", self.run, "--out", self.out), stdout=subprocess.DEVNULL,
                               stderr=subprocess.DEVNULL)
        waits_for = [None, self.is_writing, self.is_marked][when]
        while waits_for and run.poll() is None and not waits_for():
            pass
        time.sleep(dice.uniform(0.0, [1.05 * lasts_s, 0.7 * lasts_s, 0.02][when]))
        run.send_signal(signal.SIGKILL)
        return run.wait() == -signal.SIGKILL

    def look(self, plans):
        """Which plan stands there after the next call; faults end the test."""
        status = json.loads(self.tangwright("run", self.run, "--status", "--json", "-"))
        files = self.files()
        which = [name for name, plan in plans.items() if plan == files]
        if not which:
            odd = {name: [plan_name for plan_name, plan in plans.items() if plan.get(name) == digest]
                   for name, digest in files.items()}
            sys.exit(f"the folder holds neither plan: {odd}")
        first = status["loads"][0]
        if status["wrong_programs"] or (first["state"], first["gauged"]) != ("gauged", 1):
            sys.exit(f"the record is not that of the folder: {status}")
        return which[0]


def main():
    program, folder = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    kills, dice = int(sys.argv[3]) if len(sys.argv) > 3 else 200, random.Random(9)
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for part in ("profiles", RUN):
        shutil.copytree(part, folder / part)
    shop = Shop(program, folder)
    shop.begin()
    plans, lasts_s = {}, 0.0
    for which in ("new", "old"):
        plans[which], lasts_s = shop.plan(which)
    stands, killed, cut_off, went_on = "old", 0, 0, 0
    for i in range(kills):
        wanted = "new" if stands == "old" else "old"
        shop.list_blanks(wanted)
        killed += shop.kill(dice, lasts_s, i % 3)
        placing = shop.is_placing()
        cut_off += placing
        before, stands = stands, shop.look(plans)
        went_on += stands != before
        if placing and stands != wanted:
            sys.exit("what was in the record did not come into the folder")
    if shop.plan("new")[0] != plans["new"]:
        sys.exit("the run that was killed does not end as one that was not")
    print(f"{kills} runs, {killed} killed before their end, {cut_off} of them while files took their places, "
          f"{went_on} came to the new plan; none left a half, none lost a reading")


main()
