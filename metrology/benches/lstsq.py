"""Times numpy's lstsq on data that come on standard input, once for each line read after them. Needs numpy.

Input: a count n, then n values each of x, y, t and r as 8-byte little-endian floats; then lines `line` or `limacon`.
Output: for each line the milliseconds of one fit, and what it found. The matrix is ready before the clock starts.
"""

import struct
import sys
import time

import numpy as np

source = sys.stdin.buffer
(n,) = struct.unpack("<q", source.read(8))
x, y, t, r = (np.frombuffer(source.read(8 * n), dtype="<f8") for _ in range(4))
one = np.ones(n)
fits = {
    b"line": (np.column_stack([one, x]), y),
    b"limacon": (np.column_stack([one, np.cos(t), np.sin(t)]), r),
}
for asked in source:
    matrix, values = fits[asked.strip()]
    start = time.perf_counter()
    found = np.linalg.lstsq(matrix, values, rcond=None)[0]
    elapsed = (time.perf_counter() - start) * 1e3
    print(elapsed, *found, flush=True)
