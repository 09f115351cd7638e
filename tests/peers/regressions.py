"""Several causes at once by SciPy: JSON lists of {rows, y, at} in; coefficients, intervals and scatter out."""
import json
import sys

import numpy
from scipy import linalg, stats

answers = []
for case in json.load(sys.stdin):
    rows, y, at = (numpy.array(case[key], dtype=float) for key in ("rows", "y", "at"))
    freedom = len(y) - rows.shape[1]
    coefficients, _, rank, _ = linalg.lstsq(rows, y)
    assert rank == rows.shape[1]
    square = float(((y - rows @ coefficients) ** 2).sum()) / freedom
    # The covariance by the singular values: another road than normal equations.
    _, singular, right = linalg.svd(rows, full_matrices=False)
    leverage = float(((right @ at / singular) ** 2).sum())
    t = stats.t.ppf(1 - case["outside"] / 2, freedom)
    chi = stats.chi2.ppf([1 - case["outside"] / 2, case["outside"] / 2], freedom)
    answers.append(
        {
            "coefficients": list(coefficients),
            "half": t * (square * leverage) ** 0.5,
            "half_of_next": t * (square * (1 + leverage)) ** 0.5,
            "scatter": square**0.5,
            "least": (square * freedom / chi[0]) ** 0.5,
            "most": (square * freedom / chi[1]) ** 0.5,
        }
    )
json.dump(answers, sys.stdout)
