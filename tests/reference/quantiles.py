"""Quantiles of |t| and of F over the whole range of degrees of freedom.

    pip install -r tests/reference/requirements.txt
    python tests/reference/quantiles.py fixtures/quantiles.json

The quantile of scipy, made better by Newton's method with the density integrated by mpmath at 30 digits,
over the logarithm of F (|t| is the root of an F with one degree of freedom above). scipy must agree to
1e-9 for t, and for F to 1e-6: its own F is no better than that at a thousand million degrees.
"""

import json
import sys

import mpmath as mp
from scipy import stats

mp.mp.dps = 30


def quantile(level, above, below, start):
    a, b = mp.mpf(above) / 2, mp.mpf(below) / 2
    whole = a * mp.log(a / b) - mp.log(mp.beta(a, b))
    density = lambda s: mp.exp(whole + a * s - (a + b) * mp.log1p(a / b * mp.exp(s)))
    width = mp.sqrt(1 / a + 1 / b)
    s = mp.log(mp.mpf(start))
    far = max(10 * width, 80 / b)
    for _ in range(3):
        tail = mp.quad(density, [s + far * k / 16 for k in range(17)] + [s + 4 * far])
        s += (tail - (1 - mp.mpf(level))) / density(s)
    return mp.exp(s)


def row(level, above, below):
    start = stats.f.ppf(float(level), above, below)
    return level, above, below, quantile(level, above, below, start), start


students, fishers = [], []
for level in ("0.90", "0.95", "0.99"):
    for degrees in (1, 2, 3, 5, 7.5, 10, 30, 100, *(10**e for e in range(3, 10))):
        found = mp.sqrt(row(level, 1, degrees)[3])
        scipy = stats.t.ppf(0.5 + float(level) / 2, degrees)
        assert abs(found / scipy - 1) < 1e-9, (level, degrees, found, scipy)
        students.append([float(level), degrees, float(found)])
    students.append([float(level), None, stats.norm.ppf(0.5 + float(level) / 2)])
    for above in (1, 2, 3, 9, 10, 30, 100, 1000, 10**4, 10**6):
        for below in (1, 3, 10, 100, 10**3, 10**4, 10**5, 10**6, 10**7, 10**9):
            _, _, _, found, scipy = row(level, above, below)
            assert abs(found / scipy - 1) < 1e-6, (level, above, below, found, scipy)
            fishers.append([float(level), above, below, float(found)])

with open(sys.argv[1], "w") as out:
    write = lambda rows: "[\n" + ",\n".join("    " + json.dumps(row) for row in rows) + "\n  ]"
    out.write(
        '{\n  "source": "tests/reference/quantiles.py: scipy 1.17.1 and mpmath 1.3.0",\n'
        f'  "student": {write(students)},\n  "fisher": {write(fishers)}\n}}\n'
    )
