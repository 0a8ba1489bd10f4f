"""Asks whether src/ imports only downwards, in the order that DEVELOPERS.md gives.

The block after "## Layers" names one rank a line, lowest first; modules of one rank do not import each other. Headers
that the "data:" line names hold structures that all may read. The "apart:" line names who must not see whom. A "rooms:"
line names a module and its inner folders, lowest first; what lies beside them stands above them all."""
import collections
import pathlib
import re
import sys

HOMES = {"packing": "straight", "bench": "calibrate", "correct": "run", "plate": "heat", "history": "heat", "temper": "heat",
         "rim": "heat"}  # headers not named as their module
INCLUDE = re.compile(r'#include "(tangwright/)?([\w/]+)\.h"')


def read_order(text):
    block = re.search(r"## Layers\n.*?\n((?:    [^\n]*\n)+)", text, re.S).group(1)
    ranks, data, apart, rooms = {}, set(), [], {}
    for rank, line in enumerate(block.splitlines()):
        words = line.split()
        if words[0] == "data:":
            data = set(words[1:])
        elif words[0] == "rooms:":
            rooms[words[1]] = words[2:]
        elif words[0] == "apart:":
            split = words.index("from")
            apart.append((set(words[1:split]), set(words[split + 1:])))
        else:
            ranks.update({word: rank for word in words})
    return ranks, data, apart, rooms


def room_faults(module, rooms):
    """Imports of a module's own headers that climb from room to room."""
    def rank(parts):  # of src/MODULE/ROOM/FILE or src/MODULE/FILE
        return rooms.index(parts[0]) if len(parts) > 1 and parts[0] in rooms else len(rooms)

    faults = []
    for path in sorted(pathlib.Path("src", module).glob("**/*.[ch]")):
        own = path.parts[2:]
        if len(own) > 1 and own[0] not in rooms:
            faults.append(f"DEVELOPERS.md: no room is named for {path.parent}")
        for public_header, name in INCLUDE.findall(path.read_text()):
            parts = name.split("/")
            if not public_header and parts[0] == module and rank(parts[1:]) > rank(own):
                faults.append(f"{path}: imports {name}.h, which stands above it")
    return faults


def imports(data):
    """Pairs of module and imported module, with the file that does it."""
    found = collections.defaultdict(set)
    for path in sorted(pathlib.Path().glob("src/**/*.[ch]")) + sorted(pathlib.Path().glob("include/tangwright/*.h")):
        public = path.parts[0] == "include"
        if public and path.stem in data:
            continue
        module = HOMES.get(path.stem, path.stem) if public else path.parts[1]
        for public_header, name in INCLUDE.findall(path.read_text()):
            if public_header and name in data:
                continue
            other = HOMES.get(name, name) if public_header else name.split("/")[0]
            if other != module:
                found[module, other].add(str(path))
    return found


def main():
    ranks, data, apart, rooms = read_order(pathlib.Path("DEVELOPERS.md").read_text())
    modules = {path.parts[1] for path in pathlib.Path().glob("src/**/*.[ch]")}
    faults = [f"DEVELOPERS.md: no layer is named for src/{module}" for module in sorted(modules - set(ranks))]
    for (module, other), files in sorted(imports(data).items()):
        if module not in ranks or other not in ranks:
            continue
        if ranks[other] >= ranks[module]:
            faults.append(f"{min(files)}: src/{module} imports {other}, which does not stand below it")
        for seers, hidden in apart:
            if module in seers and other in hidden:
                faults.append(f"{min(files)}: src/{module} must not see {other}")
    for module, names in rooms.items():
        faults += room_faults(module, names)
    print("\n".join(faults) if faults else "every import goes down")
    return 1 if faults else 0


sys.exit(main())
