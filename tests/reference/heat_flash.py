"""The flash of one pass in SI units, written down independently from the formulas' sources.

    python3 heat_flash.py DEPTH,TABLE,WHEEL,CONTACT,U_REF,GRAIN,FLUID,STEEL...

in um, mm/s, m/s, mm, J/mm3, W/mK, W/m2K (of the fluid in a contact 1.4 mm long at 30 m/s; elsewhere as the root of
speed over length: laminar film over a flat plate), carbon or stainless; prints: rise K, share, power W/m, peclet.
Partition between grain and work: R. S. Hahn 1962, W. B. Rowe and others, CIRP Ann. 44(1), 1995. Moving band:
J. C. Jaeger 1942, by adaptive quadrature. Size effect: R. Snoeys, J. Peters, A. Decneut, CIRP Ann. 23(2), 1974.
"""
import sys

import numpy as np
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.special import k0, k0e

STEELS = {"carbon": (40.0, 7830.0, 480.0), "stainless": (24.0, 7700.0, 470.0)}


def jaeger(peclet):
    def rise(x):
        return (quad(lambda s: np.exp(-s) * k0(s), 0, min(peclet + x, 300), limit=400)[0]
                + quad(k0e, 0, peclet - x, limit=400)[0])
    found = minimize_scalar(lambda x: -rise(x), method="bounded", bounds=(-peclet, 0), options={"xatol": 1e-8})
    return -found.fun


def flash(depth_um, table, wheel, contact_mm, u_ref, grain, fluid, steel):
    k, rho, c = STEELS[steel]
    a, vw, vs, lc = float(depth_um) * 1e-6, float(table) * 1e-3, float(wheel), float(contact_mm) * 1e-3
    chip = a * vw / vs
    u = max(13.8e9, float(u_ref) * 1e9 * (0.1e-6 / chip) ** 0.4)
    power = u * a * vw
    to_chips = min(6e9, u) * a * vw
    alpha = k / (rho * c)
    half_band = lc / 2
    peclet = vw * half_band / (2 * alpha)
    unit_rise = 2 * alpha / (np.pi * k * vw) * jaeger(peclet)      # K per W/m2 into the steel
    partition = 1 / (1 + 0.97 * float(grain) / np.sqrt(k * rho * c) / np.sqrt(15e-6 * vs))
    rise = (power - to_chips) / lc / (1 / (unit_rise * partition) + float(fluid) * np.sqrt(vs / 30 * 1.4e-3 / lc))
    return rise, rise / unit_rise / (power / lc), power, peclet


for argument in sys.argv[1:]:
    print("%.12g %.12g %.12g %.12g" % flash(*argument.split(",")))
