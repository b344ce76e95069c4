#!/bin/sh
# Reports and forecasts decoded a second beside npm metar-taf-parser, over the same texts
# (model/metar/testdata/authority). Run from anywhere: bench/metar.sh
set -eu
cd "$(dirname "$0")"
[ -d peers/node_modules/metar-taf-parser ] || (cd peers && npm ci --no-audit --no-fund >/dev/null)
node metar_peer.mjs
cd .. && go test ./model/metar -run '^$' -bench 'Corpus' | awk '/^Benchmark/ { printf "%-34s", "ours, " tolower(substr($1, 16, index($1, "-") - 16)); for (i = 2; i < NF; i++) if ($(i+1) == "texts/s") printf "%12d a second\n", $i }'
