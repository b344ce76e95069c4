"""Render a sphere through a lens of real width with POV-Ray; print the width of its blur.

The tracer shoots rays from all over the entrance pupil through the plane of focus. Its
"aperture" came out as twice the pupil's diameter in every case (0.5044 to 0.5045 of the
blur before it was doubled here; the excess is its grid of 400 samples), so the table says
how blur goes with focal length, f-number, focus and distance, not its constant. The blur is measured by the spread of
the light: a uniform disc of diameter D has the variance D²/16 along each axis, the sphere's
own picture adds its own, known from a render with a closed pupil.
"""
import math
import pathlib
import subprocess
import sys

import numpy as np

OUT = pathlib.Path(sys.argv[1])
W = H = 400

# focal mm, f-number, focus m, distance m
CASES = [(50, 2, 5, 3), (50, 2, 5, 12), (50, 4, 3, 2.2), (100, 2.8, 10, 6), (100, 4, 10, 40), (25, 1.4, 2, 1.2), (25, 1.4, 2, 60), (135, 2, 20, 12)]

version = subprocess.run(["dpkg-query", "-W", "-f", "${Version}", "povray"], capture_output=True, text=True).stdout
print("# POV-Ray %s (Debian package), focal blur with a fixed seed; sensor window of %d pixels" % (version, W))
print("focal_mm,f_number,focus_m,distance_m,blur_um")


def spread(scene):
    pov, ppm = OUT / "s.pov", OUT / "s.ppm"
    pov.write_text(scene)
    run = subprocess.run(["povray", "+I%s" % pov, "+O%s" % ppm, "+FP16", "+W%d" % W, "+H%d" % H, "-D", "-A", "File_Gamma=1.0"], capture_output=True, text=True)
    if run.returncode:
        sys.exit(run.stderr[-2000:])
    g = np.frombuffer(ppm.read_bytes()[-W * H * 6:], ">u2").reshape(H, W, 3)[:, :, 1].astype(float)
    if g[0].sum() + g[-1].sum() + g[:, 0].sum() + g[:, -1].sum():
        sys.exit("the spot leaves the window")
    y, x = np.mgrid[0:H, 0:W]
    s = g.sum()
    cx, cy = (g * x).sum() / s, (g * y).sum() / s
    return ((g * (x - cx) ** 2).sum() + (g * (y - cy) ** 2).sum()) / s / 2


for focal, n, focus, distance in CASES:
    f = focal * 1e-3
    pupil = f / n
    image = f * focus / (focus - f)  # where the sharp picture stands behind the lens
    expected = pupil * image * abs(distance - focus) / (distance * focus)  # only to size the window
    window = 2.5 * expected
    pitch = window / W
    half = window / image / 2
    radius = 0.25 * expected / image * distance
    body = ("#version 3.7; global_settings { assumed_gamma 1 }\nbackground { color rgb 0 }\n"
            "camera { perspective location 0 direction z right %.9f*x up %.9f*y %%s }\n"
            "sphere { <0,0,%g>, %.9f pigment { color rgb 1 } finish { ambient 0 diffuse 0 emission 1 } }\n" % (2 * half, 2 * half, distance, radius))
    sharp = spread(body % "")
    blurred = spread(body % ("aperture %.9f focal_point <0,0,%g> blur_samples 400 variance 0" % (2 * pupil, focus)))
    print("%g,%g,%g,%g,%.3f" % (focal, n, focus, distance, 4 * math.sqrt(blurred - sharp) * pitch * 1e6))
    sys.stdout.flush()
