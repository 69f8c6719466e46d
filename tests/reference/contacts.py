"""How much two and three contacts show of a lobed bore, by moving them over its wall.

    pip install -r tests/reference/requirements.txt
    python tests/reference/contacts.py fixtures/contacts.csv

No formula of a standard is used. The wall is r(t) = R + a cos(n t) with a = R / 10,000. For every
turn of the gauge the contacts are brought onto the wall by solving where they touch, and half of
the peak to valley of the readings over a turn, in units of a, is the factor:

- two points: the line through the bore's axis (the bridge of the gauge centres it), and the distance
  of the two walls along it;
- three points: three plungers at 120° that move out alike from a head that floats until all three
  touch; the reading is the diameter of the circle through them, as the head was set in a round ring;
- a vee of 60°: the lobed part rests on both faces, a tip on the bisector reads across from them
  (summit method of ISO 4292).
"""

import sys

import numpy as np
from scipy.optimize import fsolve

RADIUS, AMPLITUDE = 1.0, 1e-4
TURNS = np.radians(np.arange(0, 360, 0.25) + 0.037)


def wall(n, angle):
    return RADIUS + AMPLITUDE * np.cos(n * angle)


def two_points(n):
    return [wall(n, turn) + wall(n, turn + np.pi) for turn in TURNS]


def three_points(n):
    def reading(turn):
        ways = turn + 2 * np.pi / 3 * np.arange(3)
        ways = np.column_stack([np.cos(ways), np.sin(ways)])

        def off(unknown):
            x, y, out = unknown
            tips = np.array([x, y]) + out * ways
            return np.hypot(*tips.T) - wall(n, np.arctan2(tips[:, 1], tips[:, 0]))

        return 2 * fsolve(off, [0, 0, RADIUS], xtol=1e-12)[2]

    return [reading(turn) for turn in TURNS]


def vee_60(n):
    half = np.radians(30)
    fine = np.radians(np.arange(0, 360, 0.01))
    part = wall(n, fine)[:, None] * np.column_stack([np.cos(fine), np.sin(fine)])
    # Outward normals of the faces, which meet below; the part rests on them.
    faces = [np.array([s * np.cos(half), -np.sin(half)]) for s in (-1, 1)]

    def reading(turn):
        c, s = np.cos(turn), np.sin(turn)
        turned = part @ np.array([[c, s], [-s, c]])
        # How far each face is pushed out by the part, and where the part must move to rest.
        rests = [(turned @ face).max() for face in faces]
        x, y = np.linalg.solve(np.array(faces), RADIUS - np.array(rests))

        # The tip moves down the bisector x = 0 until it meets the part.
        def off(height):
            px, py = -x, height[0] - y
            return np.hypot(px, py) - wall(n, np.arctan2(py, px) - turn)

        return fsolve(off, [RADIUS + y], xtol=1e-12)[0]

    return [reading(turn) for turn in TURNS]


if __name__ == "__main__":
    rows = ["lobes,two_point,three_point,vee_60"]
    for n in range(2, 16):
        factors = [np.ptp(f(n)) / 2 / AMPLITUDE for f in (two_points, three_points, vee_60)]
        rows.append(",".join([str(n)] + [f"{factor:.4f}" for factor in factors]))
    with open(sys.argv[1], "w") as file:
        file.write("\n".join(rows) + "\n")
    print("\n".join(rows))
