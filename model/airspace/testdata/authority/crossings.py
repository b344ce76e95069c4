"""1,000 random paths against areas with floor and ceiling, by GEOS through Shapely:
python3 crossings.py > crossings.jsonl

Half the cases have corners and paths on a coarse grid, so that touching, running along
an edge and passing through a corner happen; those paths are level. For each case: does any
leg come within reach, and for how many seconds (legs last one second each)."""
import json
import math
import random

import shapely
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geos import geos_version

print("# " + json.dumps({"script": "crossings.py", "shapely": shapely.__version__, "geos": list(geos_version)}))
rng = random.Random(1707)


def star(cx, cy, r, n, grid):
    turn = rng.uniform(0, 6.28)
    pts = []
    for i in range(n):
        a, d = turn + 2 * math.pi * (i + rng.uniform(0.1, 0.9)) / n, r * rng.uniform(0.35, 1)
        x, y = cx + d * math.cos(a), cy + d * math.sin(a)
        pts.append((round(x / 20) * 20.0, round(y / 20) * 20.0) if grid else (round(x, 3), round(y, 3)))
    return pts


def along(z0, z1, low, high):
    """The part of a leg between two heights, by GEOS in the plane of fraction and height."""
    cut = LineString([(0, z0), (1, z1)]).intersection(box(-1, low, 2, high))
    if cut.is_empty:
        return None
    xs = [c[0] for c in cut.coords]
    return min(xs), max(xs)


done = 0
while done < 1000:
    grid = done % 2 == 1
    outer = star(0, 0, 200, rng.randint(3, 14), grid)
    holes = [star(0, 0, 50, rng.randint(3, 6), grid)] if rng.random() < 0.4 else []
    area = Polygon(outer, holes)
    if not area.is_valid or len(set(outer)) < len(outer) or not Polygon(outer).is_valid:
        continue
    if any(len(set(h)) < len(h) or not Polygon(outer).contains_properly(Polygon(h)) if hasattr(area, "contains_properly")
           else not Polygon(outer).buffer(-1e-6).contains(Polygon(h)) for h in holes):
        continue
    floor = rng.choice([0, 20, 50])
    ceiling = floor + rng.choice([30, 60, 100])
    reach = [0.0, 0.0, 0.0]
    if rng.random() < 0.6:
        reach = [float(rng.choice([0, 5, 20, 33])), float(rng.choice([0, 10, 23])), float(rng.choice([0, 7, 40]))]
    n = rng.randint(2, 5)
    if grid:
        z = float(rng.choice([floor, ceiling, floor + 10, floor - 15, ceiling + 30]))
        path = [(20.0 * rng.randint(-14, 14), 20.0 * rng.randint(-14, 14), z) for _ in range(n)]
    else:
        path = [(round(rng.uniform(-280, 280), 3), round(rng.uniform(-280, 280), 3), round(rng.uniform(-30, 180), 3)) for _ in range(n)]
    r, up, down = reach
    seconds, nearest, hit = 0.0, math.inf, False
    grown = area.buffer(r, resolution=720) if r else area
    for a, b in zip(path, path[1:]):
        part = along(a[2], b[2], floor - up, ceiling + down)
        if part is None:
            continue
        p, q = [tuple(a[k] + (b[k] - a[k]) * s for k in (0, 1)) for s in part]
        line = LineString([p, q]) if p != q else Point(p)
        nearest = min(nearest, area.distance(line))
        whole = math.dist(a[:2], b[:2])
        if whole == 0:
            seconds += (part[1] - part[0]) if area.distance(line) <= r else 0
        else:
            seconds += line.intersection(grown).length / whole
    hit = nearest <= r
    if nearest < math.inf and abs(nearest - r) < 1e-6 and not (grid and nearest == r == 0):
        continue  # too close to call in floating point
    print(json.dumps({"outer": outer, "holes": holes, "floor": floor, "ceiling": ceiling, "reach": reach, "path": path,
                      "hit": hit, "seconds": round(seconds, 9)}))
    done += 1
