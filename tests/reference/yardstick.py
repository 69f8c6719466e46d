"""What numpy and scipy take for the work of benches/geometry.rs, printed as lines for its table."""

import time

import numpy as np
from scipy.optimize import linprog


def best(work, times):
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return f"{1e3 * min(found):8.2f} ms fastest, {1e3 * float(np.median(found)):8.2f} ms median"


rng = np.random.default_rng(1)
turn = np.sort(rng.uniform(0, 2 * np.pi, 10_000))
values = 21 + 0.01 * np.cos(2 * turn) + 0.001 * rng.normal(size=10_000)


def fit():
    n = np.arange(1, 16)
    phase = np.outer(turn, n)
    design = np.hstack([np.ones((len(turn), 1)), np.cos(phase), np.sin(phase)])
    np.linalg.lstsq(design, values, rcond=None)


n = np.arange(1, 16)
phase = np.outer(turn, n)
design = np.hstack([np.ones((len(turn), 1)), np.cos(phase), np.sin(phase)])

many = np.arange(36_000) * (2 * np.pi / 36_000)
r = 21 + 0.004 * np.cos(2 * many + 1) + 0.002 * np.cos(3 * many) + 0.0005 * rng.normal(size=36_000)


def zone():
    scale = np.ptp(r)
    u = np.column_stack([np.cos(many), np.sin(many)])
    e = (r - r.mean()) / scale
    ones, none = np.ones((len(r), 1)), np.zeros((len(r), 1))
    rows = np.vstack([np.hstack([-u, -ones, none]), np.hstack([u, none, ones])])
    linprog([0, 0, 1, -1], rows, np.concatenate([-e, e]), bounds=[(None, None)] * 4, method="highs")


print("  15 harmonics, 10,000 uneven points, numpy lstsq, design made beforehand",
      best(lambda: np.linalg.lstsq(design, values, rcond=None), 15))
print("  the same with the design                                             ", best(fit, 15))
print("  minimum zone, 36,000 points, one linear program (scipy, HiGHS)       ", best(zone, 5))
