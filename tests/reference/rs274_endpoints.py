#!/usr/bin/env python3
"""Where a legal RS-274 program goes, worked out apart from the C code.

From the rules of T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3", NISTIR 6556
(2000), sections 3.3 to 3.8. It judges no errors: give it legal text only. Lengths are exact fractions of mm until an
arc needs a root; planes are handled as complex numbers.

    rs274_endpoints.py SETUP.json < PROGRAM

prints one line per motion: line number, kind (R rapid, F feed, A arc), end in machine coordinates, end in program
coordinates, duration in s (0 for a rapid), path length, then for an arc its centre in machine coordinates, its sweep
in degrees and the middle of the path in machine coordinates.
"""
import cmath
import json
import math
import re
import sys
from fractions import Fraction

AXES = "XYZ"
OFFSETS = "IJK"
PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}  # first, second, normal axis: sections 3.5.3, 4.3.6.1
SYSTEMS = {540: 0, 550: 1, 560: 2, 570: 3, 580: 4, 590: 5, 591: 6, 592: 7, 593: 8}


def words_of(text):
    """The words of a line as (letter, Fraction), comments and blanks gone: section 3.3."""
    bare = re.sub(r"[ \t]", "", re.sub(r"\([^)]*\)", "", text)).upper()
    return [(letter, Fraction(number)) for letter, number in re.findall(r"([A-Z])([-+]?(?:\d+\.?\d*|\.\d+))", bare)]


class Machine:
    def __init__(self, setup):
        self.position = [Fraction(str(v)) for v in setup.get("start", [0, 0, 0])]  # machine coordinates
        self.origins = [[Fraction(str(v)) for v in row] for row in setup.get("origins", [[0, 0, 0]] * 9)]
        self.lengths = [Fraction(str(v)) for v in setup.get("lengths", [])]
        self.homes = {280: setup.get("home28"), 300: setup.get("home30")}
        self.system = 0
        self.shift = [Fraction(0)] * 3
        self.kept = [Fraction(0)] * 3
        self.length = Fraction(0)
        self.scale = Fraction(1)
        self.motion = None
        self.plane = 17
        self.incremental = False
        self.inverse = False
        self.feed = None
        self.ended = False

    def offset(self, axis):
        return self.origins[self.system][axis] + self.shift[axis] + (self.length if axis == 2 else 0)

    def shown(self):
        return [self.position[axis] - self.offset(axis) for axis in range(3)]

    def run(self, text):
        out = []
        percent = 0
        for number, line in enumerate(re.split(r"\r\n|\r|\n", text), 1):
            if line.strip() == "%":
                percent += 1
                if percent == 2:
                    break
                continue
            if not self.ended:
                out += [(number,) + motion for motion in self.line(line)]
        return out

    def line(self, text):
        words = words_of(text)
        g = [int(round(value * 10)) for letter, value in words if letter == "G"]
        m = [int(value) for letter, value in words if letter == "M"]
        w = {letter: value for letter, value in words if letter not in "GMN"}
        # table 8, the rows that move something or say how
        for code in g:
            if code in (930, 940):
                self.inverse = code == 930
        if "F" in w and not self.inverse:
            self.feed = w["F"] * self.scale
        for code in g:
            if code in (170, 180, 190):
                self.plane = code // 10
        for code in g:
            if code in (200, 210):
                self.scale = Fraction(254, 10) if code == 200 else Fraction(1)
        for code in g:
            if code == 430:
                slot = int(w["H"])
                self.length = self.lengths[slot - 1] if slot else Fraction(0)
            if code == 490:
                self.length = Fraction(0)
        for code in g:
            if code in SYSTEMS:
                self.system = SYSTEMS[code]
        for code in g:
            if code in (900, 910):
                self.incremental = code == 910
        axes = {AXES.index(letter): w[letter] * self.scale for letter in AXES if letter in w}
        moves = []
        taken = False
        for code in g:
            if code in (100, 280, 300, 920):
                taken = True
            if code == 100:
                for axis, value in axes.items():
                    self.origins[int(w["P"]) - 1][axis] = value
            elif code == 920:
                for axis, value in axes.items():
                    self.shift[axis] += self.shown()[axis] - value
                self.kept = list(self.shift)
            elif code == 921:
                self.shift, self.kept = [Fraction(0)] * 3, [Fraction(0)] * 3
            elif code == 922:
                self.shift = [Fraction(0)] * 3
            elif code == 923:
                self.shift = list(self.kept)
            elif code in (280, 300):
                if axes:
                    moves.append(self.straight("R", self.target(axes), w))
                moves.append(self.straight("R", [Fraction(str(v)) for v in self.homes[code]], w))
        for code in g:
            if code in (0, 10, 20, 30, 800):
                self.motion = code
        if axes and not taken:
            if 530 in g:
                end = list(self.position)
                for axis, value in axes.items():
                    end[axis] = value
            else:
                end = self.target(axes)
            if self.motion == 0:
                moves.append(self.straight("R", end, w))
            elif self.motion == 10:
                moves.append(self.straight("F", end, w))
            else:
                moves.append(self.arc(end, w))
        if 2 in m or 30 in m:
            self.ended = True
        return moves

    def target(self, axes):
        end = list(self.position)
        for axis, value in axes.items():
            end[axis] = self.position[axis] + value if self.incremental else value + self.offset(axis)
        return end

    def time(self, length, w):
        return float(60 / w["F"]) if self.inverse else length / float(self.feed) * 60.0

    def finish(self, kind, end, length, w, more=()):
        self.position = end
        duration = 0.0 if kind == "R" else self.time(length, w)
        return (kind, [float(v) for v in end], [float(v) for v in self.shown()], duration, length) + tuple(more)

    def straight(self, kind, end, w):
        length = math.sqrt(float(sum((b - a) ** 2 for a, b in zip(self.position, end))))
        return self.finish(kind, end, length, w)

    def arc(self, end, w):
        first, second, normal = PLANES[self.plane]
        a = complex(float(self.position[first]), float(self.position[second]))
        b = complex(float(end[first]), float(end[second]))
        left = self.motion == 30
        if "R" in w:
            radius = float(w["R"] * self.scale)
            # The triangle of half chord and radius: the angle at the start between the chord and the centre.
            angle = math.acos(min(1.0, abs(b - a) / 2 / abs(radius)))
            if left != (radius > 0):
                angle = -angle
            centre = a + (b - a) / abs(b - a) * abs(radius) * cmath.exp(1j * angle)
        else:
            i, j = (float(w.get(OFFSETS[axis], 0) * self.scale) for axis in (first, second))
            centre = a + complex(i, j)
        closed = end[first] == self.position[first] and end[second] == self.position[second]
        turn = 360.0 if closed else math.degrees(cmath.phase((b - centre) / (a - centre))) % 360.0
        if not left:
            turn = -360.0 if closed else turn - 360.0
        rise = float(end[normal] - self.position[normal])
        mean = (abs(a - centre) + abs(b - centre)) / 2
        length = math.hypot(math.radians(turn) * mean, rise)
        middle = centre + (a - centre) / abs(a - centre) * mean * cmath.exp(1j * math.radians(turn / 2))
        centre3, middle3 = [0.0] * 3, [0.0] * 3
        centre3[first], centre3[second], centre3[normal] = centre.real, centre.imag, float(self.position[normal])
        middle3[first], middle3[second] = middle.real, middle.imag
        middle3[normal] = float(self.position[normal]) + rise / 2
        return self.finish("A", end, length, w, (centre3, turn, middle3))


def report(motions, stream):
    for line, kind, end, shown, duration, length, *arc in motions:
        numbers = list(end) + list(shown) + [duration, length]
        if arc:
            numbers += list(arc[0]) + [arc[1]] + list(arc[2])
        stream.write("%d %s %s\n" % (line, kind, " ".join("%.17g" % v for v in numbers)))


if __name__ == "__main__":
    with open(sys.argv[1], encoding="ascii") as setup_file:
        report(Machine(json.load(setup_file)).run(sys.stdin.read()), sys.stdout)
