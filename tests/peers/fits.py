"""Least-squares lines and means with their 95 % intervals, by SciPy: JSON lists of [x, y] in, JSON out."""
import json
import sys

from scipy import stats

answers = []
for points in json.load(sys.stdin):
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    n = len(points)
    line = stats.linregress(xs, ys)
    t = stats.t.ppf(0.975, n - 2)
    middle = sum(xs) / n
    left = sum((y - line.intercept - line.slope * x) ** 2 for x, y in points)
    mean = stats.ttest_1samp(ys, 0.0).confidence_interval(0.95)
    answers.append(
        {
            "slope": line.slope,
            "slope_half": t * line.stderr,
            "height": line.intercept + line.slope * middle,
            "height_half": t * (left / (n - 2) / n) ** 0.5,
            "mean": sum(ys) / n,
            "mean_half": (mean.high - mean.low) / 2,
        }
    )
json.dump(answers, sys.stdout)
