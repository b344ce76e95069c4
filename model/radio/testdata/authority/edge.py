"""Exact knife-edge loss from SciPy's Fresnel integrals: python3 edge.py > edge.csv"""
import math

import scipy
from scipy.special import fresnel

print(f"# edge.py, SciPy {scipy.__version__} special.fresnel; J = -20 log10(sqrt((1-C-S)^2+(C-S)^2)/2)")
print("v,loss_db")
for i in range(-7, 101):
    v = i / 10
    s, c = fresnel(v)
    print(f"{v},{-20 * math.log10(math.hypot(1 - c - s, c - s) / 2)!r}")
