"""The 10 x 3 x 3 study by analysis of variance, by two routes that share no formula with ours.

    pip install -r tests/reference/requirements.txt
    python tests/reference/anova.py fixtures/study/grr_10x3x3.csv fixtures/study/anova.json

Sums of squares by projections (numpy: what each larger design explains beyond the smaller one), and
by the linear models of statsmodels; they must agree. From the mean squares the variances of the
balanced random model, the interaction pooled where its F test is above 5 %.
"""

import csv
import json
import sys

import numpy as np
import pandas
from scipy.stats import f
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

rows = list(csv.DictReader(open(sys.argv[1])))
values = np.array([float(row["value"]) for row in rows])
names = {key: np.array([row[key] for row in rows]) for key in ("part", "operator")}


def columns(labels):
    return (labels[:, None] == np.unique(labels)).astype(float)


part, operator = columns(names["part"]), columns(names["operator"])
both = columns(np.char.add(np.char.add(names["part"], "|"), names["operator"]))


def beyond(design, smaller):
    """Sum of squares that `design` explains and `smaller` does not."""
    fit = [d @ np.linalg.pinv(d) @ values for d in (design, smaller)]
    return float(((fit[0] - fit[1]) ** 2).sum())


one = np.ones((len(values), 1))
squares = {
    "parts": beyond(part, one),
    "operators": beyond(operator, one),
    "interaction": beyond(both, np.hstack([part, operator])),
    "repeatability": float(((values - both @ np.linalg.pinv(both) @ values) ** 2).sum()),
}
p, o, r = part.shape[1], operator.shape[1], len(values) // both.shape[1]
degrees = {"parts": p - 1, "operators": o - 1, "interaction": (p - 1) * (o - 1),
           "repeatability": p * o * (r - 1)}

frame = pandas.DataFrame({"value": values, **names})
table = anova_lm(ols("value ~ C(part) * C(operator)", frame).fit())
rows = ["C(part)", "C(operator)", "C(part):C(operator)", "Residual"]
for name, row in zip(squares, rows):
    assert abs(table.loc[row, "sum_sq"] - squares[name]) < 1e-10, name
    assert table.loc[row, "df"] == degrees[name], name

ms = {name: squares[name] / degrees[name] for name in squares}
interaction_p = float(f.sf(ms["interaction"] / ms["repeatability"], degrees["interaction"],
                           degrees["repeatability"]))
assert interaction_p > 0.05
error = (squares["interaction"] + squares["repeatability"]) / (
    degrees["interaction"] + degrees["repeatability"])
ev2, av2, pv2 = error, (ms["operators"] - error) / (p * r), (ms["parts"] - error) / (o * r)
method = {"ev_mm": ev2, "av_mm": av2, "grr_mm": ev2 + av2, "pv_mm": pv2, "tv_mm": ev2 + av2 + pv2}
result = {"squares_mm2": squares, "degrees_of_freedom": degrees, "interaction_p": interaction_p,
          "method": {name: float(np.sqrt(value)) for name, value in method.items()}}
json.dump(result, open(sys.argv[2], "w"), indent=1)
print(json.dumps(result, indent=1))
