#!/usr/bin/python3
"""Tables for the geo tests from GeographicLib's and PROJ's command-line tools.
Run in this directory: /usr/bin/python3 geodesy.py   (Debian: geographiclib-tools, proj-bin)"""
import random, subprocess

random.seed(20260621)

def run(cmd, lines):
    out = subprocess.run(cmd, input="\n".join(lines) + "\n", capture_output=True, text=True, check=True)
    return out.stdout.strip().split("\n")

def version(tool):
    return subprocess.run([tool, "--version"], capture_output=True, text=True).stdout.strip().replace("\n", " ")

def lat():
    return random.uniform(-90, 90)

# UTM, latitudes of the system, up to 3.5 degrees from the central meridian.
rows = []
for zone in range(1, 61):
    for _ in range(6):
        rows.append((zone, random.uniform(-79.9, 83.9), 6 * zone - 183 + random.uniform(-3.5, 3.5)))
with open("utm.txt", "w") as f:
    f.write(f"# {version('GeoConvert')}: GeoConvert -u -p 9 -z ZONE\n# lat lon zone hemisphere easting northing\n")
    for zone, la, lo in rows:
        lo = (lo + 180) % 360 - 180
        out = run(["GeoConvert", "-u", "-p", "9", "-z", str(zone)], [f"{la:.12f} {lo:.12f}"])[0].split()
        f.write(f"{la:.12f} {lo:.12f} {zone} {out[0][-1]} {out[1]} {out[2]}\n")

proj = subprocess.run(["cs2cs"], capture_output=True, text=True).stderr.split("\n")[0]
points = [(random.uniform(0.1, 83), 9 + random.uniform(-3, 3)) for _ in range(100)]
out = run(["cs2cs", "EPSG:4326", "EPSG:32632", "-f", "%.6f"], [f"{a:.12f} {b:.12f}" for a, b in points])
with open("utm32_proj.txt", "w") as f:
    f.write(f"# PROJ {proj}: cs2cs EPSG:4326 EPSG:32632 -f %.6f\n# lat lon easting northing\n")
    for (a, b), o in zip(points, out):
        f.write(f"{a:.12f} {b:.12f} {' '.join(o.split()[:2])}\n")

# The site frame: origin, point within about 40 km, and convergence there.
def offset(o, a, b):
    return f"{a:.12f} {b:.12f}"

with open("frame.txt", "w") as f:
    f.write(f"# {version('TransverseMercatorProj')}: TransverseMercatorProj -l LON0 -k 1 -p 9; northing less that of the origin\n")
    f.write("# lat0 lon0 lat lon x y convergence\n")
    origins = [(46.6, 10.3), (70, 179.9), (70, -179.95), (-33, 18), (0, 0), (89.5, 40), (-89.9, 120)]
    for la0, lo0 in origins:
        n0 = float(run(["TransverseMercatorProj", "-l", str(lo0), "-k", "1", "-p", "9"], [f"{la0} {lo0}"])[0].split()[1])
        for _ in range(20):
            la = max(-90, min(90, la0 + random.uniform(-.3, .3)))
            lo = lo0 + random.uniform(-.4, .4)
            lo = (lo + 180) % 360 - 180
            x, y, gamma, k = run(["TransverseMercatorProj", "-l", str(lo0), "-k", "1", "-p", "9"], [f"{la:.12f} {lo:.12f}"])[0].split()
            f.write(f"{la0} {lo0} {la:.12f} {lo:.12f} {x} {float(y) - n0:.9f} {gamma}\n")

# Geodesics: anywhere; within 10 km; nearly antipodal; at poles, equator and across 180 degrees.
pairs = []
for _ in range(300):
    pairs.append((lat(), random.uniform(-180, 180), lat(), random.uniform(-180, 180)))
for _ in range(300):
    a, b = random.uniform(-89, 89), random.uniform(-180, 180)
    pairs.append((a, b, a + random.uniform(-.06, .06), b + random.uniform(-.06, .06)))
for _ in range(200):
    a, b = lat(), random.uniform(-180, 180)
    d = 10 ** random.uniform(-6, 0)
    pairs.append((a, b, max(-90, min(90, -a + d * random.uniform(-1, 1))), b + 180 + d * random.uniform(-1, 1)))
pairs += [(70, 179.9, 70.05, -179.9), (70, -179.99, 70, 179.99), (70, 170, 70, -170), (90, 0, -90, 0), (90, 0, 46.6, 10.3),
          (-90, 33, 46.6, 10.3), (0, 0, 0, 90), (0, 0, 0, 179), (0, 0, 0, 179.5), (0, 0, 0, 180), (0, 0, 0.5, 179.5), (0, 0, 0.5, 179.7),
          (30, 0, -30, 180), (30, 0, -30, 179.8), (46.6, 10.3, 46.6, 10.3), (46.6, 10.3, 46.60001, 10.3), (46.6, 10.3, 46.6, 10.30001),
          (89.9999, 0, 89.9999, 180), (10, 20, -40, 20), (10, 20, 40, -160)]
pairs = [(a, (b + 180) % 360 - 180, c, (d + 180) % 360 - 180) for a, b, c, d in pairs]
out = run(["GeodSolve", "-i", "-f", "-p", "10"], ["%.12f %.12f %.12f %.12f" % p for p in pairs])
with open("geodesic.txt", "w") as f:
    f.write(f"# {version('GeodSolve')}: GeodSolve -i -f -p 10\n# lat1 lon1 azi1 lat2 lon2 azi2 s12\n")
    for o in out:
        f.write(" ".join(o.split()[:7]) + "\n")
