#!/bin/bash
# Reading a recording of 2 h at 10 Hz (72 000 points, GPX) side by side with GDAL and
# gpxpy. Needs gdal-bin and python3-gpxpy. Run from anywhere: bench/track.sh
set -eu
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
/usr/bin/python3 - "$work/long.gpx" <<'PY'
import datetime, math, sys
start = datetime.datetime(2026, 6, 21, 10)
with open(sys.argv[1], "w") as f:
    f.write('<?xml version="1.0"?><gpx version="1.1" creator="bench" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n')
    for i in range(72000):
        t = (start + datetime.timedelta(milliseconds=100 * i)).isoformat(timespec="milliseconds")
        f.write(f'<trkpt lat="{46.6 + .001 * math.sin(i / 300):.7f}" lon="{10.3 + .001 * math.cos(i / 300):.7f}"><ele>{1500 + math.sin(i / 300):.2f}</ele><time>{t}Z</time></trkpt>\n')
    f.write('</trkseg></trk></gpx>\n')
PY
echo "machine: $(nproc) cores; $(ogrinfo --version); $(go version); $(du -h "$work/long.gpx" | cut -f1) file"
for run in 1 2 3; do
  TIMEFORMAT="ogrinfo, whole process, run $run: %R s"
  time ogrinfo -al -q "$work/long.gpx" track_points > "$work/out"
done
if /usr/bin/python3 -c 'import gpxpy' 2>/dev/null; then
  /usr/bin/python3 - "$work/long.gpx" <<'PY'
import gpxpy, sys, time
for run in (1, 2, 3):
    t = time.perf_counter()
    n = sum(len(s.points) for k in gpxpy.parse(open(sys.argv[1])).tracks for s in k.segments)
    print(f"gpxpy {n} points, run {run}: {time.perf_counter() - t:.2f} s")
PY
else
  echo "gpxpy is not installed: apt-get install python3-gpxpy"
fi
go test ./desk/track -run '^$' -bench 'ReadTwoHours' -benchtime 3x
