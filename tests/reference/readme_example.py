"""Puts the beginning of what the program prints now into the README's worked example: readme_example.py README.md TANGWRIGHT"""
import subprocess
import sys

readme, tangwright = sys.argv[1:]
arguments = ["preview", "samples/santoku-170/job.cfg"]
head = "$ tangwright %s\n" % " ".join(arguments)
printed = subprocess.run([tangwright, *arguments], check=True, capture_output=True, text=True).stdout
printed = printed[: printed.index("\n\n") + 1] + "...\n"  # as far as the first empty line
text = open(readme, encoding="utf-8").read()
before, shown = text.split(head)
after = shown[shown.index("```"):]
with open(readme + ".part", "w", encoding="utf-8") as out:
    out.write(before + head + printed + after)
