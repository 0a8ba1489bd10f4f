"""groups.py FOLDER SOURCE... - puts files of C together, so that a compiler which takes an eighth of a second to start reads a
dozen at a time. For the sanitizers' build alone: what people run is compiled file by file, and so learns each file's mistakes.

Writes FOLDER/NAME.c, which includes the files of one source folder that may stand in one, and FOLDER/groups.mk, with the list of
all NAMEs. Two files stand apart if both define a name of file scope, or if one asks its system headers for more than the others.
A name that is not seen here is refused by the compiler as defined twice: write it as the others are written.
"""

import functools
import os
import re
import sys

LARGEST_BYTES = 64000  # so that a changed line does not mean much to compile

NAMES = [
    re.compile(r"^static [^;={]*?\b(\w+)\s*(?:\[[^;=]*\])*\s*(?:\(|=|;)", re.M),  # functions and tables
    re.compile(r"^\} (\w+)\s*(?:\[|=|;)", re.M),  # tables of rows that have no name, and types
    re.compile(r"^#define (\w+)", re.M),
    re.compile(r"^(?:typedef )?(?:struct|enum|union) (\w+)\s*\{", re.M),
]
ENUM = re.compile(r"^(?:typedef )?enum[^;{(]*\{([^}]*)\}", re.M)
INCLUDE = re.compile(r'^#include "([^"]+)"', re.M)


@functools.cache
def text_of(path):
    with open(path, encoding="utf-8") as file:
        return re.sub(r"/\*.*?\*/|//[^\n]*", "", file.read(), flags=re.S)


@functools.cache
def names_in(path):
    text = text_of(path)
    names = {name for pattern in NAMES for name in pattern.findall(text)}
    return names.union(*(re.findall(r"\b([A-Z]\w*)\b", body) for body in ENUM.findall(text)))


@functools.cache
def headers_of(path):
    found = []
    for header in INCLUDE.findall(text_of(path)):
        places = (os.path.normpath(os.path.join(place, header)) for place in (os.path.dirname(path), "src", "include"))
        found += [place for place in places if os.path.exists(place)][:1]
    return found


def defined_in(path):
    """Which file defines each name that `path`, or a header of ours that it includes, defines."""
    reached, waiting = {path}, [path]
    while waiting:
        new = set(headers_of(waiting.pop())) - reached
        reached |= new
        waiting += new
    return {name: where for where in sorted(reached) for name in names_in(where)}


class Group:
    def __init__(self, alone):
        self.files, self.names, self.size, self.alone = [], {}, 0, alone

    def takes(self, names, size):
        return (
            not self.alone
            and self.size + size <= LARGEST_BYTES
            and all(self.names.get(name, where) == where for name, where in names.items())
        )

    def add(self, path, names, size):
        self.files.append(path)
        self.names.update(names)
        self.size += size


def grouped(sources):
    groups = {}
    for path in sources:
        names, size = defined_in(path), os.path.getsize(path)
        alone = re.search(r"^#define _\w+_SOURCE", text_of(path), re.M) is not None
        of_folder = groups.setdefault(os.path.dirname(path), [])
        group = None if alone else next((g for g in of_folder if g.takes(names, size)), None)
        if group is None:
            group = Group(alone)
            of_folder.append(group)
        group.add(path, names, size)
    for folder, of_folder in sorted(groups.items()):
        for number, group in enumerate(of_folder, 1):
            yield f"{folder}/group-{number}", group.files


def write_if_new(path, text):
    """Leaves a file that says the same as it is, so that nothing made from it is made again."""
    if os.path.exists(path):
        with open(path, encoding="utf-8") as file:
            if file.read() == text:
                return
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def main(folder, sources):
    names = []
    for name, files in grouped(sources):
        names.append(name)
        write_if_new(f"{folder}/{name}.c", "".join(f'#include "{file}"\n' for file in files))
    with open(f"{folder}/groups.mk", "w", encoding="utf-8") as file:
        file.write("GROUPS := " + " ".join(names) + "\n")


main(sys.argv[1], sys.argv[2:])
