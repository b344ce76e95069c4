#!/usr/bin/python3
"""Makes the pictures that the renderer is held against: POV-Ray's own height field under the same camera and sun.

Needs povray, python3-gdal, python3-numpy (Debian). Run from this folder: ./povray.py
Ground: a piece of model/terrain/testdata/utm.tif (real elevation model; see its README), cubic to 40 m, 16-bit heights.
Writes ground.png (heights), view_N.png (palette: 0 sky, 1 ground in shadow, 2 ground in the sun), views.json.
POV-Ray's axes: x east, y up, z north. Its 16-bit height field puts sample k of n at k/(n-1).
"""
import json, math, os, re, struct, subprocess, sys, tempfile, zlib
import numpy as np
from osgeo import gdal

N, CELL = 257, 40.0
WEST, NORTH = 738000.0, 4054000.0
W, H = 1280, 720

def chunk(name, data):
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

def png(path, rows, bits, kind, extra=b""):
    raw = b"".join(b"\0" + r for r in rows)
    h = len(rows)
    w = len(rows[0]) * 8 // bits
    with open(path, "wb") as f:
        f.write(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", w, h, bits, kind, 0, 0, 0)) + extra
                + chunk(b"IDAT", zlib.compress(raw, 9)) + chunk(b"IEND", b""))

def ground():
    source = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../../../model/terrain/testdata/utm.tif")
    half = CELL / 2
    warped = gdal.Warp("", source, format="MEM", resampleAlg="cubicspline", outputType=gdal.GDT_Float32, width=N, height=N,
                       outputBounds=(WEST - half, NORTH - (N - 1) * CELL - half, WEST + (N - 1) * CELL + half, NORTH + half))
    z = warped.ReadAsArray().astype(float)
    low, high = float(z.min()), float(z.max())
    v = np.round((z - low) / (high - low) * 65535).astype(">u2")
    png("ground.png", [r.tobytes() for r in v], 16, 0)
    return low, high, low + v.astype(float) / 65535 * (high - low)

def axes(v):
    """The picture's axes, as model/lens defines them."""
    a, t, r = (math.radians(v[k]) for k in ("azimuth_deg", "tilt_deg", "roll_deg"))
    f = np.array([math.sin(a) * math.cos(t), math.cos(a) * math.cos(t), math.sin(t)])
    level = np.array([math.cos(a), -math.sin(a), 0])
    upright = np.array([-math.sin(a) * math.sin(t), -math.cos(a) * math.sin(t), math.cos(t)])
    return level * math.cos(r) - upright * math.sin(r), upright * math.cos(r) + level * math.sin(r), f

def vec(p):
    return "<%.15g,%.15g,%.15g>" % (p[0], p[2], p[1])

def scene(v, low, high, heights="ground.png", n=N, cell=CELL):
    right, up, forward = axes(v)
    a, h = math.radians(v["sun_azimuth_deg"]), math.radians(v["sun_altitude_deg"])
    sun = np.array([math.sin(a) * math.cos(h), math.cos(a) * math.cos(h), math.sin(h)])
    wide, tall = v["sensor_width_m"] / v["focal_m"], v["sensor_height_m"] / v["focal_m"]
    return f"""#version 3.7;
global_settings {{ assumed_gamma 1 }}
camera {{ perspective location {vec(v["pos_m"])} direction {vec(forward)} right {vec(right * wide)} up {vec(up * tall)} }}
background {{ rgb <0,0,1> }}
light_source {{ {vec(sun * 1e6)} color rgb <1,0,0> parallel point_at <0,0,0> }}
height_field {{ png "{heights}" gamma 1.0 smooth
  scale <{(n - 1) * cell},{high - low},{(n - 1) * cell}> translate <0,{low},0>
  pigment {{ rgb 1 }} finish {{ ambient 0 emission 0 diffuse 60 }} }}
"""

def main():
    version = re.search(r"POV-Ray [0-9.]+", subprocess.run(["povray", "--version"], capture_output=True, text=True).stderr).group()
    low, high, z = ground()
    # x east and y north from the grid's south-west node; h is the camera's height above ground.
    wanted = [
        (1500, 5200, 90, 72, -3, 0, 25, 118, 14), (7300, 2100, 140, 318, -6, 0, 18, 251, 9),
        (5200, 8600, 320, 196, -5, 4, 35, 96, 11), (3600, 3900, 520, 25, -32, -7, 18, 262, 7),
    ]
    views = []
    for x, y, h, azimuth, tilt, roll, mm, sun, altitude in wanted:
        i, j = x / CELL, (N - 1) - y / CELL
        views.append({"pos_m": [x, y, float(z[int(j)][int(i)]) + h], "azimuth_deg": azimuth, "tilt_deg": tilt, "roll_deg": roll,
                      "focal_m": mm / 1000, "sensor_width_m": 0.0256, "sensor_height_m": 0.0144,
                      "sun_azimuth_deg": sun, "sun_altitude_deg": altitude})
    with open("views.json", "w") as f:
        json.dump({"made_with": version, "source": "model/terrain/testdata/utm.tif", "cell_m": CELL, "low_m": low, "high_m": high, "views": views}, f, indent=1)
        f.write("\n")
    with tempfile.TemporaryDirectory() as work:
        for k, v in enumerate(views):
            pov, ppm = os.path.join(work, "v.pov"), os.path.join(work, "v.ppm")
            with open(pov, "w") as f:
                f.write(scene(v, low, high))
            subprocess.run(["povray", f"+I{pov}", f"+O{ppm}", "+FP16", f"+W{W}", f"+H{H}", "-A", "-D", "+L.", "-GA"], check=True, capture_output=True)
            data = open(ppm, "rb").read()
            head = re.match(rb"P6\s+(?:#.*\s)*(\d+)\s+(\d+)\s+(\d+)\s", data)
            p = np.frombuffer(data[head.end():], ">u2").reshape(H, W, 3)
            kind = np.where(p[:, :, 2] > 30000, 0, np.where(p[:, :, 0] > 0, 2, 1)).astype(np.uint8)
            packed = [(r[0::4] << 6 | r[1::4] << 4 | r[2::4] << 2 | r[3::4]).astype(np.uint8).tobytes() for r in kind]
            png(f"view_{k}.png", packed, 2, 3, chunk(b"PLTE", bytes([120, 170, 220, 40, 40, 60, 240, 220, 160, 0, 0, 0])))
            print(k, [int((kind == c).sum()) for c in range(3)])

if __name__ == "__main__":
    main()
