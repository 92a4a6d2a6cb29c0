"""Fits by numpy and scipy on columns that come on standard input, once for each line read after them.

Input: a count n, then n values each of two columns as 8-byte little-endian floats; then lines, each a piece of work.
Output: for each line the milliseconds that it took, and the numbers that it found. scipy is needed for the zones only.

    line lstsq, line closed form          columns x and y: intercept and slope
    limacon lstsq, limacon closed form    columns angle and reading: mean and both amplitudes
    zone circle SECONDS                   columns x and y of points in a plane: the width; nothing when it does not end in time
    zone line SECONDS                     columns x and y: the height of the strip

`lstsq` has its matrix before the clock starts. The closed form starts from the columns: it solves the normal equations about
the means, as one writes them in numpy.
"""

import os
import struct
import sys
import time

import numpy as np

# A library that writes to the standard output must not write between the answers.
answers = os.fdopen(os.dup(1), "w")
os.dup2(2, 1)

source = sys.stdin.buffer
(n,) = struct.unpack("<q", source.read(8))
a, b = (np.frombuffer(source.read(8 * n), dtype="<f8") for _ in range(2))


def line_matrix():
    return np.column_stack([np.ones(n), a])


def limacon_matrix():
    return np.column_stack([np.ones(n), np.cos(a), np.sin(a)])


def line_closed():
    x, y = a - a.mean(), b - b.mean()
    slope = (x @ y) / (x @ x)
    rest = y - slope * x
    (rest @ rest)
    return [b.mean() - slope * a.mean(), slope]


def limacon_closed():
    c, s = np.cos(a), np.sin(a)
    mc, ms, my = c.mean(), s.mean(), b.mean()
    c, s, y = c - mc, s - ms, b - my
    matrix = np.array([[c @ c, c @ s], [c @ s, s @ s]])
    p, q = np.linalg.solve(matrix, np.array([c @ y, s @ y]))
    rest = y - p * c - q * s
    (rest @ rest)
    return [my - p * mc - q * ms, p, q]


def program(columns, values, seconds):
    """The least h with |values - columns @ unknowns| <= h, and nothing when the solver does not end in time."""
    from scipy.optimize import linprog

    half = np.ones((len(values), 1))
    above = np.hstack([-columns, -half])
    below = np.hstack([columns, -half])
    unknowns = columns.shape[1]
    found = linprog(
        np.append(np.zeros(unknowns), 1.0),
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([-values, values]),
        bounds=[(None, None)] * unknowns + [(0, None)],
        method="highs",
        options={"time_limit": float(seconds)},
    )
    return [2 * found.x[-1]] if found.status == 0 else []


def zone_circle(seconds):
    """One linear program about the centre by least squares of the circle's equation."""
    equation = np.column_stack([a, b, np.ones(n)])
    p, q, _ = np.linalg.lstsq(equation, a * a + b * b, rcond=None)[0]
    x, y = a - p / 2, b - q / 2
    distance = np.hypot(x, y)
    columns = np.column_stack([np.ones(n), x / distance, y / distance])
    # The solver works to 1e-7: in micrometres that is nothing.
    found = program(columns, (distance - distance.mean()) * 1e3, seconds)
    return [width / 1e3 for width in found]


def zone_line(seconds):
    found = program(np.column_stack([np.ones(n), a - a.mean()]), (b - b.mean()) * 1e3, seconds)
    return [height / 1e3 for height in found]


matrix = None
for asked in source:
    words = asked.decode().split()
    if words[1] == "lstsq" and matrix is None:
        matrix = {"line": line_matrix, "limacon": limacon_matrix}[words[0]]()
    start = time.perf_counter()
    if words[0] == "zone":
        found = {"circle": zone_circle, "line": zone_line}[words[1]](words[2])
    elif words[1] == "lstsq":
        found = np.linalg.lstsq(matrix, b, rcond=None)[0]
    else:
        found = {"line": line_closed, "limacon": limacon_closed}[words[0]]()
    elapsed = (time.perf_counter() - start) * 1e3
    print(elapsed, *found, file=answers, flush=True)
