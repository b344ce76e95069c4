#!/bin/sh
# A minute's shot over 2 km of terrain with 200 obstacles (goals: 150 ms, 30 ms after a small change), and five
# discretised shots beside SciPy's SLSQP on the very same problems (goal: 20 times). Needs python3-scipy.
set -eu
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go test ./plan/move -run '^$' -bench 'Solve$|Resolve$' -benchtime 20x -count 3 | awk '/^Benchmark/ {
	name = $1; sub(/^Benchmark/, "", name); sub(/-[0-9]+$/, "", name); ms = $3 / 1e6; if (!(name in best) || ms < best[name]) best[name] = ms }
	END { printf "%-44s %10.1f ms\n%-44s %10.1f ms\n", "solved, a minute and 200 obstacles", best["Solve"], "solved again after a small change", best["Resolve"] }'
go test ./plan/move -run '^$' -bench 'General' -benchtime 20x -count 3 | awk '/^BenchmarkGeneral/ {
	name = $1; sub(/^BenchmarkGeneral\//, "", name); sub(/-[0-9]+$/, "", name); gsub(/_/, " ", name); print name "|" $3 / 1e9 }' >"$work/ours"
OMP_NUM_THREADS=1 /usr/bin/python3 plan/move/testdata/authority/slsqp.py --time "push in over a crest" "truck past the barn" "boom beside the barn" "turn at the mast" "arc into the mast" >"$work/theirs"
awk -F'|' 'NR == FNR { if (!($1 in ours) || $2 < ours[$1]) ours[$1] = $2; next }
	{ printf "%-30s ours %8.2f ms   SLSQP %9.0f ms   %6.0f times\n", $1, ours[$1] * 1e3, $2 * 1e3, $2 / ours[$1] }' "$work/ours" "$work/theirs"
