#!/usr/bin/env python3
"""The removal of a wheel on a field of heights, written plainly with NumPy.

A second, independent way from the motions to the heights, and the measure for the speed of the C code. Every motion is
worked on as one array operation over the box it can reach.

    removal_numpy.py HEIGHTS < PROBLEM

PROBLEM: one line "x y cell columns rows bottom", one line "disc R WIDTH" or "cup R RIM", one line "x0 x1 y0 y1 top" (a
rectangle of stock), then one line "x0 y0 z0 x1 y1 z1" per motion. Writes the heights as rows of doubles to HEIGHTS and
prints the volume of each motion, then "seconds S" for the motions alone.
"""
import sys
import time

import numpy as np


def disc_floor(x, y, a, b, radius, width):
    """Lowest point over each cell of a cylinder along y. Its height is convex in time, so the best time is the free
    optimum put back into the times at which the cylinder is over the cell."""
    dx, dy, dz = b - a
    t0, t1 = np.zeros_like(x), np.ones_like(x)
    for rate, low, high in ((dx, x - radius - a[0], x + radius - a[0]), (dy, y - width / 2 - a[1], y + width / 2 - a[1])):
        if rate != 0:
            t0 = np.maximum(t0, np.minimum(low / rate, high / rate))
            t1 = np.minimum(t1, np.maximum(low / rate, high / rate))
        else:
            outside = (low > 0) | (high < 0)
            t1 = np.where(outside, -1.0, t1)
    if dx != 0:
        slope = dz / dx
        best = (x - a[0] - radius * slope / np.sqrt(1 + slope * slope)) / dx
    else:
        best = np.full_like(x, 0.0 if dz >= 0 else 1.0)
    t = np.clip(best, t0, np.maximum(t0, t1))
    u = x - a[0] - t * dx
    z = a[2] + t * dz + radius - np.sqrt(np.maximum(radius * radius - u * u, 0.0))
    return np.where(t0 <= t1, z, np.inf)


def cup_floor(x, y, a, b, radius, rim):
    """Lowest point over each cell of a flat ring: at the first or last time that the cell is under it."""
    way = b[:2] - a[:2]
    length = np.hypot(*way)
    px, py = x - a[0], y - a[1]
    if length == 0:
        r = np.hypot(px, py)
        return np.where((r <= radius) & (r >= radius - rim), min(a[2], b[2]), np.inf)
    along = (px * way[0] + py * way[1]) / length
    beside2 = np.maximum(px * px + py * py - along * along, 0.0)
    outer = np.sqrt(np.maximum(radius * radius - beside2, 0.0))
    inner = np.sqrt(np.maximum((radius - rim) ** 2 - beside2, 0.0))
    best = np.full_like(x, np.inf)
    rate = (b[2] - a[2]) / length
    for start, end in ((along - outer, along - inner), (along + inner, along + outer)):
        s0, s1 = np.maximum(start, 0.0), np.minimum(end, length)
        z = a[2] + rate * (s0 if rate >= 0 else s1)
        best = np.where((beside2 <= radius * radius) & (s0 <= s1), np.minimum(best, z), best)
    return best


def main():
    lines = sys.stdin.read().splitlines()
    x0, y0, cell, columns, rows, bottom = (float(v) for v in lines[0].split())
    columns, rows = int(columns), int(rows)
    shape, radius, other = lines[1].split()
    radius, other = float(radius), float(other)
    sx0, sx1, sy0, sy1, top = (float(v) for v in lines[2].split())
    motions = [np.array([float(v) for v in line.split()]) for line in lines[3:]]
    xs = x0 + (np.arange(columns) + 0.5) * cell
    ys = y0 + (np.arange(rows) + 0.5) * cell
    inside = ((xs > sx0) & (xs < sx1))[None, :] & ((ys > sy0) & (ys < sy1))[:, None]
    heights = np.where(inside, top, -np.inf)
    half = (radius, other / 2) if shape == "disc" else (radius, radius)
    volumes = []
    began = time.perf_counter()
    for motion in motions:
        a, b = motion[:3], motion[3:]
        low, high = np.minimum(a, b), np.maximum(a, b)
        c0, c1 = np.searchsorted(xs, low[0] - half[0]), np.searchsorted(xs, high[0] + half[0], side="right")
        r0, r1 = np.searchsorted(ys, low[1] - half[1]), np.searchsorted(ys, high[1] + half[1], side="right")
        if c0 >= c1 or r0 >= r1 or low[2] >= top:
            volumes.append(0.0)
            continue
        x, y = np.meshgrid(xs[c0:c1], ys[r0:r1])
        floor = disc_floor(x, y, a, b, radius, other) if shape == "disc" else cup_floor(x, y, a, b, radius, other)
        part = heights[r0:r1, c0:c1]
        after = np.minimum(part, np.maximum(floor, bottom))
        cut = part > after
        volumes.append(float(np.sum(part[cut] - after[cut])) * cell * cell)
        heights[r0:r1, c0:c1] = after
    seconds = time.perf_counter() - began
    heights.tofile(sys.argv[1])
    for volume in volumes:
        print("%.12g" % volume)
    print("seconds %.6f" % seconds)


if __name__ == "__main__":
    main()
