#!/usr/bin/python3
"""Random polygons with holes, points, segments and a second polygon, with the answers of GEOS
(Debian: python3-shapely). Run in this directory: /usr/bin/python3 planar.py"""
import json, math, random
import shapely
from shapely.geometry import Point, LineString, Polygon

random.seed(7)
R = lambda a, b: round(random.uniform(a, b), 3)

def star(cx, cy, lo, hi, n):
    return [(round(cx + (r := random.uniform(lo, hi)) * math.cos(2 * math.pi * i / n), 3), round(cy + r * math.sin(2 * math.pi * i / n), 3)) for i in range(n)]

cases = []
for _ in range(1000):
    outer = star(R(-50, 50), R(-50, 50), 30, 100, random.randint(3, 14))
    cx, cy = Polygon(outer).representative_point().coords[0]
    holes = [star(cx, cy, 2, 8, random.randint(3, 7))] if random.random() < .5 else []
    poly = Polygon(outer, holes)
    if not poly.is_valid or (holes and not Polygon(outer).contains(Polygon(holes[0]))):
        continue
    p, a, b = [(R(-150, 150), R(-150, 150)) for _ in range(3)]
    if random.random() < .3:
        a = (round(cx, 3), round(cy, 3))
    other = star(R(-200, 200), R(-200, 200), 10, 40, random.randint(3, 9))
    line = LineString([a, b])
    cases.append(dict(outer=outer, holes=holes, p=p, a=a, b=b, other=other,
        contains=poly.covers(Point(p)), distance=poly.distance(Point(p)), boundary=poly.boundary.distance(Point(p)), area=poly.area,
        segment=poly.distance(line), inside=poly.intersection(line).length, polygons=poly.distance(Polygon(other))))
rings = []
for _ in range(500):
    n = random.randint(3, 7)
    ring = [(random.randint(0, 6), random.randint(0, 6)) for _ in range(n)]
    if any(ring[i] == ring[(i + 1) % n] for i in range(n)):
        continue
    rings.append(dict(ring=ring, simple=LineString(ring + ring[:1]).is_simple))
with open("planar.json", "w") as f:
    json.dump(dict(tool=f"shapely {shapely.__version__}, GEOS {shapely.geos.geos_version_string}", cases=cases, rings=rings), f, separators=(",", ":"))
