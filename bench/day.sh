#!/bin/sh
# The day's search: a shoot of 40 slates on 3 rigs in 2 days; small days that the
# peers certify, in seconds to proof; days of 20 and 30 slates before HiGHS (SciPy,
# Debian), CBC (Debian) and MiniZinc with Gecode (Debian) at ten times our time,
# ten seconds at most.
# Nothing in the tree is written.
cd "$(dirname "$0")/.." || exit 1
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
go test ./plan/day -run '^$' -bench 'Shoot|FirstPlan' -benchtime 4x
go test ./plan/day -run 'TestAgainstCertifiedOptima/day(00|13)$' -v | grep -E '^    --- '
for solver in highs cbc; do
	echo "$solver, seconds to proof:"
	/usr/bin/python3 plan/day/testdata/authority/certify.py --dry $solver 10 day00 day13
done
go test ./plan/day -run 'TestLarge$' -large "$dir" -v | grep -E 'large|FAIL'
/usr/bin/python3 bench/day_peers.py "$dir"
