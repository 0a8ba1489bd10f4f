"""Makes src/heat/tables.h: two functions of the Peclet number as Chebyshev series in log10(peclet).

    python3 tests/reference/heat_tables.py > src/heat/tables.h

Band    shape factor of the moving uniform band on a half-space, from the closed form of Jaeger's integral
        (J. C. Jaeger, J. Proc. Roy. Soc. NSW 76, 1942).
Edge    the same band running off an insulated edge: transient solution with the source mirrored at the edge,
        largest over time, divided by the interior's steady peak. Method of images and instantaneous line
        source: H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., 1959, chapters 10 and 14.

Lengths here are in units of 2 * diffusivity / speed, times in units of diffusivity * (2 / speed)^2.
"""
import numpy as np
from scipy.optimize import brentq, minimize_scalar
from scipy.special import erf, erfc, k0e, k1e

COEFFICIENTS = 16
DECADES_PER_PIECE = 2


def running_integral(s):
    """Integral of exp(-t) K0(|t|) from 0 to s."""
    t = abs(s)
    if t < 1e-4:
        a = -np.log(t / 2) - np.euler_gamma
        even = t * t / 2 * (a + 0.5)
        odd = t * (a + 1) + t**3 / 4 * (a + 1 / 3) + t**3 / 12
        return odd - even if s > 0 else -(odd + even)
    if s > 0:
        return 1 + t * np.exp(-2 * t) * (k0e(t) - k1e(t))
    return 1 - t * (k0e(t) + k1e(t))


def interior_peak(peclet):
    """Jaeger's integral at the hottest point of the face."""
    def difference(log_s):
        s = np.exp(log_s)
        return -2 * s + np.log(k0e(s)) - np.log(k0e(2 * peclet - s))
    s = np.exp(brentq(difference, np.log(min(peclet, 1) * 1e-3), np.log(peclet), xtol=1e-14))
    return running_integral(s) - running_integral(s - 2 * peclet)


def shape_factor(peclet):
    return interior_peak(peclet) / (np.pi * np.sqrt(peclet))


NODES, WEIGHTS = np.polynomial.legendre.leggauss(16)


def quadrature(f, start, end):
    """Integral over time; u = sqrt(s) takes out the root singularity, panels crowd towards the start."""
    u0, u1 = np.sqrt(start), np.sqrt(end)
    edges = u0 + np.concatenate([[0], np.geomspace((u1 - u0) * 1e-12, u1 - u0, 80)])
    middle, half = (edges[1:] + edges[:-1]) / 2, (edges[1:] - edges[:-1]) / 2
    u = (middle[:, None] + half[:, None] * NODES).ravel()
    return np.sum((half[:, None] * WEIGHTS).ravel() * 2 * u * f(u * u))


def erf_between(low, high):
    return np.where(low > 0, erfc(low) - erfc(high),
                    np.where(high < 0, erfc(-high) - erfc(-low), erf(high) - erf(low)))


def rise_at_edge(time, peclet):
    """Rise at the edge when the middle of the band is 2 * time past it; source and mirror image add."""
    def source(age):
        centre = 2 * (time - age)
        near, far = np.minimum(centre + peclet, 0.0), np.minimum(centre - peclet, 0.0)
        root = np.sqrt(4 * age)
        return erf_between(far / root, np.maximum(near, far) / root) / np.sqrt(np.pi * age)
    longest = 60 + 3 * (abs(time) + peclet) + 20 * np.sqrt(peclet)
    kinks = {0.0, (2 * time + peclet) / 2, (2 * time - peclet) / 2, longest}
    cuts = sorted(k for k in kinks if 0 <= k <= longest)
    return np.pi * sum(quadrature(source, a, b) for a, b in zip(cuts, cuts[1:]))


def edge_factor(peclet):
    times = np.linspace(-peclet, 1.2 * peclet, 60)
    best = int(np.argmax([rise_at_edge(t, peclet) for t in times]))
    found = minimize_scalar(lambda t: -rise_at_edge(t, peclet), method="bounded",
                            bounds=(times[max(0, best - 1)], times[min(59, best + 1)]),
                            options={"xatol": 1e-8 * peclet})
    return -found.fun / interior_peak(peclet)


def series(f, low, high):
    def on_interval(x):
        return np.array([f(10 ** (low + (high - low) * (v + 1) / 2)) for v in x])
    return np.polynomial.chebyshev.chebinterpolate(on_interval, COEFFICIENTS - 1)


def print_table(name, f, low, high):
    print("static const double %s[][%d] = {" % (name, COEFFICIENTS))
    for start in range(low, high, DECADES_PER_PIECE):
        c = series(f, start, start + DECADES_PER_PIECE)
        print("    { /* 1e%d to 1e%d */" % (start, start + DECADES_PER_PIECE))
        for row in range(0, COEFFICIENTS, 4):
            print("      " + " ".join("%.17e," % v for v in c[row:row + 4]))
        print("    },")
    print("};")


print("/* tables.h - written by tests/reference/heat_tables.py, which see; do not edit. */")
print("#ifndef TANGWRIGHT_HEAT_TABLES_H\n#define TANGWRIGHT_HEAT_TABLES_H\n")
print("#define TABLE_COEFFICIENTS %d\n#define TABLE_DECADES_PER_PIECE %d\n" % (COEFFICIENTS, DECADES_PER_PIECE))
print("#define BAND_TABLE_FIRST_DECADE (-8)\n#define EDGE_TABLE_FIRST_DECADE (-8)\n")
print_table("band_table", shape_factor, -8, 8)
print()
print_table("edge_table", edge_factor, -8, 4)
print("\n#endif")
