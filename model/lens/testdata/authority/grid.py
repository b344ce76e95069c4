"""Render a grid of spheres per camera with POV-Ray; print the spots' centroids as CSV."""
import math
import pathlib
import subprocess
import sys

import numpy as np
from scipy import ndimage

OUT = pathlib.Path(sys.argv[1])
W, H = 1600, 900
SENSOR_W = 17.3e-3
SENSOR_H = SENSOR_W * H / W

# name, focal mm, squeeze, position, azimuth, tilt, roll (degrees)
CAMERAS = [
    ("level", 25, 1, (0, 0, 100), 0, 0, 0),
    ("wide", 12, 1, (120, -40, 60), 310, -12, 0),
    ("tilted", 35, 1, (-80, 30, 140), 75, -38, 0),
    ("rolled", 25, 1, (10, 200, 90), 190, -20, 17),
    ("topdown", 17, 1, (5, 5, 80), 40, -90, 0),
    ("up", 45, 1, (0, 0, 2), 250, 25, -8),
    ("squeezed", 50, 1.5, (0, -60, 30), 15, -10, 3),
]


def turn(axis, deg):
    """Right-handed rotation matrix."""
    a = math.radians(deg)
    x, y, z = axis
    k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + math.sin(a) * k + (1 - math.cos(a)) * k @ k


def basis(azimuth, tilt, roll):
    """Looking north with x right and z up, rolled, then tilted, then panned."""
    m = turn((0, 0, 1), -azimuth) @ turn((1, 0, 0), tilt) @ turn((0, 1, 0), roll)
    return m @ [1, 0, 0], m @ [0, 0, 1], m @ [0, 1, 0]  # right, up, forward


def vec(v):
    # POV-Ray's axes are left-handed with y up: east = x, up = y, north = z
    return "<%.9f,%.9f,%.9f>" % (v[0], v[2], v[1])


version = subprocess.run(["dpkg-query", "-W", "-f", "${Version}", "povray"], capture_output=True, text=True).stdout
print("# POV-Ray %s (Debian package), picture %d x %d: centroid of each spot, a pixel's centre at +0.5" % (version, W, H))
print("camera,focal_mm,squeeze,sensor_w_mm,sensor_h_mm,pixels_w,pixels_h,cam_x,cam_y,cam_z,azimuth_deg,tilt_deg,roll_deg,x,y,z,px,py")
for name, focal, squeeze, pos, az, tilt, roll in CAMERAS:
    right, up, fwd = basis(az, tilt, roll)
    pos = np.array(pos, float)
    hfov = 2 * math.atan(SENSOR_W * squeeze / (2 * focal * 1e-3))
    half_w, half_h = math.tan(hfov / 2), SENSOR_H / (2 * focal * 1e-3)
    # a 5 x 3 grid of world points at two depths, kept to the millimetre
    points = []
    for k, depth in enumerate((40.0, 65.0)):
        for i in (-0.9, -0.45, 0, 0.45, 0.9):
            for j in (-0.85, 0.0, 0.85):
                shift = 0.04 * k
                p = pos + depth * (fwd + (i + shift) * half_w * right + (j - shift) * half_h * up)
                points.append(np.round(p, 3))
    spheres = ""
    for n, p in enumerate(points, 1):  # each spot has its own brightness, by which it is told
        radius = ((p - pos) @ fwd) * half_w * 2 / W * 5
        spheres += "sphere { %s, %.9f pigment { color rgb %.6f } finish { ambient 0 diffuse 0 emission 1 } }\n" % (
            vec(p), radius, (40 + 7 * n) / 255)
    scene = OUT / "scene.pov"
    scene.write_text(
        "#version 3.7; global_settings { assumed_gamma 1 }\nbackground { color rgb 0 }\n"
        "camera { perspective location %s direction %s right %s up %s }\n"
        % (vec(pos), vec(fwd), vec(2 * half_w * right), vec(2 * half_h * up)) + spheres)
    ppm = OUT / "scene.ppm"
    run = subprocess.run(["povray", "+I%s" % scene, "+O%s" % ppm, "+FP", "+W%d" % W, "+H%d" % H, "-D",
                          "+A0.02", "+AM1", "+R6", "-J", "File_Gamma=1.0"], capture_output=True, text=True)
    if run.returncode:
        sys.exit(run.stderr[-2000:])
    grey = np.frombuffer(ppm.read_bytes()[-W * H * 3:], np.uint8).reshape(H, W, 3)[:, :, 1].astype(float)
    spots, count = ndimage.label(grey)
    if count != len(points):
        sys.exit("%s: %d spots for %d spheres" % (name, count, len(points)))
    for spot in range(1, count + 1):
        p = points[round((grey[spots == spot].max() - 40) / 7) - 1]
        cy, cx = ndimage.center_of_mass(grey, spots, spot)
        print("%s,%g,%g,%.4f,%.6f,%d,%d,%g,%g,%g,%g,%g,%g,%.3f,%.3f,%.3f,%.3f,%.3f" % (
            name, focal, squeeze, SENSOR_W * 1e3, SENSOR_H * 1e3, W, H, *pos, az, tilt, roll, *p, cx + 0.5, cy + 0.5))
