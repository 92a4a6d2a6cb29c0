"""Independent answers for the steps, by numpy and scipy: writes answers.json beside itself.

    python -m venv /some/where && /some/where/bin/pip install numpy scipy && /some/where/bin/python make.py

Least squares by numpy.linalg.lstsq on the design matrix, minimum zones as linear programs by scipy.optimize.linprog
(HiGHS), circles by scipy.optimize.least_squares, filters by numpy.fft and scipy.ndimage, distributions by scipy.stats.
Data are made here from a fixed seed and rounded, so that they are the same wherever they are read.
"""

import json
import math
import pathlib

import numpy as np
import scipy
from scipy import ndimage, optimize, stats

rng = np.random.default_rng(20)


def rounded(values, places=7):
    return [round(float(v), places) for v in values]


def lstsq(rows, y):
    """Unknowns, their standard deviations and the residual standard deviation."""
    rows, y = np.asarray(rows), np.asarray(y)
    unknowns, _, rank, _ = np.linalg.lstsq(rows, y, rcond=None)
    assert rank == rows.shape[1]
    dof = len(y) - rows.shape[1]
    rest = y - rows @ unknowns
    sd = math.sqrt(float(rest @ rest) / dof) if dof > 0 else None
    inverse = np.linalg.inv(rows.T @ rows)
    sds = [sd * math.sqrt(inverse[i, i]) for i in range(len(unknowns))] if sd is not None else None
    return unknowns, sds, sd, rest


def zone(rows, y):
    """Height of the lowest zone of y − rows·unknowns, as a linear program: minimise high − low."""
    rows, y = np.asarray(rows, float), np.asarray(y, float)
    scale = float(np.max(np.abs(y - y.mean()))) or 1.0
    v = (y - y.mean()) / scale
    n, p = rows.shape
    one = np.ones((n, 1))
    nought = np.zeros((n, 1))
    upper = np.hstack([-rows, nought, -one])
    lower = np.hstack([rows, one, nought])
    found = optimize.linprog(
        np.r_[np.zeros(p), -1.0, 1.0],
        A_ub=np.vstack([upper, lower]),
        b_ub=np.r_[-v, v],
        bounds=[(None, None)] * (p + 2),
        method="highs-ds",
    )
    assert found.status == 0, found.message
    return float(found.fun) * scale, found.x[:p] * scale


def sweep_case(name, x, y):
    x, y = np.asarray(rounded(x)), np.asarray(rounded(y))
    (intercept, slope), sds, sd, rest = lstsq(np.column_stack([np.ones_like(x), x]), y)
    height, (zone_slope,) = zone(x[:, None], y)
    u = (x - (x.min() + x.max()) / 2) / ((x.max() - x.min()) / 2)
    (_, _, bend), _, _, _ = lstsq(np.column_stack([np.ones_like(u), u, u * u]), y)
    return {
        "name": name,
        "position_mm": rounded(x),
        "reading_mm": rounded(y),
        "slope": float(slope),
        "slope_u": sds[1],
        "intercept_mm": float(intercept),
        "residual_sd_mm": sd,
        # Straightness counts square to the line.
        "straightness_ls_um": float(rest.max() - rest.min()) / math.hypot(1, slope) * 1e3,
        "straightness_mz_um": height / math.hypot(1, zone_slope) * 1e3,
        "bow_um": float(-bend) * 1e3,
    }


def sweeps():
    even = np.linspace(0.0, 60.0, 121)
    scattered = rng.uniform(-20.0, 90.0, 80)
    stations = np.repeat([0.0, 15.0, 40.0, 60.0, 80.0], 6)
    yield sweep_case(
        "even, bowed", even, 0.4 + 1e-4 * even + 3e-3 * (1 - (even / 30 - 1) ** 2) + rng.normal(0, 2e-4, 121)
    )
    yield sweep_case("out of order", scattered, -1.2 - 3e-5 * scattered + rng.normal(0, 1e-3, 80))
    yield sweep_case("stations", stations, 2e-5 * stations + rng.normal(0, 5e-4, 30))
    yield sweep_case("waves", even, 1e-3 * np.sin(even / 3.0) + rng.uniform(-1e-4, 1e-4, 121))
    yield sweep_case("steep", even, 0.05 * even + rng.normal(0, 1e-2, 121))
    yield sweep_case("three", [0.0, 20.0, 60.0], [0.001, 0.004, 0.002])


def turn_case(name, degrees, y, orders):
    degrees, y = np.asarray(rounded(degrees, 6)), np.asarray(rounded(y))
    t = np.radians(degrees)
    limacon = np.column_stack([np.ones_like(t), np.cos(t), np.sin(t)])
    (mean, a, b), _, sd, rest = lstsq(limacon, y)
    height, centre = zone(limacon[:, 1:], y)
    columns = [np.ones_like(t)]
    for k in range(1, orders + 1):
        columns += [np.cos(k * t), np.sin(k * t)]
    unknowns, _, _, _ = lstsq(np.column_stack(columns), rest)
    return {
        "name": name,
        "angle_deg": rounded(degrees, 6),
        "reading_mm": rounded(y),
        "tir_um": float(y.max() - y.min()) * 1e3,
        "mean_mm": float(mean),
        "eccentricity_um": math.hypot(a, b) * 1e3,
        "high_spot_deg": math.degrees(math.atan2(b, a)) % 360.0,
        "roundness_ls_um": float(rest.max() - rest.min()) * 1e3,
        "roundness_mz_um": height * 1e3,
        "zone_centre_um": [float(c) * 1e3 for c in centre],
        "orders": orders,
        "harmonics_um": [
            math.hypot(unknowns[2 * k - 1], unknowns[2 * k]) * 1e3 for k in range(2, orders + 1)
        ],
    }


def turns():
    even = np.arange(0.0, 360.0, 3.0)
    t = np.radians(even)
    lobes = 4e-3 * np.cos(t - 1) + 1.5e-3 * np.cos(3 * t + 0.2) + 4e-4 * np.cos(7 * t)
    yield turn_case("even", even, 0.2 + lobes + rng.normal(0, 2e-4, 120), 15)
    uneven = np.sort(rng.uniform(0.0, 360.0, 90))
    t = np.radians(uneven)
    yield turn_case(
        "uneven", uneven, -0.3 + 2e-3 * np.sin(t) + 2e-3 * np.cos(2 * t) + rng.normal(0, 1e-4, 90), 6
    )
    clock = np.arange(0.0, 360.0, 30.0)
    yield turn_case("clock positions", clock, rng.normal(0, 2e-3, 12), 5)
    four = np.array([0.0, 90.0, 180.0, 270.0])
    yield turn_case("four positions", four, [0.001, 0.004, 0.002, -0.003], 1)
    # A display of coarse steps: many equal readings.
    t = np.radians(even)
    yield turn_case("coarse steps", even, np.round(3 * np.cos(t) + 1.2 * np.cos(2 * t)) * 1e-3, 15)


def circle_case(name, x, y):
    x, y = np.asarray(rounded(x)), np.asarray(rounded(y))

    def miss(p):
        return np.hypot(x - p[0], y - p[1]) - p[2]

    start = [x.mean(), y.mean(), np.hypot(x - x.mean(), y - y.mean()).mean()]
    fit = optimize.least_squares(miss, start, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)

    def height(c):
        r = np.hypot(x - c[0], y - c[1])
        return r.max() - r.min()

    # The zone, by linear programs about centre after centre.
    centre = fit.x[:2].copy()
    for _ in range(40):
        dx, dy = x - centre[0], y - centre[1]
        r = np.hypot(dx, dy)
        _, step = zone(np.column_stack([dx / r, dy / r]), r)
        share = 1.0
        while height(centre + share * step) > height(centre) and share > 1e-9:
            share /= 2
        if np.abs(step).max() < 1e-13 or share <= 1e-9:
            break
        centre = centre + share * step
    return {
        "name": name,
        "points": [[a, b] for a, b in zip(rounded(x), rounded(y))],
        "centre": [float(fit.x[0]), float(fit.x[1])],
        "radius": float(fit.x[2]),
        "zone_width": float(height(centre)),
    }


def circles():
    t = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    r = 20 + 2e-3 * np.cos(2 * t) + rng.normal(0, 5e-4, 60)
    yield circle_case("nearly round, far off centre", 3 + r * np.cos(t), -7 + r * np.sin(t))
    t = rng.uniform(0, 2 * np.pi, 25)
    r = 10 + rng.uniform(-0.3, 0.3, 25)
    yield circle_case("out of round", r * np.cos(t), r * np.sin(t))
    t = rng.uniform(0.2, 2.4, 40)
    r = 15 + rng.normal(0, 1e-3, 40)
    yield circle_case("an arc", 5 + r * np.cos(t), 2 + r * np.sin(t))


def filters():
    n, cut_off = 1440, 15
    t = 2 * np.pi * np.arange(n) / n
    y = np.asarray(rounded(2e-3 * np.cos(2 * t) + 1e-3 * np.cos(17 * t + 1) + rng.normal(0, 5e-4, n)))
    spectrum = np.fft.rfft(y)
    share = 2.0 ** -((np.arange(len(spectrum)) / cut_off) ** 2)
    closed = np.fft.irfft(spectrum * share, n)
    every = slice(0, n, 60)
    step, wave = 0.05, 2.5
    x = np.arange(601) * step
    v = np.asarray(rounded(1e-3 * np.sin(2 * np.pi * x / 2.5) + rng.normal(0, 3e-4, 601)))
    # exp(−π (x/αλ)²) is a normal density of standard deviation αλ/√(2π).
    sigma = math.sqrt(math.log(2) / math.pi) * wave / math.sqrt(2 * math.pi) / step
    smooth = ndimage.gaussian_filter1d(v, sigma, truncate=8.0)
    inner = slice(60, 541, 20)
    return {
        "closed": {
            "cut_off_upr": cut_off,
            "reading_mm": rounded(y),
            "at": list(range(n))[every],
            "smooth_mm": [float(s) for s in closed[every]],
        },
        "open": {
            "cut_off_mm": wave,
            "step_mm": step,
            "reading_mm": rounded(v),
            "at": list(range(601))[inner],
            "smooth_mm": [float(s) for s in smooth[inner]],
        },
    }


def periods():
    """The period of several turns by nonlinear least squares of the whole model, started near the truth."""
    for turn_s, rate, n, orders in [(2.7, 25.0, 400, 3), (0.9, 50.0, 300, 4)]:
        time = np.asarray(rounded(np.arange(n) / rate, 6))
        t = 2 * np.pi * time / turn_s
        y = np.asarray(
            rounded(5e-3 * np.cos(t - 0.7) + 1e-3 * np.cos(2 * t) + 8e-4 * np.sin(3 * t) + rng.normal(0, 3e-4, n))
        )

        def rest(period):
            t = 2 * np.pi * time / period
            columns = [np.ones_like(t)]
            for k in range(1, 7):
                columns += [np.cos(k * t), np.sin(k * t)]
            rows = np.column_stack(columns)
            return float(np.sum((y - rows @ np.linalg.lstsq(rows, y, rcond=None)[0]) ** 2))

        found = optimize.minimize_scalar(
            rest, bracket=(turn_s * 0.99, turn_s, turn_s * 1.01), options={"xtol": 1e-12}
        )
        yield {"time_s": rounded(time, 6), "reading_mm": rounded(y), "turn_s": float(found.x)}


def noncentral():
    """Limits of a vector's length from its noncentral chi-squared distribution, u = 1, for a found length."""
    for found in [0.0, 0.8, 2.0, 2.7, 2.8, 3.5, 6.0, 11.0]:

        def limit(probability):
            below = lambda e: stats.ncx2.cdf(found**2, 2, e * e) if e > 0 else stats.chi2.cdf(found**2, 2)
            if below(0.0) <= probability:
                return 0.0
            return float(optimize.brentq(lambda e: below(e) - probability, 1e-12, found + 8, xtol=1e-12))

        yield {"found": found, "low": limit(0.975), "high": limit(0.025)}


answers = {
    "made_with": {"numpy": np.__version__, "scipy": scipy.__version__},
    "sweeps": list(sweeps()),
    "turns": list(turns()),
    "circles": list(circles()),
    "filters": filters(),
    "periods": list(periods()),
    "lengths": list(noncentral()),
}
path = pathlib.Path(__file__).with_name("answers.json")
path.write_text(json.dumps(answers, separators=(",", ":")) + "\n", encoding="utf-8")
print(path, path.stat().st_size, "bytes")
