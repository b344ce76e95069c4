"""Falls with quadratic drag and wind, solved by SciPy's DOP853: python3 fall.py > fall.csv"""
import random

import scipy
from scipy.integrate import solve_ivp

G = 9.80665
print(f"# fall.py, SciPy {scipy.__version__} solve_ivp DOP853 rtol 1e-11; z and vz up, ground at 0")
print("mass,drag_area,density,x,y,z,vx,vy,vz,wx,wy,fall_s,ix,iy,ivx,ivy,ivz")
rng = random.Random(7)
for _ in range(60):
    m = 10 ** rng.uniform(-0.6, 1.5)
    cda = 10 ** rng.uniform(-3, 0)
    rho = rng.uniform(0.8, 1.3)
    p = [rng.uniform(-50, 50), rng.uniform(-50, 50), rng.uniform(2, 150)]
    v = [rng.uniform(-20, 20), rng.uniform(-20, 20), rng.uniform(-6, 6)]
    w = [rng.uniform(-12, 12), rng.uniform(-12, 12)]
    k = 0.5 * rho * cda / m

    def f(t, s):
        rx, ry, rz = s[3] - w[0], s[4] - w[1], s[5]
        n = (rx * rx + ry * ry + rz * rz) ** 0.5
        return [s[3], s[4], s[5], -k * n * rx, -k * n * ry, -k * n * rz - G]

    def ground(t, s):
        return s[2]

    ground.terminal, ground.direction = True, -1
    r = solve_ivp(f, (0, 600), p + v, method="DOP853", rtol=1e-11, atol=1e-11, events=ground)
    e = r.y_events[0][0]
    row = [m, cda, rho] + p + v + w + [r.t_events[0][0], e[0], e[1], e[3], e[4], e[5]]
    print(",".join(repr(float(x)) for x in row))
