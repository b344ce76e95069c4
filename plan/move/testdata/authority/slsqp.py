#!/usr/bin/python3
"""Solve problems.json with scipy's SLSQP and write slsqp.json.

  /usr/bin/python3 slsqp.py [NAME]
  /usr/bin/python3 slsqp.py --time NAME...   prints seconds from the reference, to ours' accuracy

The problems are evaluated with scipy.interpolate.BSpline and with the distances below, which
share no code with the package under test. SLSQP starts once from the reference and once
from the package's own path, and the better feasible end is kept.
"""
import json, sys, time, pathlib
import numpy as np, scipy
from scipy.interpolate import BSpline
from scipy.optimize import minimize

HERE = pathlib.Path(__file__).parent


def hill(x, y):
    return 1000 + 12 * np.sin(x / 48) * np.cos(y / 61)


def prism(p, ring, bottom, top):
    """Signed distance to an upright prism, of points p (n, 3)."""
    q = p[:, :2]
    best = np.full(len(q), np.inf)
    inside = np.zeros(len(q), bool)
    for i in range(len(ring)):
        a, b = ring[i], ring[(i + 1) % len(ring)]
        d = b - a
        t = np.clip(((q - a) @ d) / (d @ d), 0, 1)
        best = np.minimum(best, np.linalg.norm(q - a - t[:, None] * d, axis=1))
        cross = (a[1] > q[:, 1]) != (b[1] > q[:, 1])
        with np.errstate(divide="ignore", invalid="ignore"):
            inside ^= cross & (q[:, 0] < a[0] + (q[:, 1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
    side = np.where(inside, -best, best)
    rise = np.maximum(p[:, 2] - top, bottom - p[:, 2])
    return np.minimum(np.maximum(side, rise), 0) + np.hypot(np.maximum(side, 0), np.maximum(rise, 0))


def cylinder(p, base, radius, height):
    side = np.hypot(p[:, 0] - base[0], p[:, 1] - base[1]) - radius
    rise = np.maximum(p[:, 2] - base[2] - height, base[2] - p[:, 2])
    return np.minimum(np.maximum(side, rise), 0) + np.hypot(np.maximum(side, 0), np.maximum(rise, 0))


def wire(p, a, b, sag):
    """Distance to the curtain between a chord and the chord lowered by the sag: a dense fan of
    chords, then exact on the best by ternary search of the lowering (the distance is convex)."""
    if len(p) == 0:
        return np.zeros(0)
    def chord(low):
        A = np.array([a] * len(p)); A[:, 2] -= low
        d = b - a
        t = np.clip(((p - A) @ d) / (d @ d), 0, 1)
        return np.linalg.norm(p - A - t[:, None] * d, axis=1)
    lo, hi = np.zeros(len(p)), np.full(len(p), sag)
    for _ in range(80):
        m1, m2 = lo + (hi - lo) / 3, hi - (hi - lo) / 3
        left = chord(m1) < chord(m2)
        hi = np.where(left, m2, hi)
        lo = np.where(left, lo, m1)
    return chord((lo + hi) / 2)


def box(foot, w, d, h, facing):
    s, c = np.sin(facing), np.cos(facing)
    ring = np.array([[foot[0] + a * w / 2 * c + b * d / 2 * s, foot[1] - a * w / 2 * s + b * d / 2 * c]
                     for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
    return lambda p: prism(p, ring, foot[2], foot[2] + h)


def on(x, y, up):
    return np.array([x, y, hill(x, y) + up])


OBSTACLES = [
    box(on(-60, -50, 0), 12, 8, 9, 0.4),
    lambda p: cylinder(p, on(40, -60, 0), 0.5, 40),
    lambda p: wire(p, on(-150, 200, 18), on(150, 220, 18), 4),
]


def solve(d, timing=False):
    k, n, T = d["degree"], d["spans"], d["duration_s"]
    knots = np.concatenate([np.zeros(k), np.linspace(0, T, n + 1), np.full(k, T)])
    m = n + k
    times = np.array(d["times"])
    def design(t, nu):
        t = np.minimum(t, T - 1e-12)
        return np.array([BSpline(knots, np.eye(m)[i], k).derivative(nu)(t) if nu else BSpline(knots, np.eye(m)[i], k)(t) for i in range(m)]).T
    B0, B1, B2 = (design(times, nu) for nu in range(3))
    # exact jerk energy by Gauss-Legendre in each span
    x, w = np.polynomial.legendre.leggauss(4)
    width = T / n
    tg = np.concatenate([(i + (x + 1) / 2) * width for i in range(n)])
    wg = np.tile(w * width / 2, n)
    B3 = design(tg, 3)
    E = B3.T @ (wg[:, None] * B3)
    # ends
    ends = np.vstack([design(np.array([0.0]), nu) for nu in range(3)] + [design(np.array([T - 1e-12]), nu) for nu in range(3)])
    val = np.array(d["start"] + d["end"])
    fixed = np.r_[0:3, m - 3:m]
    free = np.arange(3, m - 3)
    if d["loose_end"]:
        fixed, free, ends, val = fixed[:3], np.arange(3, m), ends[:3], val[:3]
    C = np.zeros((m, 3))
    C[fixed] = np.linalg.solve(ends[:, fixed], val)
    ref, wt, dt = np.array(d["ref"]), np.array(d["weight"]), d["dt"]
    pins = np.array(d["pins"] or []).reshape(-1, 4)
    BP = design(pins[:, 0], 0) if len(pins) else np.zeros((0, m))

    def full(z):
        c = C.copy(); c[free] = z.reshape(-1, 3); return c

    H = d["jerk_weight"] * E + (B0.T * (wt * dt)) @ B0
    scale = 1.0
    def cost(z):
        c = full(z)
        e = B0 @ c - ref
        f = d["jerk_weight"] * np.einsum("ia,ij,ja->", c, E, c) + dt * (wt * (e ** 2).sum(1)).sum()
        g = 2 * d["jerk_weight"] * E @ c + 2 * B0.T @ ((wt * dt)[:, None] * e)
        return f * scale, g[free].ravel() * scale

    wind = np.array(d["wind"])
    shells = np.array(d["shells"] or []).reshape(-1, 5)
    sp = shells[:, 0].astype(int)
    ring = [(0, 0, 1.0)] + [(0.7 * np.sin(i * np.pi / 4), 0.7 * np.cos(i * np.pi / 4), np.sqrt(1 - 0.49)) for i in range(8)]
    ball = d["ball"]

    def position_constraints(r):
        """≥ 0, each of r alone: list of (values, gradient)."""
        out = []
        for kx, ky, kz in ring:
            X, Y = r[:, 0] + kx * ball, r[:, 1] + ky * ball
            v = (r[:, 2] - hill(X, Y) - kz * ball) / max(1, ball)
            g = np.stack([-12 / 48 * np.cos(X / 48) * np.cos(Y / 61), 12 / 61 * np.sin(X / 48) * np.sin(Y / 61), np.ones(len(r))], 1) / max(1, ball)
            out.append((np.arange(len(r)), v, g))
        for f, need in zip(OBSTACLES, d["needs"]):
            v = f(r)
            near = np.where(v < need + 25)[0]
            s = 1 / max(1, need)
            g = np.zeros((len(near), 3))
            for a in range(3):
                h = np.zeros(3); h[a] = 1e-6
                g[:, a] = (f(r[near] + h) - f(r[near] - h)) / 2e-6
            out.append((near, (v[near] - need) * s, g * s))
        if len(shells):
            e = r[sp] - shells[:, 1:4]
            dist = np.linalg.norm(e, axis=1)
            out.append((sp, dist / shells[:, 4] - 1, e / (dist * shells[:, 4])[:, None]))
        return out

    def constraints(z, grad):
        c = full(z)
        r, v, a = B0 @ c, B1 @ c, B2 @ c
        vals, rows = [], []
        def add(B, idx, val, g):
            vals.append(val)
            if grad:
                J = np.einsum("ki,ka->kia", B[idx][:, free], g).reshape(len(idx), -1)
                rows.append(J)
        every = np.arange(len(times))
        rel = v[:, :2] - wind
        g = np.zeros((len(times), 3)); g[:, :2] = -2 * rel / d["speed"] ** 2
        add(B1, every, 1 - (rel ** 2).sum(1) / d["speed"] ** 2, g)
        mid, half = (d["low"] + d["high"]) / 2, (d["high"] - d["low"]) / 2
        for sgn in (1, -1):
            g = np.zeros((len(times), 3)); g[:, 2] = -sgn / half
            add(B1, every, 1 - sgn * (v[:, 2] - mid) / half, g)
        add(B2, every, 1 - (a ** 2).sum(1) / d["accel"] ** 2, -2 * a / d["accel"] ** 2)
        for idx, val, g in position_constraints(r):
            add(B0, idx, val, g)
        return np.concatenate(vals), (np.concatenate(rows) if grad else None)

    # SLSQP wants a fixed number of constraints: obstacles are listed at every point.
    real = position_constraints
    def position_constraints(r):  # noqa: F811
        out = []
        for idx, val, g in real(r):
            if len(idx) in (len(r), len(sp)) and (len(idx) == len(r) or len(shells)):
                out.append((idx, val, g))
                continue
            V, G = np.ones(len(r)), np.zeros((len(r), 3))
            V[idx], G[idx] = val, g
            out.append((np.arange(len(r)), V, G))
        return out

    cons = [{"type": "ineq", "fun": lambda z: constraints(z, False)[0], "jac": lambda z: constraints(z, True)[1]}]
    if len(pins):
        J = np.kron(BP[:, free], np.eye(3))
        cons.append({"type": "eq", "fun": lambda z: (BP @ full(z) - pins[:, 1:]).ravel(), "jac": lambda z: J})
    greville = np.array([knots[i + 1:i + k + 1].mean() for i in range(m)])
    start = np.stack([np.interp(greville, times, ref[:, a]) for a in range(3)], 1)[free].ravel()
    if timing:
        t0 = time.perf_counter()
        minimize(cost, start, jac=True, method="SLSQP", constraints=cons, options={"maxiter": 400, "ftol": 1e-6})
        return time.perf_counter() - t0
    best = None
    for name, z0 in (("reference", start), ("ours", np.array(d["Ctrl"])[free].ravel())):
        t0 = time.perf_counter()
        s = minimize(cost, z0, jac=True, method="SLSQP", constraints=cons, options={"maxiter": 400, "ftol": 1e-10})
        took = time.perf_counter() - t0
        f = cost(s.x)[0]
        vio = max(0, -constraints(s.x, False)[0].min(), *(np.abs(BP @ full(s.x) - pins[:, 1:]).ravel() if len(pins) else [0]))
        ours = max(0, -constraints(z0, False)[0].min()) if name == "ours" else None
        print(f"{d['name']:26s} from {name:9s}: {f:12.6f} violation {vio:.1e} {s.nit:4d} iterations {took:7.2f} s  {s.message}", file=sys.stderr)
        if name == "ours":
            print(f"{'':26s} ours as given: {cost(z0)[0]:12.6f} violation {ours:.1e}", file=sys.stderr)
        if vio < 1e-5 and (best is None or f < best["cost"]):
            best = {"cost": f, "violation": vio, "from": name}
        if name == "reference":
            seconds = took
    if best is None:
        print(d["name"], "NO FEASIBLE END", file=sys.stderr)
        return None
    best["seconds"] = seconds
    return best


if __name__ == "__main__":
    problems = json.loads((HERE / "problems.json").read_text())
    results = {}
    if sys.argv[1:2] == ["--time"]:
        for d in problems:
            if d["name"] in sys.argv[2:]:
                print(f"{d['name']}|{solve(d, timing=True):.4f}")
        sys.exit()
    for d in problems:
        if len(sys.argv) > 1 and sys.argv[1] not in d["name"]:
            continue
        r = solve(d)
        if r:
            results[d["name"]] = r
    if len(sys.argv) > 1:
        kept = json.loads((HERE / "slsqp.json").read_text())
        kept["Results"].update(results)
        results = kept["Results"]
    if results:
        (HERE / "slsqp.json").write_text(json.dumps({"Tool": f"scipy {scipy.__version__} SLSQP, numpy {np.__version__}", "Results": results}, indent=1) + "\n")
