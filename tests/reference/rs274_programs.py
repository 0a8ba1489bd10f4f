#!/usr/bin/env python3
"""Random legal RS-274 programs with the motions that rs274_endpoints.py finds in them.

    rs274_programs.py SEED COUNT

writes COUNT blocks: "program BYTES MOTIONS SLOTS", the tool lengths, nine origins, start, two homes, then the text and
one line per motion. The same seed gives the same programs.
"""
import math
import random
import sys

from rs274_endpoints import AXES, OFFSETS, PLANES, Machine, report


class Writer:
    def __init__(self, rng, setup):
        self.rng = rng
        self.machine = Machine(setup)
        self.slots = len(setup["lengths"])
        self.inch = False
        self.lines = []

    def number(self, value):
        text = ("%.5f" if self.inch else "%.4f") % value
        if self.rng.random() < 0.3:
            text = text.rstrip("0")
        if self.rng.random() < 0.2 and not text.startswith("-"):
            text = "+" + text
        if text.startswith("0.") and len(text) > 2 and self.rng.random() < 0.3:
            text = text[1:]
        if self.rng.random() < 0.1:
            cut = self.rng.randrange(len(text) + 1)
            text = text[:cut] + self.rng.choice([" ", "\t", "  "]) + text[cut:]
        return text

    def word(self, letter, value):
        return letter + self.number(value)

    def put(self, words):
        """Writes a line in a random order, case and spacing, and lets the machine follow."""
        rng = self.rng
        words = list(words)
        rng.shuffle(words)
        if rng.random() < 0.15:
            words.insert(rng.randrange(len(words) + 1), rng.choice(["(a note)", "()", "(G0 X99)", "(MSG, look)"]))
        text = rng.choice(["", " "]).join(words)
        if rng.random() < 0.2:
            text = "N%d %s" % (rng.randrange(100000), text)
        if rng.random() < 0.2:
            text = text.lower()
        self.lines.append(text)
        self.machine.line(text)

    def coordinate(self):
        return self.rng.uniform(-4, 4) if self.inch else self.rng.uniform(-100, 100)

    def feed_word(self):
        return ["F%d" % self.rng.randrange(1, 900)] if self.machine.inverse or self.rng.random() < 0.3 else []

    def straight(self):
        axes = self.rng.sample(AXES, self.rng.randint(1, 3))
        words = [self.word(axis, self.coordinate()) for axis in axes]
        feeds = self.rng.random() < 0.6
        current = {True: 10, False: 0}[feeds]
        if self.machine.motion != current or self.rng.random() < 0.4:
            words.append(self.rng.choice(["G1", "G01", "G1."]) if feeds else self.rng.choice(["G0", "G00"]))
        self.put(words + (self.feed_word() if feeds else []))

    def machine_place(self):
        words = [self.word(axis, self.coordinate()) for axis in self.rng.sample(AXES, self.rng.randint(1, 2))]
        self.put(words + ["G53", "G0"])

    def arc(self):
        """A centre, an angle, and the end that follows: so the radii agree up to rounding."""
        rng, machine = self.rng, self.machine
        first, second, normal = PLANES[machine.plane]
        scale = float(machine.scale)
        radius, heading = rng.uniform(0.1, 30) / (25.4 if self.inch else 1), rng.uniform(-math.pi, math.pi)
        turn = math.radians(rng.choice([90.0, 180.0, 270.0, 360.0, rng.uniform(1, 359)]))
        left = rng.random() < 0.5
        if not left:
            turn = -turn
        i, j = (round(radius * f(heading), 4) for f in (math.cos, math.sin))
        radius = math.hypot(i, j)
        begin = math.atan2(-j, -i)
        full = abs(turn) > 6.28
        dx = 0.0 if full else i + radius * math.cos(begin + turn)
        dy = 0.0 if full else j + radius * math.sin(begin + turn)
        if not full and math.hypot(dx, dy) < 0.01:
            return
        at = [float(v) / scale for v in machine.shown()]
        base = [0.0] * 3 if machine.incremental else at
        words = [self.word(AXES[first], base[first] + dx), self.word(AXES[second], base[second] + dy)]
        if full:
            # A whole circle is an end that is the start: leave one word out, write the other as a step of nothing.
            if not machine.incremental:
                return
            words = [AXES[first] + "0"]
        if rng.random() < 0.3:
            words.append(self.word(AXES[normal], base[normal] + rng.uniform(-1, 1)))
        if not full and rng.random() < 0.4 and abs(math.degrees(turn)) not in (180.0,):
            long_way = abs(turn) > math.pi
            # A little larger than needed never fails to reach.
            words.append(self.word("R", (-1 if long_way else 1) * (radius + 0.001)))
        else:
            # Both words: an offset of zero may be left out.
            words += [OFFSETS[first] + "%.4f" % i, OFFSETS[second] + "%.4f" % j]
        self.put(words + ["G3" if left else "G2"] + self.feed_word())

    def mode(self):
        rng = self.rng
        kind = rng.randrange(9)
        if kind == 0:
            self.put([rng.choice(["G90", "G91"])])
        elif kind == 1:
            self.put([rng.choice(["G17", "G18", "G19"])])
        elif kind == 2:
            self.put([rng.choice(["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"])])
        elif kind == 3:
            words = [self.word(axis, self.coordinate()) for axis in rng.sample(AXES, rng.randint(1, 3))]
            self.put(words + ["G92"] if rng.random() < 0.5 else words + ["G10", "L2", "P%d" % rng.randint(1, 9)])
        elif kind == 4:
            self.put([rng.choice(["G92.1", "G92.2", "G92.3"])])
        elif kind == 5:
            self.put(["G43", "H%d" % rng.randint(0, self.slots)] if rng.random() < 0.6 else ["G49"])
        elif kind == 6:
            if self.machine.inverse:
                self.put(["G94", "F%d" % rng.randrange(1, 900)])
            else:
                self.put(["G93"])
        elif kind == 7:
            words = [self.word(axis, self.coordinate()) for axis in rng.sample(AXES, rng.randint(0, 2))]
            self.put(words + [rng.choice(["G28", "G30"])])
        else:
            self.put(rng.choice([["M3", "S900"], ["M5"], ["M8"], ["M9"], ["G4", "P.5"], ["G61"], ["G64"], ["T1", "M6"],
                                 ["M48"], ["G40"], ["G99"], []]))

    def program(self):
        rng = self.rng
        self.inch = rng.random() < 0.4
        percent = rng.random() < 0.3
        if percent:
            self.lines.append("%")
        self.put([rng.choice(["G20"]) if self.inch else "G21", "G90", "G94", "G17"])
        self.put(["F100"])
        for _ in range(rng.randint(20, 60)):
            rng.choice([self.straight, self.straight, self.arc, self.arc, self.mode, self.machine_place])()
        self.put([rng.choice(["M2", "M30"])])
        if percent:
            self.lines.append("%")
        return rng.choice(["\n", "\r\n", "\r"]).join(self.lines) + rng.choice(["", "\n"])


def main():
    seed, count = int(sys.argv[1]), int(sys.argv[2])
    rng = random.Random(seed)
    for _ in range(count):
        place = lambda: [round(rng.uniform(-200, 200), 3) for _ in AXES]
        setup = {"start": place(), "origins": [place() for _ in range(9)], "home28": place(), "home30": place(),
                 "lengths": [round(rng.uniform(0, 80), 3) for _ in range(rng.randint(1, 5))]}
        text = Writer(rng, setup).program()
        motions = Machine(setup).run(text)
        print("program", len(text), len(motions), len(setup["lengths"]))
        for row in [setup["lengths"]] + setup["origins"] + [setup["start"], setup["home28"], setup["home30"]]:
            print(*row)
        sys.stdout.write(text + "\n")
        report(motions, sys.stdout)


if __name__ == "__main__":
    main()
