#!/bin/sh
# The day's search: a shoot of 40 slates on 3 rigs in 2 days; small days that the
# peers certify, in seconds to proof; days of 20 to 40 slates before HiGHS (SciPy,
# Debian), CBC (Debian) and MiniZinc with Gecode (Debian).
# Nothing in the tree is written.
cd "$(dirname "$0")/.." || exit 1
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
go test -c -o "$dir/day.test" ./plan/day || exit 1
test() { (cd plan/day && "$dir/day.test" "$@"); }
test -test.run '^$' -test.bench 'Shoot|FirstPlan' -test.benchtime 4x -test.cpu 1
test -test.run 'TestAgainstCertifiedOptima/day(00|20)$' -test.v | grep -E '^    --- '
for solver in highs cbc; do
	echo "$solver, seconds to proof:"
	/usr/bin/python3 plan/day/testdata/authority/certify.py --dry $solver 10 day00 day20
done
test -test.run 'TestLarge$' -test.cpu 1 -large "$dir" | grep -v PASS
/usr/bin/python3 bench/day_peers.py "$dir" "$dir/day.test"
