#!/usr/bin/python3
"""Distances to solids from GEOS (shapely), written to clearance.json.

  /usr/bin/python3 clearance.py

Prisms are cut at the height of the point: where the point is between bottom and top, the
distance is that to the ring in plan, negative inside unless roof or floor is nearer. Wires
are cut in their own upright plane, where the curtain from the chord down to the sag is a
polygon. Points beside the plane combine both by Pythagoras.
"""
import json, pathlib, random
import shapely, shapely.geos, shapely.geometry as g

rng = random.Random(20261125)
cases = []
for i in range(150):
    n = rng.randint(3, 9)
    # a star-shaped ring, often not convex
    import math
    ring = []
    for k in range(n):
        a = 2 * math.pi * (k + rng.random() * 0.6) / n
        r = rng.uniform(3, 20)
        ring.append((r * math.cos(a), r * math.sin(a)))
    poly = g.Polygon(ring)
    if not poly.is_valid:
        continue
    bottom, top = rng.uniform(-5, 5), rng.uniform(8, 20)
    p = (rng.uniform(-30, 30), rng.uniform(-30, 30), rng.uniform(-10, 30))
    flat = g.Point(p[:2])
    side = poly.exterior.distance(flat) * (-1 if poly.contains(flat) else 1)
    over = max(p[2] - top, bottom - p[2])
    if side <= 0 and over <= 0:
        d = max(side, over)
    else:
        d = math.hypot(max(side, 0), max(over, 0))
    cases.append({"kind": "prism", "ring": ring, "bottom": bottom, "top": top, "point": p, "distance": d})
for i in range(150):
    length, fall, sag = rng.uniform(5, 200), rng.uniform(-20, 20), rng.uniform(0.1, 8)
    turn = rng.uniform(0, 6.28)
    s, z, off = rng.uniform(-50, length + 50), rng.uniform(-40, 40), rng.uniform(-20, 20)
    curtain = g.Polygon([(0, 0), (length, fall), (length, fall - sag), (0, -sag)])
    d = math.hypot(curtain.distance(g.Point(s, z)), off)
    c, n = math.cos(turn), math.sin(turn)
    a = (10.0, -5.0, 50.0)
    b = (a[0] + length * c, a[1] + length * n, a[2] + fall)
    p = (a[0] + s * c - off * n, a[1] + s * n + off * c, a[2] + z)
    cases.append({"kind": "wire", "a": a, "b": b, "sag": sag, "point": p, "distance": d})
for i in range(60):
    r, h = rng.uniform(0.2, 8), rng.uniform(2, 30)
    p = (rng.uniform(-20, 20), rng.uniform(-20, 20), rng.uniform(-10, 45))
    # in the upright plane through the axis the cylinder is a rectangle
    rect = g.box(-r, 0, r, h)
    q = g.Point(math.hypot(p[0], p[1]), p[2])
    d = rect.exterior.distance(q) * (-1 if rect.contains(q) else 1)
    cases.append({"kind": "cylinder", "radius": r, "height": h, "point": p, "distance": d})
out = {"Tool": f"shapely {shapely.__version__}, GEOS {'.'.join(map(str, shapely.geos.geos_version))}", "Cases": cases}
(pathlib.Path(__file__).parent / "clearance.json").write_text(json.dumps(out) + "\n")
print(len(cases), out["Tool"])
