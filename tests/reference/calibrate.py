"""Fits of the specific energy and of the partition with NumPy and SciPy, written apart from the program.

    python3 calibrate.py line N CHIP_um,ENERGY,RELATIVE...
        N "free": numpy.polyfit of a line in logarithms, cov="unscaled"; else the exponent, held fast (numpy.average).
        Prints ln u_ref, exponent, their variances and covariance, chi-square, its probability, residuals / sigma.
    python3 calibrate.py kinked FLOOR CHIP_um,ENERGY,RELATIVE...
        scipy.optimize.curve_fit of max(floor, u_ref (0.1/chip)^n) from many starts; prints u_ref, n, chi-square.
    python3 calibrate.py coverage DEGREES
        How often an interval of 1.96 s max(1, sqrt(chi2/degrees)) holds the truth, by quadrature over chi-square
        (independent of the estimate for normal errors: Cochran 1934).
    python3 calibrate.py share RISE,DEPTH,TABLE,WHEEL,CONTACT,U_REF,FLUID,STEEL...
        The partition at which heat_flash.py's flash reaches a rise, by scipy.optimize.brentq.
"""
import sys
import warnings

import numpy as np
from scipy.integrate import quad
from scipy.optimize import OptimizeWarning, brentq, curve_fit
from scipy.stats import chi2, norm


def points(words):
    return np.array([[float(v) for v in word.split(",")] for word in words]).T


def line(exponent, *words):
    chip, energy, relative = points(words)
    x, y, w = np.log(0.1 / chip), np.log(energy), 1 / relative
    if exponent == "free":
        (n, level), cov = np.polyfit(x, y, 1, w=w, cov="unscaled")
        variances = [cov[1, 1], cov[0, 0], cov[0, 1]]
        degrees = len(x) - 2
    else:
        n = float(exponent)
        level, weight = np.average(y - n * x, weights=w**2, returned=True)
        variances = [1 / weight, 0, 0]
        degrees = len(x) - 1
    residuals = (y - level - n * x) * w
    total = np.sum(residuals**2)
    print(*("%.17g" % v for v in [level, n, *variances, total, chi2.sf(total, degrees), *residuals]))


def kinked(floor, *words):
    chip, energy, relative = points(words)
    floor = float(floor)

    def model(x, level, n):
        return np.maximum(level + n * x, np.log(floor))

    best = None
    x = np.log(0.1 / chip)
    for start in np.linspace(np.log(5), np.log(200), 12):
        for n in (0.2, 0.4, 0.6):
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", OptimizeWarning)
                found, _ = curve_fit(model, x, np.log(energy), (start, n), relative, True, xtol=1e-14, ftol=1e-14)
            total = np.sum(((np.log(energy) - model(x, *found)) / relative) ** 2)
            if best is None or total < best[2]:
                best = (np.exp(found[0]), found[1], total)
    print("%.17g %.17g %.17g" % best)


def coverage(degrees):
    nu = int(degrees)
    z = norm.ppf(0.975)

    def holds(c):
        return (2 * norm.cdf(z * max(1.0, np.sqrt(c / nu))) - 1) * chi2.pdf(c, nu)

    print("%.12g" % (quad(holds, 0, nu)[0] + quad(holds, nu, 200)[0]))


def share(*words):
    cases, sys.argv[1:] = list(words), []
    from heat_flash import STEELS, flash  # it answers sys.argv when imported
    for case in cases:
        rise, depth, table, wheel, contact, u_ref, fluid, steel = case.split(",")
        k, rho, c = STEELS[steel]

        def grain(part):  # the conductivity whose Hahn partition this is
            return (1 / part - 1) / 0.97 * np.sqrt(k * rho * c) * np.sqrt(15e-6 * float(wheel))

        print("%.17g" % brentq(lambda part: flash(depth, table, wheel, contact, u_ref, grain(part), fluid, steel)[0]
                               - float(rise), 0.01, 1.0, xtol=1e-13))


# A slash begins the next question of the same kind.
way = {"line": line, "kinked": kinked, "coverage": coverage, "share": share}[sys.argv[1]]
for question in " ".join(sys.argv[2:]).split("/"):
    way(*question.split())
