"""Peaks over an insulated exit edge and on a plate, by ways of their own.

    python3 heat_factors.py edge PECLET...
    python3 heat_factors.py plate CONTACT_mm,TABLE_mm_per_s,THICKNESS_mm,BACK_W_per_m2K...

The plate's steel has k = 40, rho = 7830, c = 480 in SI units.


Edge   adaptive quadrature over the age of the heat, source and its mirror image behind the edge.
Plate  one exponential solution along the face for each of 4000 eigenfunctions over the thickness, the rest of
       the series summed as if it were an integral. For an insulated back (0) instead a row of mirrored
       half-space solutions (method of images).
Both methods: H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., Oxford 1959, chapters 10, 14.
"""
import sys

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar
from scipy.special import erf, k0, k0e


def interior(peclet):
    def rise(x):
        ahead = quad(lambda s: np.exp(-s) * k0(s), 0, min(peclet + x, 300), epsabs=0, epsrel=1e-11,
                     limit=400)[0]
        behind = quad(lambda s: k0e(s), 0, peclet - x, epsabs=0, epsrel=1e-11, limit=400)[0]
        return ahead + behind
    found = minimize_scalar(lambda x: -rise(x), method="bounded", bounds=(-peclet, 0),
                            options={"xatol": 1e-9 * peclet})
    return -found.fun


def edge(peclet):
    """Lengths in 2 alpha/v, times in alpha (2/v)^2, as the solution on the face is written there."""
    def rise(time):
        def integrand(root):
            age = root * root
            centre = 2 * (time - age)
            near, far = min(centre + peclet, 0.0), min(centre - peclet, 0.0)
            if root == 0.0:
                return 2 / np.sqrt(np.pi) * (near == 0.0)
            return 2 / np.sqrt(np.pi) * (erf(near / (2 * root)) - erf(far / (2 * root)))
        cuts = {0.0, np.sqrt(60 + 4 * peclet)}
        cuts |= {np.sqrt((2 * time + k * peclet) / 2) for k in (-1, 1) if 2 * time + k * peclet > 0}
        cuts = sorted(cuts)
        return np.pi * sum(quad(integrand, a, b, epsabs=1e-12, epsrel=1e-11, limit=400)[0]
                           for a, b in zip(cuts, cuts[1:]))
    found = minimize_scalar(lambda t: -rise(t), method="bounded", bounds=(-0.6 * peclet, 0.6 * peclet),
                            options={"xatol": 1e-7 * peclet})
    return -found.fun / interior(peclet)


def insulated_plate(peclet, thickness):
    """Method of images: Jaeger's integral at depth 0 and twice at each even multiple of the thickness."""
    def at_depth(x, z):
        def integrand(t):                                # s = z sinh(t)
            return z * np.cosh(t) * k0e(z * np.cosh(t)) * np.exp(-z * np.exp(t))
        low, high = np.arcsinh((x - peclet) / z), np.arcsinh((x + peclet) / z)
        return quad(integrand, low, high, epsabs=0, epsrel=1e-11, limit=400)[0]

    def rise(x):
        deep = [at_depth(x, 2 * i * thickness) for i in range(1, 1 + int(30 / thickness))]
        return at_depth(x, 1e-12) + 2 * sum(deep)
    found = minimize_scalar(lambda x: -rise(x), method="bounded", bounds=(-peclet, peclet),
                            options={"xatol": 1e-6})
    return -found.fun / interior(peclet)


def plate(contact_mm, table, thickness, back):
    k, alpha = 40e-3, 40 / (7830 * 480) * 1e6
    if back == 0:
        return insulated_plate(table * contact_mm / (4 * alpha), table * thickness / (2 * alpha))
    l, biot = contact_mm / 2, back * 1e-6 * thickness / k
    n = np.arange(4000)
    lam = np.array([brentq(lambda x: x * np.sin(x) - biot * np.cos(x), i * np.pi, (i + 0.5) * np.pi) for i in n])
    weight = 2 / (1 + np.sinc(2 * lam / np.pi))          # of each mode at z = 0, over the thickness
    half = table / (2 * alpha)
    reach = np.sqrt(half**2 + (lam / thickness)**2)
    ahead, behind = reach + half, reach - half           # decay lengths before and behind the source

    def rise(x):
        # each mode: integral over the band of exp(-decay * distance) / (2 alpha reach)
        terms = ((1 - np.exp(-behind * (l - x))) / behind + (1 - np.exp(-ahead * (x + l))) / ahead) / (2 * reach)
        tail = thickness**2 / (np.pi**2 * (n[-1] + 0.5)) # sum of 1/lam^2 beyond the last one
        return (np.sum(weight * terms) + 2 * tail) / (thickness * k)
    found = minimize_scalar(lambda x: -rise(x), method="bounded", bounds=(-l, l), options={"xatol": 1e-9})
    peclet = table * contact_mm / (4 * alpha)
    return -found.fun / (2 * alpha / (np.pi * k * table) * interior(peclet))


for argument in sys.argv[2:]:
    if sys.argv[1] == "edge":
        print("%.12g" % edge(float(argument)))
    else:
        print("%.12g" % plate(*map(float, argument.split(","))))
