#!/usr/bin/python3
"""Writes savgol.json: first derivative of a noisy 10 Hz path by scipy.signal.savgol_filter,
window 11, order 2. Run: /usr/bin/python3 savgol.py > savgol.json"""
import json, numpy as np, scipy
from scipy.signal import savgol_filter
rng = np.random.default_rng(5)
t = np.arange(80) * 0.1
x = np.round(20 * np.sin(0.5 * t) + rng.normal(0, 0.3, 80), 6)
print(json.dumps(dict(tool="scipy " + scipy.__version__, x=x.tolist(), v=savgol_filter(x, 11, 2, deriv=1, delta=0.1).tolist())))
