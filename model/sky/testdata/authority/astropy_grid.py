"""Sun and moon over a grid of times and places by Astropy, for grid_test.go.

Run with Debian's python3-astropy: /usr/bin/python3 astropy_grid.py > astropy_grid.csv
No refraction. Each row carries the UT1 and the TT - UT1 that Astropy used (the bundled IERS-B table, and
UT1 = UTC beyond it), so that a test compares ephemerides and not tables of the Earth's spin.
"""
import random
import sys
import warnings

import astropy
import astropy.units as u
import erfa
import numpy as np
from astropy.coordinates import AltAz, EarthLocation, get_moon, get_sun
from astropy.time import Time
from astropy.utils import iers

warnings.simplefilter("ignore")
iers.conf.auto_download = False
iers.conf.iers_degraded_accuracy = "ignore"

ROWS = 2400
rng = random.Random(34302)
first = Time("1950-01-02T00:00:00", scale="utc").jd
last = Time("2100-12-30T00:00:00", scale="utc").jd

print(f"# astropy {astropy.__version__}, pyerfa {erfa.__version__}, {ROWS} rows, seed 34302; made by astropy_grid.py")
print("# ut1_jd2000 (days of UT1 since JD 2451545.0), delta_t_s (TT - UT1), latitude, longitude, height_m,")
print("# sun azimuth, sun altitude, moon azimuth, moon altitude (degrees, no air), sun distance au, moon distance km")
latitudes = [-90, -89.9, -66.5, -45, -23.4, 0, 10, 23.4, 46.6, 66.5, 78, 89.9, 90]
for n in range(ROWS):
    t = Time(rng.uniform(first, last), format="jd", scale="utc")
    latitude = rng.choice(latitudes) if n % 4 == 0 else rng.uniform(-90, 90)
    longitude, height = rng.uniform(-180, 180), rng.choice([0, 0, 500, 1800, 4000])
    place = EarthLocation.from_geodetic(longitude * u.deg, latitude * u.deg, height * u.m)
    frame = AltAz(obstime=t, location=place, pressure=0 * u.hPa)
    sun = get_sun(t).transform_to(frame)
    moon = get_moon(t, place).transform_to(frame)
    ut1 = (t.ut1.jd1 - 2451545.0) + t.ut1.jd2
    tt = (t.tt.jd1 - 2451545.0) + t.tt.jd2
    print(
        f"{ut1:.9f},{(tt - ut1) * 86400:.4f},{latitude:.6f},{longitude:.6f},{height},"
        f"{sun.az.deg:.6f},{sun.alt.deg:.6f},{moon.az.deg:.6f},{moon.alt.deg:.6f},"
        f"{sun.distance.au:.8f},{moon.distance.km:.1f}"
    )
    if n % 200 == 0:
        print(n, file=sys.stderr)
