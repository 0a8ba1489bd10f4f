"""A tapered plate with a hole under a moving band of heat, solved independently of the program on a finer grid.

    python3 heat_plate.py        prints the rise in K at the probes below after the passes

60 x 20 mm, thickness 4 mm at x = 0 falling to 2.5 mm at x = 60, hole from 40 to 44 by 8 to 12 mm. Conductances: top 400,
joint 1500, edges 400 W/(m2 K), each face with thickness/(3 k) in series. k = 40, rho = 7830, c = 480 SI. Three passes of a band
2 mm long and 20 mm wide, 5 W/mm2, 50 mm/s along +x, starting 2 mm before the plate at 0, 2 and 4 s; at 3 s
0.2 mm is ground off everywhere. Probes at 6 s.
Crank-Nicolson in time with sparse direct factors, cells of 0.5 mm, properties from the formulas in SI.
"""
import numpy as np
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import splu

CELL, STEP, END = 0.5e-3, 0.005, 6.0
K, RHO_C = 40.0, 7830.0 * 480.0
TOP, JOINT, EDGE = 400.0, 1500.0, 400.0
NX, NY = round(60e-3 / CELL), round(20e-3 / CELL)
PROBES = [(5, 10), (20, 4), (38, 10), (42, 6), (50, 10), (58, 18), (59.5, 0.5)]

x = (np.arange(NX) + 0.5) * CELL
y = (np.arange(NY) + 0.5) * CELL
X, Y = np.meshgrid(x, y, indexing="ij")
hole = (X > 40e-3) & (X < 44e-3) & (Y > 8e-3) & (Y < 12e-3)
steel = ~hole
number = -np.ones((NX, NY), int)
number[steel] = np.arange(steel.sum())


def system(thickness):
    """Capacities, and the matrix of d(stored heat)/dt = A T."""
    rows, columns, values = [], [], []

    def couple(a, b, conductance):
        for r, c, v in ((a, a, -conductance), (b, b, -conductance), (a, b, conductance), (b, a, conductance)):
            rows.append(r), columns.append(c), values.append(v)

    def face(h, depth):
        return 1 / (1 / h + depth / K)
    loss = np.zeros((NX, NY))
    for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        for i in range(NX):
            for j in range(NY):
                if not steel[i, j]:
                    continue
                a, b = i + dx, j + dy
                inside = 0 <= a < NX and 0 <= b < NY and steel[a, b]
                if not inside:
                    loss[i, j] += CELL * thickness[i, j] * face(EDGE, CELL / 2)
                elif dx + dy > 0:
                    middle = (thickness[i, j] + thickness[a, b]) / 2
                    couple(number[i, j], number[a, b], K * middle)
    loss += CELL**2 * (face(TOP, thickness / 3) + face(JOINT, thickness / 3))
    conduct = coo_matrix((values, (rows, columns)), shape=(steel.sum(),) * 2).tocsc()
    return RHO_C * thickness[steel] * CELL**2, conduct - diags(loss[steel])


def band_power(start, end):
    """Mean power into the cells while the band slides, by sampling it finely."""
    power = np.zeros(NX)
    for t in start + (np.arange(20) + 0.5) / 20 * (end - start):
        for begin in (0.0, 2.0, 4.0):
            if begin <= t <= begin + 64 / 50:
                front = 0.05 * (t - begin)
                low = np.maximum(x - CELL / 2, front - 2e-3)
                high = np.minimum(x + CELL / 2, front)
                power += np.maximum(high - low, 0) * CELL * 5e6 / 20
    return np.repeat(power[:, None], NY, axis=1)[steel]


thickness = 4e-3 - 1.5e-3 * X / 60e-3
T = np.zeros(steel.sum())
capacity, A = system(thickness)
solver = None
for n in range(round(END / STEP)):
    t = n * STEP
    if n == round(3.0 / STEP):
        thickness = thickness - 0.2e-3
        capacity, A = system(thickness)
        solver = None
    C = diags(capacity / STEP)
    if solver is None:
        solver = splu((C - A / 2).tocsc())
    T = solver.solve((C + A / 2) @ T + band_power(t, t + STEP))
for px, py in PROBES:
    # mean of the cells around the probe's millimetre
    near = steel & (abs(X - px * 1e-3) < 0.5e-3) & (abs(Y - py * 1e-3) < 0.5e-3)
    print("%.9g" % T[number[near]].mean())
