"""Times numpy's lstsq on the data of fits.rs: a line and a limaçon over a million points. Needs numpy."""

import time

import numpy as np

n = 1_000_000
i = np.arange(n)
noise = ((i * 0.7548776662466928) % 1.0 - 0.5) * 2.0

x = 60.0 * i / n
y = 0.2 + 1e-4 * x + 3e-3 * (1.0 - ((x - 30.0) / 30.0) ** 2) + 1e-3 * noise
t = 2.0 * np.pi * 10.0 * i / n
r = 8e-3 * np.cos(t - 1.0) + 2e-3 * np.cos(3.0 * t) + 1e-3 * noise


def best(f, runs=9):
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        f()
        times.append(time.perf_counter() - start)
    return min(times) * 1e3, sorted(times)[runs // 2] * 1e3


one = np.ones(n)
line = np.column_stack([one, x])
limacon = np.column_stack([one, np.cos(t), np.sin(t)])
for name, f in [
    ("line, matrix ready", lambda: np.linalg.lstsq(line, y, rcond=None)),
    ("line, matrix made", lambda: np.linalg.lstsq(np.column_stack([one, x]), y, rcond=None)),
    ("limaçon, matrix ready", lambda: np.linalg.lstsq(limacon, r, rcond=None)),
    (
        "limaçon, matrix made",
        lambda: np.linalg.lstsq(np.column_stack([one, np.cos(t), np.sin(t)]), r, rcond=None),
    ),
]:
    print("{:24} fastest {:7.2f} ms, median {:7.2f} ms".format(name, *best(f)))
