#!/usr/bin/python3
"""Writes nmea.json: what Debian's python3-nmea2 (pynmea2, an independent parser) reads
from sentences built here with its own checksum, for comparison with package track.
Run: /usr/bin/python3 nmea.py > nmea.json"""
import json, random, pynmea2
random.seed(7)
rows = []
for i in range(200):
    lat, lon = random.uniform(0, 89.9), random.uniform(0, 179.9)
    ns, ew = random.choice("NS"), random.choice("EW")
    f = lambda v, n: f"{int(v):0{n}d}{(v - int(v)) * 60:08.5f}" if (v - int(v)) * 60 < 59.999 else f"{int(v):0{n}d}59.00000"
    hms = f"{random.randrange(24):02d}{random.randrange(60):02d}{random.randrange(60):02d}.{random.randrange(100):02d}"
    dmy = f"{random.randrange(1, 29):02d}{random.randrange(1, 13):02d}{random.randrange(10, 40):02d}"
    alt, kn, crs = f"{random.uniform(-100, 4000):.1f}", f"{random.uniform(0, 60):.2f}", f"{random.uniform(0, 360):.1f}"
    talker = random.choice(["GP", "GN", "GL", "GA"])
    gga = str(pynmea2.parse(str(pynmea2.GGA(talker, "GGA", (hms, f(lat, 2), ns, f(lon, 3), ew, "1", "08", "0.9", alt, "M", "46.9", "M", "", "")))))
    rmc = str(pynmea2.parse(str(pynmea2.RMC(talker, "RMC", (hms, "A", f(lat, 2), ns, f(lon, 3), ew, kn, crs, dmy, "", "")))))
    g, r = pynmea2.parse(gga), pynmea2.parse(rmc)
    t = r.timestamp
    rows.append(dict(gga=gga, rmc=rmc, lat_deg=g.latitude, lon_deg=g.longitude, height_m=float(g.altitude),
                     speed_kt=float(r.spd_over_grnd), course_deg=float(r.true_course),
                     time=f"{r.datestamp.isoformat()}T{t.strftime('%H:%M:%S.%f')}Z"))
print(json.dumps(dict(tool="python3-nmea2 " + pynmea2.__version__, rows=rows), indent=0))
