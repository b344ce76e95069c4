"""Sun and moon by Astropy and by ERFA over one list of times, for bench/sky.sh.

Usage: /usr/bin/python3 sky_astropy.py TIMES.csv OUT.csv
TIMES.csv: days of UT since J2000.0 and delta T in seconds, one row each. Writes azimuth and altitude (no air) of
the sun by Astropy and prints how many positions a second Astropy and a lean ERFA chain gave.
"""
import sys
import time
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

LATITUDE, LONGITUDE, HEIGHT = 46.6, 10.3, 1800.0
rows = np.loadtxt(sys.argv[1], delimiter=",")
ut, delta_t = rows[:, 0], rows[:, 1]
place = EarthLocation.from_geodetic(LONGITUDE * u.deg, LATITUDE * u.deg, HEIGHT * u.m)


def timed(f, seconds=1.5):
    f()
    n, start = 0, time.perf_counter()
    while time.perf_counter() - start < seconds:
        out = f()
        n += 1
    return out, n * len(ut) / (time.perf_counter() - start)


def astropy_sun():
    t = Time(2451545.0, ut, format="jd", scale="utc")
    s = get_sun(t).transform_to(AltAz(obstime=t, location=place, pressure=0 * u.hPa))
    return s.az.deg, s.alt.deg


def astropy_moon():
    t = Time(2451545.0, ut, format="jd", scale="utc")
    s = get_moon(t, place).transform_to(AltAz(obstime=t, location=place, pressure=0 * u.hPa))
    return s.az.deg, s.alt.deg


PHI, LAM = np.radians(LATITUDE), np.radians(LONGITUDE)
OBSERVER = erfa.gd2gc(1, LAM, PHI, HEIGHT) / erfa.DAU


def erfa_sun():
    """Earth ephemeris, light time and aberration by the Earth's velocity, precession and nutation IAU 2006/2000B, sidereal time, parallax."""
    tt = ut + delta_t / 86400
    pvh, pvb = erfa.epv00(2451545.0, tt)
    sun = -pvh["p"]
    r = np.linalg.norm(sun, axis=-1, keepdims=True)
    v = pvb["v"] * 0.0057755183
    n = sun / r
    n = n + v - n * np.sum(n * v, axis=-1, keepdims=True)
    n = n / np.linalg.norm(n, axis=-1, keepdims=True)
    npb = erfa.pnm00b(2451545.0, tt)
    true = erfa.rxp(npb, n * r)
    gst = erfa.gst00b(2451545.0, ut) + LAM
    c, s = np.cos(gst), np.sin(gst)
    m = true[:, 0] * c + true[:, 1] * s - np.hypot(OBSERVER[0], OBSERVER[1])
    e = -true[:, 0] * s + true[:, 1] * c
    p = true[:, 2] - OBSERVER[2]
    up, north = m * np.cos(PHI) + p * np.sin(PHI), -m * np.sin(PHI) + p * np.cos(PHI)
    return np.degrees(np.arctan2(e, north)) % 360, np.degrees(np.arctan2(up, np.hypot(e, north)))


def separation(a, b):
    (az1, h1), (az2, h2) = np.radians(a), np.radians(b)
    x = np.sin((h1 - h2) / 2) ** 2 + np.cos(h1) * np.cos(h2) * np.sin((az1 - az2) / 2) ** 2
    return np.degrees(2 * np.arcsin(np.sqrt(x)))


sun, rate_astropy = timed(astropy_sun)
_, rate_moon = timed(astropy_moon)
lean, rate_erfa = timed(erfa_sun)
np.savetxt(sys.argv[2], np.column_stack(sun), fmt="%.8f", delimiter=",")
print(f"sun  astropy {astropy.__version__} get_sun + AltAz, vectorised|{rate_astropy:.0f}|0")
print(f"moon astropy {astropy.__version__} get_moon + AltAz, vectorised|{rate_moon:.0f}|")
print(f"sun  ERFA (pyerfa {erfa.__version__}) epv00 + pnm00b + gst00b, vectorised|{rate_erfa:.0f}|{np.max(separation(np.array(lean), np.array(sun))):.6f}")
