#!/bin/bash
# Terrain queries side by side with gdal_viewshed on one grid of 4000 x 4000 cells, made from the real elevation
# model in model/terrain/testdata. Needs gdal-bin. Run from anywhere: bench/terrain.sh
set -eu
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
gdalwarp -q -r cubicspline -ot Float32 -ts 4000 4000 -te 735030 4038030 756630 4059630 model/terrain/testdata/utm.tif "$work/big.tif"
x=745832.7 y=4048827.3 # centre of cell 2000, 1999
echo "machine: $(nproc) cores; $(gdalinfo --version); $(go version)"
for run in 1 2 3; do
  rm -f "$work/view.tif"
  TIMEFORMAT="gdal_viewshed, whole process, run $run: %R s, processor time %U + %S s"
  time gdal_viewshed -q -ox $x -oy $y -oz 1.7 -md 0 -vv 255 -iv 0 "$work/big.tif" "$work/view.tif"
done
TERRAIN_TIF="$work/big.tif" TERRAIN_VIEWSHED="$work/view.tif" \
  go test ./model/terrain -run '^$' -bench 'Skyline720|Viewshed$|ViewshedFile|Shadow$|Raycast|LineOfSight' -benchtime 5x
