"""The fit of a tiller by SciPy: JSON in (cells, columns, what the readings would be on a straight line, their σ); estimate, σ of stretches, and
the stretch that explains most out. The constants stand in the head of `mechanics/tiller_fit`. And sums of squares that are least over x ≥ 0."""
import json
import sys

import numpy
from scipy import linalg, optimize

ALONG, MEMORY_MM, WHOLE, INSIDE, EVEN, SHORTEST_MM, MAX_LN = 0.30, 127.0, 0.22, 0.10, 0.02, 50.0, 0.9

asked = json.load(sys.stdin)
columns = numpy.array(asked["columns"]).T
linear, sigma = numpy.array(asked["linear"]), numpy.array(asked["sigma"])
side = numpy.array([cell[0] for cell in asked["cells"]])
from_mm, to_mm = (numpy.array([cell[k] for cell in asked["cells"]]) for k in (1, 2))
share = numpy.array(asked["weight_share"])
cells = len(side)

same = side[:, None] == side[None, :]
middle = 0.5 * (from_mm + to_mm)
memory = numpy.where(same, numpy.exp(-abs(middle[:, None] - middle[None, :]) / MEMORY_MM), 0.0)
prior = linalg.block_diag(ALONG**2 * memory + WHOLE**2 * same, INSIDE**2 * numpy.eye(2))
white, y = columns / sigma[:, None], linear / sigma

# The prior as readings of their own: one least-squares problem, solved by singular values.
root = linalg.inv(linalg.cholesky(prior, lower=True))
stacked = numpy.vstack([white, root])
estimate = linalg.lstsq(stacked, numpy.concatenate([y, numpy.zeros(len(root))]))[0]
_, singular, right = linalg.svd(stacked, full_matrices=False)


def deviation(weights):
    return float(linalg.norm(right @ weights / singular))


sigmas = []
for of, low, high in asked["stretches"]:
    over = numpy.clip(numpy.minimum(to_mm, high) - numpy.maximum(from_mm, low), 0, None) * (side == of)
    sigmas.append(deviation(numpy.concatenate([over / over.sum() - share / share.sum(), [0, 0]])))

# An even bow's readings have this covariance; each stretch is held against it.
inside, limbs = white[:, cells:], white[:, :cells]
scale = limbs.sum(axis=1)
covariance = numpy.eye(len(y)) + limbs @ (EVEN**2 * memory) @ limbs.T + INSIDE**2 * inside @ inside.T + WHOLE**2 * numpy.outer(scale, scale)
best = None
for first in range(cells):
    for last in range(first, cells):
        if side[first] != side[last] or to_mm[last] - from_mm[first] < SHORTEST_MM:
            continue
        shown = limbs[:, first : last + 1].sum(axis=1)
        weighed = linalg.solve(covariance, shown, assume_a="pos")
        own, pull = weighed @ shown, weighed @ y
        x = pull / own
        if not 1 - numpy.exp(MAX_LN) <= x <= 1 - numpy.exp(-MAX_LN):
            continue
        if best is None or best["explains"] < x * pull:
            best = {
                "side": int(side[first]),
                "from_mm": from_mm[first],
                "to_mm": to_mm[last],
                "explains": x * pull,
                "ln_factor": -numpy.log(1 - x),
                "sigma": own**-0.5 / (1 - x),
            }

least = []
for case in asked["least"]:
    half = linalg.cholesky(numpy.array(case["a"]), lower=True)
    least.append(list(optimize.nnls(half.T, linalg.solve_triangular(half, numpy.array(case["q"]), lower=True))[0]))
json.dump({"estimate": list(estimate), "sigmas": sigmas, "best": best, "least": least}, sys.stdout)
