"""The fewest blocks whose sums are given heights, as an integer program solved by scipy's HiGHS.

Input: a count n, then n lengths and n zeros as 8-byte little-endian floats, the lengths in steps of half a micrometre; then lines
`stack SECONDS HEIGHT...`, the heights in the same steps, one or two.
Output: for each line the milliseconds, the number of blocks, the sum of the errors in steps, and 1 when this is proven to be the best
within the time, else 0. Nothing after the time when nothing was found.

A sum may be one step off, and that costs a tenth of a block. No block is in two stacks.
"""

import os
import struct
import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

# A library that writes to the standard output must not write between the answers.
answers = os.fdopen(os.dup(1), "w")
os.dup2(2, 1)

source = sys.stdin.buffer
(n,) = struct.unpack("<q", source.read(8))
lengths = np.frombuffer(source.read(8 * n), dtype="<f8")
source.read(8 * n)


def solve(seconds, heights):
    stacks = len(heights)
    wide = n + 2
    rows = np.zeros((stacks + n, stacks * wide))
    for stack in range(stacks):
        at = stack * wide
        rows[stack, at : at + n] = lengths
        rows[stack, at + n : at + wide] = [-1, 1]
        rows[stacks + np.arange(n), at + np.arange(n)] = 1
    low = np.concatenate([heights, np.zeros(n)])
    high = np.concatenate([heights, np.ones(n)])
    found = milp(
        np.tile(np.append(np.ones(n), [0.1, 0.1]), stacks),
        constraints=LinearConstraint(rows, low, high),
        integrality=np.tile(np.append(np.ones(n), [0, 0]), stacks),
        bounds=Bounds(0, 1),
        options={"time_limit": seconds, "mip_rel_gap": 0},
    )
    if found.x is None:
        return []
    taken = np.round(found.x).reshape(stacks, wide)[:, :n]
    errors = np.abs(taken @ lengths - heights)
    return [int(taken.sum()), float(errors.sum()), int(found.status == 0)]


for asked in source:
    _, seconds, *heights = asked.decode().split()
    start = time.perf_counter()
    best = solve(float(seconds), np.array(heights, dtype=float))
    elapsed = (time.perf_counter() - start) * 1e3
    print(elapsed, *best, file=answers, flush=True)
