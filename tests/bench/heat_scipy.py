"""Times the case of tests/reference/heat_plate.py on other cells and steps, and says how far it is from the fine one.

    python3 heat_scipy.py CELL_MM STEP_S        prints "seconds S" and "probes" with the rise at each probe

Only the steps in time are timed, with the factorisation they need; putting the matrix together, which is slow in Python
and could be done better, is not.
"""
import os
import sys
import time

PATH = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "reference", "heat_plate.py")
FIXED = "CELL, STEP, END = 0.5e-3, 0.005, 6.0"

source = open(PATH).read().replace("< 0.5e-3", "< 0.51e-3")     # cells of 1 mm: the four around the probe
assert FIXED in source and "\nthickness = " in source
setup, run = source.replace(FIXED, "CELL, STEP, END = %r, %r, 6.0" % (float(sys.argv[1]) * 1e-3, float(sys.argv[2]))
                            ).split("\nthickness = ")
names, putting_together = {}, [0.0]
probes = []
names["print"] = lambda text: probes.append(text)
exec(setup, names)
plain = names["system"]


def system(*arguments):
    began = time.process_time()
    answer = plain(*arguments)
    putting_together[0] += time.process_time() - began
    return answer


names["system"] = system
began = time.process_time()
exec("thickness = " + run, names)
seconds = time.process_time() - began - putting_together[0]
print("seconds %.6f" % seconds)
for i, probe in enumerate(probes):
    print("probe%d %s" % (i, probe))
