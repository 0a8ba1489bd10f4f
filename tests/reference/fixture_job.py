"""A job as it is once its fixture was made: the profile is named, and nothing of the old fixture is left.

Usage: fixture_job.py JOB PROFILE PARTS OUT"""
import pathlib
import re
import sys


def end_of_group(text, start):
    """Behind the semicolon that ends the group whose brace is the first after `start`."""
    depth = 0
    for i in range(text.index("{", start), len(text)):
        depth += {"{": 1, "}": -1}.get(text[i], 0)
        if depth == 0:
            return text.index(";", i) + 1
    raise ValueError("a group without an end")


def main():
    job, profile, parts, out = sys.argv[1:]
    folder = pathlib.Path(job).resolve().parent
    text = pathlib.Path(job).read_text(encoding="utf-8")
    text = re.sub(r'(profile|file)(\s*=\s*)"([^"]+)"', lambda m: f'{m[1]}{m[2]}"{folder / m[3]}"', text)
    text = re.sub(r"\bparts\s*=\s*\d+;", "", text)
    start = re.search(r"(?m)^fixture:\s*\{", text).start()
    text = text[:start] + f'fixture: {{ profile = "{pathlib.Path(profile).resolve()}"; }};\nparts = {parts};\n' + text[end_of_group(text, start):]
    pathlib.Path(out).write_text(text, encoding="utf-8")


main()
