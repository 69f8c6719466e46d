"""Turning points of a hanging arm that swings out, integrated by scipy.

    pip install -r tests/reference/requirements.txt
    python tests/reference/pendulum.py fixtures/fit/pendulum.json

I θ'' = -m g r sin θ - T sign(θ') - c θ', let go at rest. Each half swing is integrated by DOP853 up
to the event θ' = 0; the arm stays where its weight holds less than T.
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_ivp

FREE_FALL = 9.80665


def turning(mass, centre, inertia, friction, viscous, from_deg, most):
    moment = mass * FREE_FALL * centre
    angles = [from_deg]
    theta = np.radians(from_deg)
    while len(angles) < most and moment * np.sin(abs(theta)) > friction:
        way = -np.sign(theta)

        def swing(_, y, way=way):
            return [y[1], (-moment * np.sin(y[0]) - friction * way - viscous * y[1]) / inertia]

        def stops(t, y, way=way):
            return y[1] if t > 1e-6 else way

        stops.terminal = True
        stops.direction = -way
        run = solve_ivp(swing, [0, 60], [theta, 0.0], method="DOP853", events=stops, rtol=1e-13, atol=1e-15)
        theta = run.y_events[0][0][0]
        angles.append(round(float(np.degrees(abs(theta))), 9))
    return angles


CASES = [
    # mass kg, centre m, inertia kg m², friction N m, viscous N m s, from °
    (0.25, 0.120, 0.0045, 0.0060, 0.0, 60.0),
    (0.25, 0.120, 0.0090, 0.0060, 0.0, 60.0),
    (0.25, 0.120, 0.0045, 0.0060, 0.0, 5.0),
    (0.18, 0.085, 0.0016, 0.0011, 0.0, 30.0),
    (0.40, 0.170, 0.0150, 0.0400, 0.0, 80.0),
    (0.25, 0.120, 0.0045, 0.0020, 0.0015, 40.0),
]

results = [
    {
        "mass_kg": mass,
        "centre_mm": 1e3 * centre,
        "inertia_kgm2": inertia,
        "friction_nm": friction,
        "viscous_nms": viscous,
        "turning_deg": turning(mass, centre, inertia, friction, viscous, start, 10),
    }
    for mass, centre, inertia, friction, viscous, start in CASES
]
with open(sys.argv[1], "w", encoding="utf-8") as file:
    json.dump(results, file, indent=1)
    file.write("\n")
