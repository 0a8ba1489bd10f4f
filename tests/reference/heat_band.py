"""Peak of the moving uniform band by adaptive quadrature of Jaeger's integral.

    python3 heat_band.py PECLET...      prints one line each: peclet, integral, place, mean over max

Independent of the closed form: the integral of exp(-s) K0(|s|) is done numerically (SciPy's QUADPACK, s = exp(y)
to take out the logarithm at s = 0) and the hottest point is looked for among its values.
Integral: J. C. Jaeger, J. Proc. Roy. Soc. NSW 76, 1942; H. S. Carslaw, J. C. Jaeger, Conduction of Heat in
Solids, 2nd ed., Oxford 1959, 10.7 VII.
"""
import sys

import numpy as np
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.special import k0e


def part(end, ahead):
    """Integral from 0 to end > 0 of exp(-s) K0(s) (ahead) or exp(s) K0(s) (behind)."""
    def integrand(y):
        s = np.exp(y)
        return s * k0e(s) * (np.exp(-2 * s) if ahead else 1.0)
    top = min(np.log(end), np.log(60.0)) if ahead else np.log(end)
    cuts = np.linspace(np.log(end) - 45 if np.log(end) < top + 1 else top - 45, top, 10)
    return sum(quad(integrand, a, b, epsabs=0, epsrel=1e-12)[0] for a, b in zip(cuts, cuts[1:]))


def rise(x, peclet):
    return part(peclet + x, True) + part(peclet - x, False)


def mean(peclet):
    """Mean over the band: the integral of (1 - s/z) 2 cosh(s) K0(s) from 0 to z = 2 peclet."""
    z = 2 * peclet

    def integrand(y):
        s = np.exp(y)
        return s * (1 - s / z) * k0e(s) * (1 + np.exp(-2 * s))
    cuts = np.linspace(np.log(z) - 45, np.log(z), 10)
    return sum(quad(integrand, a, b, epsabs=0, epsrel=1e-12)[0] for a, b in zip(cuts, cuts[1:]))


def hottest(peclet):
    # q = distance from the trailing end, sought on a logarithmic scale
    found = minimize_scalar(lambda q: -rise(np.exp(q) - peclet, peclet), method="bounded",
                            bounds=(np.log(peclet) - 14, np.log(peclet) - 1e-9), options={"xatol": 1e-10})
    return -found.fun, np.exp(found.x) / peclet - 1


for argument in sys.argv[1:]:
    value = float(argument)
    integral, place = hottest(value)
    print("%.17g %.15g %.12g %.15g" % (value, integral, place, mean(value) / integral))
