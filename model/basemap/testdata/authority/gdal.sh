#!/bin/bash
# Makes small pictures with a place in several systems, and what GDAL says of them: where pixels lie (gdaltransform) and how
# one web map tile looks (gdalwarp, bilinear). Needs gdal-bin and python3-gdal. Run in this directory.
set -eu
version=$(gdalinfo --version)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
/usr/bin/python3 - "$work/plain.tif" <<'PY'
import math, sys
from osgeo import gdal
w, h = 120, 90
d = gdal.GetDriverByName("GTiff").Create(sys.argv[1], w, h, 3, gdal.GDT_Byte)
for b in range(3):
    rows = b"".join(bytes(int(128 + 90 * math.sin(c / 11 + b) * math.cos(r / (9 + b))) for c in range(w)) for r in range(h))
    d.GetRasterBand(b + 1).WriteRaster(0, 0, w, h, rows)
PY
cd "$(dirname "$0")/.."
gdal_translate -q -a_srs EPSG:32632 -a_ullr 599400 5162900 600600 5162000 -co COMPRESS=DEFLATE -co PREDICTOR=2 "$work/plain.tif" utm.tif
gdal_translate -q -a_srs EPSG:3857 -a_ullr 1145500 5879400 1146700 5878500 -co COMPRESS=LZW "$work/plain.tif" web.tif
gdal_translate -q -of PNG "$work/plain.tif" degrees.png
printf '0.0001\n0\n0\n-0.00008\n10.295\n46.605\n' >degrees.pgw
/usr/bin/python3 - "$work/plain.tif" <<'PY'
import sys
from osgeo import gdal, osr
d = gdal.GetDriverByName("GTiff").CreateCopy("turned.tif", gdal.Open(sys.argv[1]), options=["COMPRESS=DEFLATE"])
d.SetGeoTransform([599700, 9.4, 3.1, 5162900, 3.2, -9.6])
s = osr.SpatialReference(); s.ImportFromEPSG(32632); d.SetProjection(s.ExportToWkt())
PY
rm -f ./*.aux.xml
{
  echo "# $version: file, column, row (from the outer corner), longitude, latitude"
  for f in utm.tif web.tif turned.tif degrees.png; do
    for p in "0 0" "120 0" "60.5 40.25" "0 90" "120 90"; do
      a=""
      [ "$f" = degrees.png ] && a="-s_srs EPSG:4326"
      echo "$f $p $(echo "$p" | gdaltransform $a -t_srs EPSG:4326 "$f" -output_xy)"
    done
  done
} >authority/places.txt
tile() { # file z x y
  /usr/bin/python3 - "$@" <<'PY'
import sys
from osgeo import gdal
f, z, x, y = sys.argv[1], *map(int, sys.argv[2:5])
half = 20037508.342789244
side = 2 * half / 2**z
src = gdal.Open(f)
gdal.Warp("/vsimem/t.tif", src, srcSRS="EPSG:4326" if f.endswith("png") else None, dstSRS="EPSG:3857", resampleAlg="bilinear", dstAlpha=True, errorThreshold=0,
          outputBounds=[-half + x * side, half - (y + 1) * side, -half + (x + 1) * side, half - y * side], width=256, height=256)
gdal.GetDriverByName("PNG").CreateCopy("authority/%s_%d_%d_%d.png" % (f.split(".")[0], z, x, y), gdal.Open("/vsimem/t.tif"))
PY
}
for f in utm.tif web.tif turned.tif degrees.png; do
  read -r lon lat <<<"$(awk -v f="$f" '$1 == f && $2 == 60.5 {print $4, $5}' authority/places.txt)"
  xy=$(/usr/bin/python3 -c "import math; n = 2**15; la = math.radians($lat); print(int(($lon + 180) / 360 * n), int((1 - math.asinh(math.tan(la)) / math.pi) / 2 * n))")
  tile "$f" 15 $xy
done
rm -f authority/*.aux.xml
