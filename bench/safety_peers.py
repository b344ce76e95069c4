"""The peers of bench/safety.sh: GEOS through Shapely and SciPy's solve_ivp, best of three."""
import csv
import json
import time

import scipy
import shapely
from scipy.integrate import solve_ivp
from shapely.geometry import LineString, Polygon
from shapely.geos import geos_version

with open("model/airspace/testdata/authority/crossings.jsonl") as f:
    cases = [json.loads(line) for line in f if not line.startswith("#")]
areas = [Polygon(c["outer"], c["holes"]) for c in cases]


def crossings():
    hits = 0
    for c, area in zip(cases, areas):
        r, up, down = c["reach"]
        hit = False
        for a, b in zip(c["path"], c["path"][1:]):
            s = [0.0, 1.0]
            low, high = c["floor"] - up, c["ceiling"] + down
            dz = b[2] - a[2]
            if dz == 0:
                if not low <= a[2] <= high:
                    continue
            else:
                cut = sorted(((low - a[2]) / dz, (high - a[2]) / dz))
                s = [max(0.0, cut[0]), min(1.0, cut[1])]
                if s[0] > s[1]:
                    continue
            line = LineString([(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for t in s])
            hit = hit or area.distance(line) <= r
        hits += hit
    assert hits == sum(c["hit"] for c in cases)


with open("model/risk/testdata/authority/fall.csv") as f:
    rows = [[float(x) for x in r] for r in list(csv.reader(line for line in f if line[0] != "#"))[1:]]


def falls():
    for m, cda, rho, x, y, z, vx, vy, vz, wx, wy, *want in rows:
        k = 0.5 * rho * cda / m

        def f(t, s):
            rx, ry, rz = s[3] - wx, s[4] - wy, s[5]
            n = (rx * rx + ry * ry + rz * rz) ** 0.5
            return [s[3], s[4], s[5], -k * n * rx, -k * n * ry, -k * n * rz - 9.80665]

        def ground(t, s):
            return s[2]

        ground.terminal, ground.direction = True, -1
        r = solve_ivp(f, (0, 600), [x, y, z, vx, vy, vz], method="DOP853", rtol=1e-6, atol=1e-6, events=ground)
        assert abs(r.t_events[0][0] - want[0]) < 1e-3


def best(work):
    times = []
    for _ in range(3):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times) * 1000


print(f"{'airspace crossings, Shapely ' + shapely.__version__ + ' on GEOS ' + '.'.join(map(str, geos_version)):<58} {best(crossings):10.3f} ms for 1,000 cases (hit or not only)")
print(f"{'falls with drag and wind, SciPy ' + scipy.__version__ + ' DOP853 at 1e-6':<58} {best(falls):10.3f} ms for 60 falls")
