"""Damages the library line by line and asks who notices.

    python3 library.py check                   every line of library.txt stands exactly once in its file; nothing is built
    python3 library.py run TREE OUT [NAME...]  builds each damage in TREE, a scratch copy of the sources, and tries it;
                                               writes the table to OUT and to standard output

Who is asked, one after the other until somebody notices:

    dry-run   `tangwright plan` of the samples: it proves its own programs, so both planner and dry-run are damaged
    proofs    the computations of tests/reference, which know the contract only, on the programs that came out
    tests     the unit tests that know the damaged file

A damage after which every program reads as before, or proves right by the dry-run and by the proofs, has changed nothing that
is cut; the unit tests must find it all the same. The campaign fails where a line does not match, where the undamaged library
fails anything, where a damage does not build, and where nobody notices one.
"""
import collections
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import time

TABLE = pathlib.Path("tests/faults/library.txt")
# Quick to plan; between them a cup, a disc and a point; both mounts; inch and mm; a survey, an allowance, several parts, z from pad
# and from ricasso, wet, mist and dry; and outlines that are no mirror image of themselves.
SAMPLES = ("fillet-160 carver-190 trimmer-130 slicer-240 gyuto-240-bowed deba-165-twisted nakiri-165 "
           "paring-90 hunter-110 utility-four").split()
SECONDS = 900       # for one step
PROOFS = "prove_program.py", "prove_heat.py"
Damage = collections.namedtuple("Damage", "name meaning path old new over unit")


def read_table():
    damages, faults = [], []
    for block in re.split(r"^== ", TABLE.read_text(), flags=re.M)[1:]:
        lines = block.splitlines()
        name, meaning = lines[0].split(": ", 1)
        pairs = [(line[0], line[1:]) for line in lines[2:] if re.match(r"[-+]", line)]
        more = dict(line.split(": ", 1) for line in lines[2:] if re.match(r"(over|unit): ", line))
        if [sign for sign, _ in pairs] != ["-", "+"]:
            faults.append("%s: %s: one line - and one line + are wanted" % (TABLE, name))
            continue
        damages.append(Damage(name, meaning, lines[1], pairs[0][1], pairs[1][1], more.get("over", "").split(),
                              more.get("unit", "").split()))
    names = [damage.name for damage in damages]
    faults += ["%s: %s stands there twice" % (TABLE, name) for name in sorted(set(names)) if names.count(name) > 1]
    return damages, faults


def is_refused(job):
    """Whether the undamaged library must refuse to plan it: then only the dry-run's no counts."""
    return job.startswith("refused/") or "/refused-" in job


def matching(damages, root):
    faults = []
    for damage in damages:
        path = pathlib.Path(root, damage.path)
        count = path.read_text().splitlines().count(damage.old) if path.is_file() else 0
        if count != 1:
            faults.append("%s: %s: its line stands %d times in %s, not once:\n    %s" %
                          (TABLE, damage.name, count, damage.path, damage.old.strip()))
    return faults


def call(words, tree, **more):
    try:
        done = subprocess.run(words, cwd=tree, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=SECONDS, **more)
        return done.returncode, done.stdout.decode(errors="replace")
    except subprocess.TimeoutExpired:
        return -1, "takes longer than %d s" % SECONDS


class Trial:
    """One state of the tree, built."""

    def __init__(self, tree):
        self.tree, self.programs = tree, {}

    def build(self, *targets):
        status, said = call(["make", "-s", *targets], self.tree)
        return None if status == 0 else said[-2000:]

    def plan(self, sample):
        """What says no, or None; a sample that has to be refused says no only where the dry-run does."""
        job = ("%s/job.cfg" if sample.startswith("tests/") else "samples/%s/job.cfg") % sample
        out = pathlib.Path(self.tree, "build/mutated", sample)
        shutil.rmtree(out, ignore_errors=True)
        status, said = call(["build/release/tangwright", "plan", job, "--out", str(out)], self.tree)
        found = re.search(r"own dry-run, so nothing is planned: ([A-Za-z -]+)", said, re.M)
        if status == 0:
            self.programs[sample] = hashlib.sha256(b"".join(p.read_bytes() for p in sorted(out.glob("side-*.nc")))).hexdigest()
            return None
        if found:
            return found.group(1).strip() or "survey"
        return None if is_refused(sample) else "no plan" if status > 0 else "crash"

    def prove(self, sample, refused=()):
        for script in PROOFS:
            if (script, sample) in refused:
                continue
            status, said = call(["/usr/bin/python3", "tests/reference/" + script, "tests/samples/expectations.json",
                                 "build/mutated", sample], self.tree)
            if status != 0:
                return script
        return None

    def test(self, unit):
        target = "build/release/tests/test_" + unit
        fault = self.build(target)
        if fault:
            return "does not build"
        status, said = call([target], self.tree)
        return None if status == 0 else unit


def first(ask, names):
    for name in names:
        answer = ask(name)
        if answer:
            return name, answer
    return None


def refused_proofs(tree, samples):
    """Proofs that do not accept a sample of the undamaged library: they say nothing of a damaged one."""
    trial = Trial(tree)
    refused = {(script, name) for name in samples for script in PROOFS
               if trial.prove(name, {(other, name) for other in PROOFS if other != script})}
    for script, name in sorted(refused):
        print("%s does not accept %s as it is: not asked" % (script, name), flush=True)
    return refused


def judge(damage, tree, healthy, refused):
    trial = Trial(tree)
    fault = trial.build("build/release/tangwright")
    if fault:
        raise SystemExit("%s does not build:\n%s" % (damage.name, fault))
    samples = list(dict.fromkeys(damage.over + SAMPLES))
    found = first(trial.plan, samples)
    if found:
        return "dry-run", "%s: %s" % found
    changed = [name for name in samples if trial.programs.get(name) != healthy.get(name)]
    known = [name for name in changed if "/" not in name]      # only samples have their expectations
    found = first(lambda name: trial.prove(name, refused), known)
    if found:
        return "proofs", "%s: %s" % found
    found = first(trial.test, damage.unit)
    note = "programs as before" if not changed else "programs that differ prove right"
    return ("tests", "%s (%s)" % (found[1], note)) if found else ("nobody", note)


def undamaged(tree, damages):
    """The programs of the undamaged library, which must prove right."""
    trial = Trial(tree)
    samples = list(dict.fromkeys(SAMPLES + [name for damage in damages for name in damage.over]))
    found = trial.build("build/release/tangwright") or first(trial.plan, samples)
    if found:
        raise SystemExit("the undamaged library fails: %s" % (found,))
    return trial.programs, refused_proofs(tree, [name for name in samples if "/" not in name])


def still_undamaged(tree, units):
    """The unit tests that have caught damages must let the undamaged library pass."""
    trial = Trial(tree)
    found = trial.build("build/release/tangwright") or first(trial.test, units)
    if found:
        raise SystemExit("the undamaged library fails: %s" % (found,))


def write_table(out, rows, counts):
    rows = rows + ["", "Of %d damages the dry-run caught %d, the proofs %d more, the unit tests %d more, nobody %d." %
                   (sum(counts.values()), counts["dry-run"], counts["proofs"], counts["tests"], counts["nobody"])]
    head = "| file | what is wrong | noticed by | where |\n| --- | --- | --- | --- |\n"
    pathlib.Path(out).write_text(head + "\n".join(rows) + "\n")
    return rows[-1]


def run(tree, out, names):
    damages, _ = read_table()
    damages = [damage for damage in damages if not names or damage.name in names]
    for damage in damages:      # a run that was broken off may have left objects of a damaged file
        pathlib.Path(tree, damage.path).touch()
    (healthy, refused), rows, counts, units = undamaged(tree, damages), [], collections.Counter(), set()
    for damage in damages:
        path, began = pathlib.Path(tree, damage.path), time.time()
        text = path.read_text()
        path.write_text(text.replace(damage.old + "\n", damage.new + "\n"))
        try:
            who, how = judge(damage, tree, healthy, refused)
        finally:
            path.write_text(text)
        counts[who] += 1
        units |= {how.split(" ")[0]} if who == "tests" else set()
        rows.append("| `%s` | %s | %s | %s |" % (pathlib.Path(damage.path).relative_to("src"), damage.meaning, who, how))
        write_table(out, rows, counts)
        print("%-20s %-8s %s (%.0f s)" % (damage.name, who, how, time.time() - began), flush=True)
    still_undamaged(tree, sorted(units))
    print(write_table(out, rows, counts))
    return 1 if counts["nobody"] else 0


def main():
    damages, faults = read_table()
    faults += matching(damages, ".")
    if faults:
        raise SystemExit("\n".join(faults))
    if sys.argv[1:] == ["check"]:
        print("%d damages, each with its line" % len(damages))
        return 0
    if len(sys.argv) < 4 or sys.argv[1] != "run":
        raise SystemExit(__doc__)
    return run(os.path.abspath(sys.argv[2]), sys.argv[3], sys.argv[4:])


if __name__ == "__main__":
    sys.exit(main())
