"""Spoils a program in one way, so that a test can see whether the check of programs notices.

    python3 spoil_program.py WAY FOLDER       changes FOLDER/side-a.nc, or what finishes side A where it is roughed first

shift:X:-12.5     adds to all words of a letter, in the program's unit
mirror:Y          changes the sign of all words of a letter
unfinished        leaves out the last third of the moves
skip              leaves out a third of the moves in the middle
rapid             turns all feeds after the first third into rapids
feed:2            multiplies all feeds
"""
import os
import re
import sys


def changed(line, letter, change):
    def word(found):
        return "%s%.*f" % (letter, len(found.group(1).partition(".")[2]), change(float(found.group(1))))
    return line if line.startswith("(") or "G4" in line else re.sub(letter + r"(-?[0-9]+(?:\.[0-9]+)?)", word, line)


def spoil(lines, way, letter="", amount="0"):
    moves = [i for i, line in enumerate(lines) if re.search(r"\bG0?[01]\b", line) and not line.startswith("(")]
    third = len(moves) // 3
    if way == "shift":
        return [changed(line, letter, lambda v: v + float(amount)) for line in lines]
    if way == "mirror":
        return [changed(line, letter, lambda v: -v) for line in lines]
    if way == "feed":
        return [changed(line, "F", lambda v: v * float(letter)) for line in lines]
    if way == "unfinished":
        gone = set(moves[-third:-1])
    elif way == "skip":
        gone = set(moves[third:2 * third])
    elif way == "rapid":
        for i in moves[third:]:
            lines[i] = re.sub(r"\bG(0?)1\b", r"G\g<1>0", re.sub(r" F[0-9.]+", "", lines[i]))
        return lines
    return [line for i, line in enumerate(lines) if i not in gone]


def spoil_folder(way, folder):
    path = os.path.join(folder, "side-a.nc")
    if not os.path.exists(path):        # what is left out of the roughing, the finishing would meet
        path = os.path.join(folder, "side-a-rough.nc" if way in ("skip", "rapid") else "side-a-finish.nc")
    with open(path, newline="") as file:
        lines = file.readlines()
    with open(path, "w", newline="") as file:
        file.writelines(spoil(lines, *way.split(":")))


if __name__ == "__main__":
    spoil_folder(sys.argv[1], sys.argv[2])
