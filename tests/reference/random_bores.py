"""500 random bores, and what numpy and scipy make of them.

    pip install -r tests/reference/requirements.txt
    python tests/reference/random_bores.py fixtures/random-bores.json

Only seeds and results are kept: both sides draw the same readings from SplitMix64 (in the order
of `draw` below) and round them to a picometre, so that the libraries' cosines can't differ.

Fits: lstsq at a fixed order. Least-squares circle: scipy's least_squares, then Newton's method in
long double. Minimum zone, inscribed and circumscribed circle: linear programming (HiGHS) about the
last centre until it stays, then the contacts' equidistance solved exactly, then every point checked.
"""

import itertools
import json
import sys

import numpy as np
from scipy.optimize import least_squares, linprog

MASK = (1 << 64) - 1


class Random:
    def __init__(self, seed):
        self.state = seed

    def uniform(self):
        self.state = (self.state + 0x9E3779B97F4A7C15) & MASK
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & MASK
        return (((z ^ (z >> 31)) >> 11) + 1) / (1 << 53)


STEP = {"two-point": 2, "three-point": 3, "radius": 1}
GAIN = {"two-point": 2.0, "three-point": 2.0, "radius": 1.0}


def draw(seed, contact, count):
    """Angles and readings: five lobe counts, an eccentric axis, roughness, uneven angles."""
    random = Random(seed)
    mean = 5.0 + 60.0 * random.uniform()
    lobes = [
        (n * STEP[contact], 0.02 * random.uniform() / n, 360.0 * random.uniform())
        for n in range(1, 6)
    ]
    rough = 0.002 * random.uniform()
    angles, readings = [], []
    for place in range(count):
        # Jitter of up to half a step: uneven, and no gap wider than two steps.
        angle = round(360.0 * (place + 0.5 * random.uniform()) / count, 9)
        wall = sum(a * np.cos(np.radians(n * angle - p)) for n, a, p in lobes)
        wall += rough * (2.0 * random.uniform() - 1.0)
        size = mean if contact == "radius" else 2.0 * mean
        angles.append(angle)
        readings.append(round(size + GAIN[contact] * wall, 9))
    return np.array(angles), np.array(readings)


def series(angles_rad, values, step, pairs):
    columns = [np.ones_like(angles_rad)]
    for n in range(1, pairs + 1):
        columns += [np.cos(n * step * angles_rad), np.sin(n * step * angles_rad)]
    design = np.column_stack(columns)
    shift = values.mean()
    coefficients, _, _, singular = np.linalg.lstsq(design, values - shift, rcond=None)
    residuals = values - shift - design @ coefficients
    degrees = len(values) - design.shape[1]
    variance = residuals @ residuals / degrees
    inverse = np.linalg.pinv(design)
    errors = np.sqrt(variance * (inverse**2).sum(axis=1))
    coefficients[0] += shift
    return coefficients, errors, np.sqrt(variance), singular[0] / singular[-1]


def least_squares_circle(points):
    def residual(q):
        return np.hypot(points[:, 0] - q[0], points[:, 1] - q[1]) - q[2]

    start = np.array([*points.mean(axis=0), 1.0])
    start[2] = residual(np.array([*start[:2], 0.0])).mean()
    q = least_squares(residual, start, xtol=1e-15, ftol=1e-15, gtol=1e-15).x.astype(np.longdouble)
    exact = points.astype(np.longdouble)
    for _ in range(8):
        dx, dy = exact[:, 0] - q[0], exact[:, 1] - q[1]
        d = np.sqrt(dx * dx + dy * dy)
        r = d - q[2]
        jacobian = np.column_stack([-dx / d, -dy / d, -np.ones_like(d)])
        gradient = jacobian.T @ r
        # Second derivatives of the distance, so that this is Newton and not Gauss-Newton.
        hessian = jacobian.T @ jacobian
        hessian[0, 0] += (r * dy * dy / d**3).sum()
        hessian[1, 1] += (r * dx * dx / d**3).sum()
        hessian[0, 1] -= (r * dx * dy / d**3).sum()
        hessian[1, 0] = hessian[0, 1]
        q = q - np.linalg.solve(hessian.astype(float), gradient.astype(float))
    return np.array(q, dtype=float)


def linear(points, centre, kind):
    """One linear program about `centre`; the shift of the centre and the bounding radii."""
    dx, dy = (points - centre).T
    d = np.hypot(dx, dy)
    base = d.mean()
    scale = max(np.ptp(d), 1e-9)
    u = np.column_stack([dx / d, dy / d])
    e = (d - base) / scale
    ones, none = np.ones((len(d), 1)), np.zeros((len(d), 1))
    # e - u.c <= outer, e - u.c >= inner
    above = np.hstack([-u, -ones, none])
    below = np.hstack([u, none, ones])
    cost, rows, bound = {
        "zone": ([0, 0, 1, -1], [above, below], [-e, e]),
        "circumscribed": ([0, 0, 1, 0], [above], [-e]),
        "inscribed": ([0, 0, 0, -1], [below], [e]),
    }[kind]
    free = [(None, None)] * 4
    if kind == "circumscribed":
        free[3] = (0, 0)
    if kind == "inscribed":
        free[2] = (0, 0)
    x = linprog(cost, np.vstack(rows), np.concatenate(bound), bounds=free, method="highs").x
    return x[:2] * scale


def distances(points, centre):
    return np.hypot(points[:, 0] - centre[0], points[:, 1] - centre[1])


def polish(points, centre, kind):
    """The contacts nearest to the bounds at `centre`, and the centre that they determine."""
    for _ in range(4):
        d = distances(points, centre)
        order = np.argsort(d)
        if kind == "zone":
            pairs = [(order[-1], order[-2]), (order[0], order[1])]
        else:
            pairs = [(order[0], order[1]), (order[1], order[2])]
        rows = np.array([points[j] - points[i] for i, j in pairs])
        right = np.array([(points[j] - points[i]) @ (points[j] + points[i]) / 2 for i, j in pairs])
        centre = np.linalg.solve(rows, right)
    return centre


def bounding(points, start, kind):
    """Centre, bounded radius and zone; None where the contacts are not plain (two on a diameter)."""
    centre = start
    for _ in range(30):
        step = linear(points, centre, kind)
        centre = centre + step
        if np.hypot(*step) < 1e-10:
            break
    if kind == "circumscribed":
        return smallest_around(points, np.argsort(distances(points, centre))[-12:])
    exact = polish(points, centre, kind)
    if np.hypot(*(exact - centre)) > 1e-6:
        return None
    d = distances(points, exact)
    e = np.sort(d)
    tied = max(e[-1] - e[-2], e[1] - e[0]) if kind == "zone" else e[2] - e[0]
    if tied > 1e-11:
        return None
    return [exact[0], exact[1], d.min(), d.max()]


def smallest_around(points, few):
    """The smallest circle of every two and three of `few` that holds all points."""
    best = None
    for contacts in [c for k in (2, 3) for c in itertools.combinations(few, k)]:
        p = points[list(contacts)]
        centre = p[:2].mean(axis=0)
        if len(p) == 3:
            rows = np.array([p[1] - p[0], p[2] - p[1]])
            if abs(np.linalg.det(rows)) < 1e-12:
                continue
            right = [(p[1] - p[0]) @ (p[1] + p[0]) / 2, (p[2] - p[1]) @ (p[2] + p[1]) / 2]
            centre = np.linalg.solve(rows, right)
        radius = distances(p, centre).max()
        if best is None or radius < best[1]:
            if distances(points, centre).max() <= radius + 1e-12:
                best = centre, radius
    if best is None:
        return None
    centre = best[0]
    d = distances(points, centre)
    return [centre[0], centre[1], d.min(), d.max()]


def case(seed):
    contact = ["radius", "radius", "two-point", "three-point"][seed % 4]
    count = int(np.exp(Random(seed ^ 0x5EED).uniform() * (np.log(300) - np.log(8)) + np.log(8)))
    if seed % 100 == 0:
        count = 10_000
    if seed % 100 == 50:
        count = 2_000
    if seed % 20 == 8:
        count = 4 + seed // 20 % 4
    angles, readings = draw(seed, contact, count)
    out = {"seed": seed, "contact": contact, "count": count}
    pairs = min(max(1, (count - 2) // 4), 5)
    if contact == "radius":
        turn = np.radians(angles)
        points = np.column_stack([readings * np.cos(turn), readings * np.sin(turn)])
        x, y, r = least_squares_circle(points)
        out["least_squares"] = [x, y, r]
        d = distances(points, (x, y))
        out["zone"] = d.max() - d.min()
        for kind in ["zone", "circumscribed", "inscribed"]:
            found = bounding(points, np.array([x, y]), kind)
            if found is not None:
                out["minimum_zone" if kind == "zone" else kind] = found
        if count < 8:
            return out
        turn, readings = np.arctan2(points[:, 1] - y, points[:, 0] - x), d - r
        pairs = max(pairs, 2)
    else:
        turn = np.radians(angles % (360.0 / STEP[contact]))
        if count < 4:
            return out
    coefficients, errors, residual, condition = series(turn, readings, STEP[contact], pairs)
    out |= {
        "lobes": pairs * STEP[contact],
        "condition": condition,
        "coefficients": list(coefficients / GAIN[contact]),
        "mean_error": errors[0],
        "residual": residual,
    }
    return out


if __name__ == "__main__":
    cases = [case(seed) for seed in range(500)]
    with open(sys.argv[1], "w") as file:
        file.write("[\n" + ",\n".join(json.dumps(c) for c in cases) + "\n]\n")
    for key in ["least_squares", "minimum_zone", "circumscribed", "inscribed", "coefficients"]:
        print(key, sum(key in c for c in cases))
