#!/usr/bin/python3
"""Writes recorded.gpx and recorded.kml with GDAL's own drivers, and recorded.json with
what GDAL reads back from them and with the track's length by GeographicLib's GeodSolve.
Run in this directory: /usr/bin/python3 gdal.py"""
import json, math, os, random, subprocess
from osgeo import ogr, osr, gdal
gdal.UseExceptions()
random.seed(11)
srs = osr.SpatialReference(); srs.ImportFromEPSG(4326); srs.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
pts, lat, lon, h, head = [], 46.6, -10.3, 1500.0, 0.7
for i in range(300):
    head += random.uniform(-.2, .2)
    lat += 3e-5 * math.cos(head); lon += 4e-5 * math.sin(head); h += random.uniform(-1, 1)
    pts.append((round(lon, 8), round(lat, 8), round(h, 2), i))
def stamp(f, i): f.SetField("time" if f.GetFieldIndex("time") >= 0 else "timestamp", 2026, 6, 21, 10, i // 60, float(i % 60), 100)
for name, driver in (("recorded.gpx", "GPX"), ("recorded.kml", "LIBKML")):
    if os.path.exists(name): os.remove(name)
    ds = ogr.GetDriverByName(driver).CreateDataSource(name)
    layer = ds.CreateLayer("track_points" if driver == "GPX" else "flown", srs, ogr.wkbPoint25D)
    if driver == "LIBKML":
        layer.CreateField(ogr.FieldDefn("timestamp", ogr.OFTDateTime)); layer.CreateField(ogr.FieldDefn("altitudeMode", ogr.OFTString))
    for x, y, z, i in pts:
        f = ogr.Feature(layer.GetLayerDefn()); g = ogr.Geometry(ogr.wkbPoint25D); g.AddPoint(x, y, z)
        f.SetGeometry(g); stamp(f, i)
        if driver == "GPX": f.SetField("track_fid", 0); f.SetField("track_seg_id", i // 150); f.SetField("ele", z)
        else: f.SetField("altitudeMode", "absolute")
        layer.CreateFeature(f)
    ds = None
out = {"tool": "GDAL " + gdal.__version__ + ", " + subprocess.run(["GeodSolve", "--version"], capture_output=True, text=True).stdout.strip()}
for name in ("recorded.gpx", "recorded.kml"):
    ds = ogr.Open(name)
    layer = ds.GetLayerByName("track_points") or ds.GetLayer(0)
    rows = []
    for f in layer:
        g = f.GetGeometryRef(); t = f.GetFieldAsDateTime("time" if name.endswith("gpx") else "timestamp")
        z = f.GetField("ele") if name.endswith("gpx") else g.GetZ()
        rows.append([g.GetY(), g.GetX(), z, "%04d-%02d-%02dT%02d:%02d:%06.3fZ" % tuple(t[:6])])
    out[name] = rows
rows = out["recorded.gpx"]
def inverse(pairs):
    lines = "\n".join("%.12f %.12f %.12f %.12f" % (a[0], a[1], b[0], b[1]) for a, b in pairs)
    r = subprocess.run(["GeodSolve", "-i", "-p", "6"], input=lines, capture_output=True, text=True, check=True)
    return [float(l.split()[2]) for l in r.stdout.strip().split("\n")]
out["length_m"] = sum(inverse([(rows[i-1], rows[i]) for i in range(1, len(rows)) if i != 150]))
json.dump(out, open("recorded.json", "w"), indent=0)
