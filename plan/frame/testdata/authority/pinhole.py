#!/usr/bin/python3
"""Framings solved on the published pinhole model by a general root finder, to pinhole.json.

  /usr/bin/python3 pinhole.py

Model: x ~ K [R | -R C] X (R. Hartley and A. Zisserman, "Multiple View Geometry", 2nd ed.
(2004), equation 6.8; the camera looks along +z, x right, y down, as the calibration toolboxes
have it). R is built from rotations about the axes by scipy. Unknown are distance, height,
azimuth and tilt; scipy's fsolve meets size, place and horizon.
"""
import json, pathlib, random
import numpy as np, scipy
from scipy.optimize import fsolve
from scipy.spatial.transform import Rotation

rng = random.Random(6)
W, H = 3840, 2160


def project(cam, pose, X):
    C, az, tilt = pose[:3], pose[3], pose[4]
    # site frame (x east, y north, z up) to camera (x right, y down, z ahead)
    level = np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]], float)  # looking north
    R = Rotation.from_euler("x", -tilt).as_matrix() @ level @ Rotation.from_euler("z", az).as_matrix()
    fx = cam["focal"] / cam["width"] * W
    fy = cam["focal"] / cam["height"] * H
    K = np.array([[fx, 0, W / 2], [0, fy, H / 2], [0, 0, 1]])
    x = (K @ R @ (np.atleast_2d(X) - C).T).T
    return x[:, :2] / x[:, 2:], x[:, 2]


def corners(b):
    s, c = np.sin(b["facing"]), np.cos(b["facing"])
    out = []
    for i in (-.5, .5):
        for j in (-.5, .5):
            for k in (0, 1):
                out.append([b["foot"][0] + i * b["depth"] * s + j * b["width"] * c,
                            b["foot"][1] + i * b["depth"] * c - j * b["width"] * s, b["foot"][2] + k * b["height"]])
    return np.array(out)


def horizon(cam, tilt):
    """Row of a level point at infinity straight ahead."""
    fy = cam["focal"] / cam["height"] * H
    return H / 2 + fy * np.tan(tilt)


cases = []
while len(cases) < 60:
    cam = {"focal": rng.choice([0.012, 0.024, 0.035, 0.05, 0.085]), "width": 0.0236, "height": 0.0133}
    b = {"foot": [rng.uniform(-50, 50), rng.uniform(-50, 50), rng.uniform(0, 2000)], "width": rng.uniform(0.3, 8), "depth": rng.uniform(0.3, 8),
         "height": rng.uniform(0.5, 20), "facing": rng.uniform(0, 6.28)}
    want = {"bearing": rng.uniform(0, 6.28), "size": rng.uniform(0.04, 0.6), "x": rng.uniform(0.25, 0.75), "y": rng.uniform(0.3, 0.7)}
    use = rng.choice(["horizon", "height", "elevation"])
    if use == "horizon":
        want["horizon"] = rng.uniform(0.1, 0.6)
    elif use == "height":
        want["height"] = rng.uniform(0, 10)
    else:
        want["elevation"] = rng.uniform(-0.1, 0.9)
    foot = np.array(b["foot"]); mid = foot + [0, 0, b["height"] / 2]
    X = corners(b)

    def pose(u):
        return np.array([mid[0] + u[0] * np.sin(want["bearing"]), mid[1] + u[0] * np.cos(want["bearing"]), mid[2] + u[1], u[2], u[3]])

    def f(u):
        p = pose(u)
        x, depth = project(cam, p, X)
        m, _ = project(cam, p, mid)
        size = (x[:, 1].max() - x[:, 1].min()) / H
        r = [np.log(max(size, 1e-9) / want["size"]) if depth.min() > 0 else 5, m[0, 0] / W - want["x"], m[0, 1] / H - want["y"]]
        if use == "horizon":
            r.append(horizon(cam, p[4]) / H - want["horizon"])
        elif use == "height":
            r.append((p[2] - foot[2] - want["height"]) / 10)
        else:
            r.append(np.arctan2(u[1], u[0]) - want["elevation"])
        return r

    d0 = b["height"] * cam["focal"] / (want["size"] * cam["height"])
    u, info, ok, msg = fsolve(f, [d0, 0.2 * d0, want["bearing"] + np.pi, -0.2], xtol=1e-13, full_output=True)
    if ok != 1 or np.abs(info["fvec"]).max() > 1e-9 or u[0] <= 0:
        continue
    p = pose(u)
    x, depth = project(cam, p, X)
    if depth.min() < 0.3 * np.linalg.norm(p[:3] - mid):
        continue
    cases.append({"camera": cam, "box": b, "want": want, "use": use, "pose": p.tolist(),
                  "pixels": x.tolist(), "corners": X.tolist()})
out = {"Tool": f"scipy {scipy.__version__}, numpy {np.__version__}", "Cases": cases}
(pathlib.Path(__file__).parent / "pinhole.json").write_text(json.dumps(out) + "\n")
print(len(cases), out["Tool"], {u: sum(c["use"] == u for c in cases) for u in ("horizon", "height", "elevation")})
