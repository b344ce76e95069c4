#!/usr/bin/python3
"""Elevation files in many layouts, and GDAL's answers about them.
Run in this directory: /usr/bin/python3 gdal.py DIR
DIR holds jacksboro_fault_dem.npz, a real elevation model of 3 seconds of arc shipped with matplotlib
(Debian: apt-get download python-matplotlib-data; dpkg -x; usr/share/matplotlib/mpl-data/sample_data), under
matplotlib's BSD-style licence. Needs Debian's gdal-bin and python3-gdal."""
import glob, os, random, subprocess, sys
import numpy as np
from osgeo import gdal, osr

gdal.UseExceptions()
random.seed(46)
VERSION = gdal.VersionInfo("--version")

def srs(code):
    s = osr.SpatialReference()
    s.ImportFromEPSG(code)
    return s.ExportToWkt()

def save(name, z, kind, transform, epsg, options=(), nodata=None, point=False):
    ds = gdal.GetDriverByName("MEM").Create("", z.shape[1], z.shape[0], 1, kind)
    ds.SetGeoTransform(transform)
    ds.SetProjection(srs(epsg))
    if point:
        ds.SetMetadataItem("AREA_OR_POINT", "Point")
    ds.GetRasterBand(1).WriteArray(z)
    if nodata is not None:
        ds.GetRasterBand(1).SetNoDataValue(nodata)
    driver = "COG" if "COG" in options else "GTiff"
    opts = [o for o in options if o != "COG"]
    gdal.GetDriverByName(driver).CreateCopy("../" + name, ds, options=opts)
    return ds

data = np.load(sys.argv[1] + "/jacksboro_fault_dem.npz")
z, dx = data["elevation"], float(data["dx"])
west, north = float(data["xmin"]) - dx / 2, max(float(data["ymin"]), float(data["ymax"])) + dx / 2

# 1. A real grid in degrees, and the same ground in UTM 16N at 90 m.
crop = z[60:260, 80:300]
degrees = (west + 80 * dx, dx, 0, north - 60 * dx, 0, -dx)
save("fault.tif", crop, gdal.GDT_Int16, degrees, 4326, ["COMPRESS=DEFLATE", "PREDICTOR=2", "TILED=YES", "BLOCKXSIZE=64", "BLOCKYSIZE=64"], -32768)
whole = gdal.GetDriverByName("MEM").Create("", z.shape[1], z.shape[0], 1, gdal.GDT_Int16)
whole.SetGeoTransform((west, dx, 0, north, 0, -dx)); whole.SetProjection(srs(4326)); whole.GetRasterBand(1).WriteArray(z)
utm = gdal.Warp("", whole, format="MEM", dstSRS="EPSG:32616", xRes=90, yRes=90, resampleAlg="bilinear", dstNodata=-32768,
    outputBounds=(735030, 4038030, 735030 + 90 * 260, 4038030 + 90 * 240))
assert (utm.ReadAsArray() > 100).all()
gdal.GetDriverByName("GTiff").CreateCopy("../utm.tif", utm, options=["COMPRESS=DEFLATE", "PREDICTOR=2"])

# 2. Bilinear heights at random points: a warp to one tiny cell around each.
def heights(name, ds, n):
    gt = ds.GetGeoTransform(); w, h = ds.RasterXSize, ds.RasterYSize
    unit = abs(gt[1])
    with open(name, "w") as f:
        f.write(f"# {VERSION}: gdalwarp -r bilinear to one cell of 1e-4 source cells\n# x y height\n")
        for _ in range(n):
            c, r = random.uniform(1, w - 1), random.uniform(1, h - 1)
            x, y = gt[0] + c * gt[1], gt[3] + r * gt[5]
            e = unit * 5e-5
            one = gdal.Warp("", ds, format="MEM", outputBounds=(x - e, y - e, x + e, y + e), width=1, height=1, resampleAlg="bilinear", outputType=gdal.GDT_Float64, errorThreshold=0)
            f.write(f"{x:.12f} {y:.12f} {one.ReadAsArray()[0][0]:.6f}\n")

heights("heights_degrees.txt", gdal.Open("../fault.tif"), 200)
heights("heights_utm.txt", gdal.Open("../utm.tif"), 200)

# 3. One small piece in every layout we read. Integer kinds hold the heights, floats a quarter more.
small = z[100:161, 100:171]
place = (west + 100 * dx, dx, 0, north - 100 * dx, 0, -dx)
np.savetxt("cells.txt", small, fmt="%d", header=f"{VERSION}; heights of the files layout_*.tif")
kinds = {"u8": gdal.GDT_Byte, "i16": gdal.GDT_Int16, "u16": gdal.GDT_UInt16, "i32": gdal.GDT_Int32, "u32": gdal.GDT_UInt32, "f32": gdal.GDT_Float32, "f64": gdal.GDT_Float64}
layouts = [
    ("f32", "strips", []), ("f32", "onestrip", ["BLOCKYSIZE=61"]), ("f32", "tiles", ["TILED=YES", "BLOCKXSIZE=32", "BLOCKYSIZE=16"]),
    ("i16", "lzw2", ["COMPRESS=LZW", "PREDICTOR=2"]), ("i16", "lzw", ["COMPRESS=LZW", "TILED=YES", "BLOCKXSIZE=48", "BLOCKYSIZE=48"]),
    ("u16", "deflate2big", ["COMPRESS=DEFLATE", "PREDICTOR=2", "ENDIANNESS=BIG"]), ("i16", "big", ["ENDIANNESS=BIG"]),
    ("i32", "deflate2", ["COMPRESS=DEFLATE", "PREDICTOR=2"]), ("u32", "zstd2", ["COMPRESS=ZSTD", "PREDICTOR=2"]),
    ("f32", "deflate2", ["COMPRESS=DEFLATE", "PREDICTOR=2"]), ("f32", "deflate3", ["COMPRESS=DEFLATE", "PREDICTOR=3", "TILED=YES", "BLOCKXSIZE=32", "BLOCKYSIZE=32"]),
    # Not ENDIANNESS=BIG with PREDICTOR=3: GDAL 3.6.2 writes it wrong and reads back 7e-39 for 853.25.
    ("f64", "lzw3", ["COMPRESS=LZW", "PREDICTOR=3"]),
    ("f64", "zstd", ["COMPRESS=ZSTD"]), ("f32", "zstd3", ["COMPRESS=ZSTD", "PREDICTOR=3", "TILED=YES", "BLOCKXSIZE=16", "BLOCKYSIZE=16"]),
    ("f32", "bigtiff", ["BIGTIFF=YES", "COMPRESS=DEFLATE"]), ("i16", "bigtiffbig", ["BIGTIFF=YES", "ENDIANNESS=BIG", "TILED=YES", "BLOCKXSIZE=32", "BLOCKYSIZE=32"]),
    ("u8", "strips", []),
]
for kind, name, options in layouts:
    v = small.astype(float)
    if kind[0] == "f":
        v = v + 0.25
    if kind == "u8":
        v = v % 251
    save(f"layout_{kind}_{name}.tif", v, kinds[kind], place, 4326, options)
save("layout_f32_point.tif", small + 0.25, gdal.GDT_Float32, place, 4326, ["COMPRESS=DEFLATE"], point=True)
holes = small.astype(float); holes[20:25, 30:40] = -9999
save("layout_f32_nodata.tif", holes + 0.25 * (holes > 0), gdal.GDT_Float32, place, 4326, ["COMPRESS=DEFLATE"], nodata=-9999)
save("cog.tif", z[:300, :300], gdal.GDT_Int16, (west, dx, 0, north, 0, -dx), 4326, ["COG", "BLOCKSIZE=128", "COMPRESS=DEFLATE", "OVERVIEWS=IGNORE_EXISTING"])
cog = gdal.Open("../cog.tif"); over = cog.GetRasterBand(1)
assert over.GetOverviewCount() > 0
np.savetxt("cog_overview.txt", over.GetOverview(0).ReadAsArray()[:40, :40], fmt="%d", header=f"{VERSION}; first 40 x 40 cells of cog.tif's first overview")

# 4. Files that must be refused.
save("refuse_lambert.tif", small, gdal.GDT_Int16, (0, 1000, 0, 0, 0, -1000), 3035, ["COMPRESS=DEFLATE"])
mem = gdal.GetDriverByName("MEM").Create("", 20, 20, 1, gdal.GDT_Int16)
mem.SetGeoTransform((0, 1, 0, 0, 0, -1))
gdal.GetDriverByName("GTiff").CreateCopy("../refuse_nocrs.tif", mem)
mem.SetProjection(srs(32632)); mem.SetGeoTransform((5e5, 10, 3, 5e6, 3, -10))
gdal.GetDriverByName("GTiff").CreateCopy("../refuse_turned.tif", mem)
rgb = gdal.GetDriverByName("MEM").Create("", 20, 20, 3, gdal.GDT_Byte); rgb.SetProjection(srs(32632)); rgb.SetGeoTransform((5e5, 10, 0, 5e6, 0, -10))
gdal.GetDriverByName("GTiff").CreateCopy("../refuse_bands.tif", rgb)
gdal.GetDriverByName("GTiff").CreateCopy("../refuse_jpeg.tif", gdal.Translate("", rgb, format="MEM", bandList=[1]), options=["COMPRESS=JPEG"])

# 5. ASCII grid by GDAL's writer.
gdal.Translate("../piece.asc", "../utm.tif", format="AAIGrid", srcWin=(100, 100, 30, 25))

# 6. Viewsheds on the UTM grid: observer cell, eye and target heights, range, curvature coefficient.
ds = gdal.Open("../utm.tif"); gt = ds.GetGeoTransform()
zz = ds.ReadAsArray()
peak = np.unravel_index(zz.argmax(), zz.shape); low = np.unravel_index(zz.argmin(), zz.shape)
with open("viewshed.txt", "w") as f:
    f.write(f"# {VERSION}: gdal_viewshed -vv 255 -iv 0 -ov 100; rasters are viewshed_N.tif\n# n column row eye target range cc\n")
    for n, (c, r, oz, tz, md, cc) in enumerate([
        (130, 120, 2, 0, 0, 0.85714), (int(peak[1]), int(peak[0]), 1.7, 0, 0, 0.85714), (int(low[1]), int(low[0]), 10, 5, 0, 0.85714),
        (20, 30, 30, 2, 8000, 1.0), (255, 235, 1.7, 0, 0, 0.0), (200, 60, 2, 0, 12000, 0.85714)]):
        x, y = gt[0] + (c + .5) * gt[1], gt[3] + (r + .5) * gt[5]
        subprocess.run(["gdal_viewshed", "-q", "-ox", str(x), "-oy", str(y), "-oz", str(oz), "-tz", str(tz), "-md", str(md), "-cc", str(cc),
            "-vv", "255", "-iv", "0", "-ov", "100", "-co", "COMPRESS=DEFLATE", "../utm.tif", "/tmp/v.tif"], check=True)
        gdal.Translate(f"../viewshed_{n}.tif", "/tmp/v.tif", creationOptions=["COMPRESS=DEFLATE", "TILED=YES", "BLOCKXSIZE=512", "BLOCKYSIZE=512"])
        f.write(f"{n} {c} {r} {oz} {tz} {md} {cc}\n")

# 7. Slope by Horn's formula at random cells.
slope = gdal.DEMProcessing("", ds, "slope", format="MEM", alg="Horn").ReadAsArray()
with open("slope.txt", "w") as f:
    f.write(f"# {VERSION}: gdaldem slope (Horn) on utm.tif\n# column row slope_degrees\n")
    for _ in range(200):
        c, r = random.randint(1, 258), random.randint(1, 238)
        f.write(f"{c} {r} {slope[r][c]:.5f}\n")

# 8. Heights that are not stored as metres: a scale and offset, and US survey feet.
def vertical(name, epsg, scale=None, offset=None):
    ds = gdal.GetDriverByName("MEM").Create("", small.shape[1], small.shape[0], 1, gdal.GDT_Int16)
    s = osr.SpatialReference(); s.SetFromUserInput(epsg)
    ds.SetProjection(s.ExportToWkt()); ds.SetGeoTransform((735030, 90, 0, 4038030, 0, -90))
    ds.GetRasterBand(1).WriteArray(small)
    if scale:
        ds.GetRasterBand(1).SetScale(scale); ds.GetRasterBand(1).SetOffset(offset)
    gdal.GetDriverByName("GTiff").CreateCopy("../" + name, ds, options=["COMPRESS=DEFLATE"])

vertical("scaled.tif", "EPSG:32616", 0.1, 100)          # in GDAL's own tag
vertical("scaled_tie.tif", "EPSG:32616+5773", 0.1, 100) # in the pixel scale and tie point
vertical("feet.tif", "EPSG:32616+6360")

for leftover in glob.glob("../*.aux.xml"):
    os.remove(leftover)
