#!/bin/sh
# Positions a second of the sky package beside Astropy, ERFA and astronomy-engine, in one run, with the largest
# separation from Astropy over the same 4,000 moments of 2026. Needs python3-astropy and bench/peers' packages.
set -eu
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
[ -d peers/node_modules/astronomy-engine ] || (cd peers && npm ci --no-audit --no-fund >/dev/null)
(cd .. && CGO_ENABLED=0 go build -o "$work/sky" ./bench/sky)
"$work/sky" times "$work/times.csv"
/usr/bin/python3 sky_astropy.py "$work/times.csv" "$work/reference.csv" >"$work/results"
node sky_astronomy.mjs "$work/times.csv" "$work/reference.csv" >>"$work/results"
"$work/sky" run "$work/times.csv" "$work/reference.csv" >>"$work/results"
sort -s -k1,1 "$work/results" | awk -F'|' '
	{ name[NR] = $1; rate[NR] = $2; far[NR] = $3; kind = substr($1, 1, 4)
	  if ($1 !~ /ours/ && $2 > best[kind]) best[kind] = $2 }
	END {
		printf "%-66s %14s %14s %s\n", "sun and moon positions", "per second", "x best peer", "degrees from astropy"
		for (i = 1; i <= NR; i++)
			printf "%-66s %14d %14.2f %s\n", name[i], rate[i], rate[i] / best[substr(name[i], 1, 4)], far[i]
	}'
