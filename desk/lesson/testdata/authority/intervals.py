#!/usr/bin/python3
"""Writes intervals.json: prediction intervals and log-normal summaries by scipy and numpy
formulas, for cases made with a fixed seed. Run: /usr/bin/python3 intervals.py > intervals.json"""
import json, numpy as np, scipy
from scipy import stats
rng = np.random.default_rng(3)
x = rng.uniform(0, 300, 25); y = 1.0 - 0.0006 * x + rng.normal(0, 0.01, 25)
X = np.column_stack([np.ones_like(x), x]); b, rss, _, _ = np.linalg.lstsq(X, y, rcond=None)
s = np.sqrt(rss[0] / 23); C = np.linalg.inv(X.T @ X)
at = [[1.0, v] for v in (0.0, 150.0, 400.0)]
half = [float(stats.t.ppf(0.95, 23) * s * np.sqrt(1 + np.array(a) @ C @ np.array(a))) for a in at]
ci = [[float(b[i] - stats.t.ppf(.975, 23) * s * np.sqrt(C[i, i])), float(b[i] + stats.t.ppf(.975, 23) * s * np.sqrt(C[i, i]))] for i in (0, 1)]
d = rng.lognormal(5, .4, 12); l = np.log(d); n = len(d)
lo, hi = stats.t.interval(.95, n - 1, loc=l.mean(), scale=stats.sem(l))
print(json.dumps(dict(tool="scipy " + scipy.__version__ + ", numpy " + np.__version__, x=x.tolist(), y=y.tolist(), coef=b.tolist(), ci=ci,
    at=at, value=[float(np.array(a) @ b) for a in at], half90=half, durations=d.tolist(), median=float(np.exp(l.mean())), low=float(np.exp(lo)), high=float(np.exp(hi)),
    p90=float(np.exp(l.mean() + stats.t.ppf(.9, n - 1) * l.std(ddof=1) * np.sqrt(1 + 1 / n))))))
