"""A job as it is once its fixture was made: the profile is named, and nothing of the old fixture is left.

Usage: fixture_job.py JOB PROFILE PARTS OUT [FROM TO LOW HIGH]

With four more numbers, mm, a block stands under the tang's free end there with side A up, and its mirror image, as high as the
ground face, with side B up: two more pads in a copy of the profile beside OUT."""
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


def with_block(profile, out, box):
    """The copy's path."""
    x0, x1, low, high = box
    text = pathlib.Path(profile).read_text(encoding="utf-8")
    rest = re.search(r'name = "rest B".*?box = \["([-0-9.]+) mm", "[-0-9.]+ mm", "([-0-9.]+) mm".*?top = "([0-9.]+) mm"; rise = "([0-9.]+) mm"', text)
    front, rear, top, rise = (float(number) for number in rest.groups())
    slope = rise / (rear - front)
    pads = f"""    {{ name = "block, A up"; kind = "pad"; sides = "a"; box = ["{x0} mm", "{low} mm", "{x1} mm", "{high} mm"]; top = "0 mm"; }},
    {{ name = "block, B up"; kind = "pad"; sides = "b"; box = ["{x0} mm", "{-high} mm", "{x1} mm", "{-low} mm"]; top = "{top + slope * (x1 - rear):.4f} mm"; rise = "{slope * (x1 - x0):.4f} mm"; }},
"""
    copy = pathlib.Path(out).with_suffix(".fixture.cfg")
    copy.write_text(text.replace("keep_outs = (\n", "keep_outs = (\n" + pads, 1), encoding="utf-8")
    return copy


def main():
    job, profile, parts, out = sys.argv[1:5]
    if len(sys.argv) > 5:
        profile = with_block(profile, out, [float(number) for number in sys.argv[5:9]])
    folder = pathlib.Path(job).resolve().parent
    text = pathlib.Path(job).read_text(encoding="utf-8")
    text = re.sub(r'(profile|file)(\s*=\s*)"([^"]+)"', lambda m: f'{m[1]}{m[2]}"{folder / m[3]}"', text)
    text = re.sub(r"\bparts\s*=\s*\d+;", "", text)
    start = re.search(r"(?m)^fixture:\s*\{", text).start()
    text = text[:start] + f'fixture: {{ profile = "{pathlib.Path(profile).resolve()}"; }};\nparts = {parts};\n' + text[end_of_group(text, start):]
    pathlib.Path(out).write_text(text, encoding="utf-8")


main()
