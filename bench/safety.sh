#!/bin/sh
# Airspace crossings beside GEOS on the 1,000 cases of model/airspace/testdata, and falls with drag and wind
# beside SciPy's solve_ivp on the 60 of model/risk/testdata. Needs python3-shapely and python3-scipy.
set -eu
cd "$(dirname "$0")/.."
/usr/bin/python3 bench/safety_peers.py
go test ./model/airspace -run '^$' -bench 'GEOSCases' -count 3 | grep '^Bench' | awk '{printf "%-58s %10.3f ms for 1,000 cases\n", "airspace crossings, ours", $3 / 1e6}'
go test ./model/risk -run '^$' -bench 'SciPyCases' -count 3 | grep '^Bench' | awk '{printf "%-58s %10.3f ms for 60 falls\n", "falls with drag and wind, ours", $3 / 1e6}'
