"""JCGM 100:2008, H.2: resistance, reactance and impedance of correlated readings.

    pip install -r tests/reference/requirements.txt
    python tests/reference/gum_h2.py fixtures/gum_h2.json

The readings of table H.2 as public programs carry them (among them two statistics packages that ship
it as a data set). Three routes: the Guide's first approach with derivatives written out (numpy), its
second, the mean of each result over the five sets (H.2.4), and a library of uncertain numbers.
"""

import json
import sys

import numpy as np
from uncertainties import correlated_values, covariance_matrix, umath

volts = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
amperes = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
radians = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])

sets = np.array([volts, amperes, radians])
mean, covariance = sets.mean(axis=1), np.cov(sets) / 5
v, i, a = mean
jacobian = np.array([
    [np.cos(a) / i, -v * np.cos(a) / i**2, -v * np.sin(a) / i],
    [np.sin(a) / i, -v * np.sin(a) / i**2, v * np.cos(a) / i],
    [1 / i, -v / i**2, 0.0],
])
values = np.array([v * np.cos(a) / i, v * np.sin(a) / i, v / i])
results = jacobian @ covariance @ jacobian.T
standard = np.sqrt(np.diag(results))
correlation = results / np.outer(standard, standard)

second = np.array([volts / amperes * np.cos(radians), volts / amperes * np.sin(radians),
                   volts / amperes])
assert np.allclose(second.mean(axis=1), values, atol=5e-4)
assert np.allclose(second.std(axis=1, ddof=1) / np.sqrt(5), standard, atol=5e-4)

V, I, A = correlated_values(mean, covariance)
library = [V * umath.cos(A) / I, V * umath.sin(A) / I, V / I]
assert np.allclose([x.nominal_value for x in library], values, rtol=1e-12)
assert np.allclose(covariance_matrix(library), results, rtol=1e-9)

out = {"values": list(values), "standard": list(standard),
       "correlations": [correlation[0, 1], correlation[0, 2], correlation[1, 2]]}
json.dump(out, open(sys.argv[1], "w"), indent=1)
print(json.dumps(out, indent=1))
