#!/bin/sh
# The day's search: a shoot of 40 slates, and the same small days as a
# mixed-integer model for CBC (Debian) and HiGHS (SciPy, Debian), seconds to proof.
cd "$(dirname "$0")/.." || exit 1
go test ./plan/day -run '^$' -bench 'Shoot|FirstPlan' -benchtime 4x
go test ./plan/day -run TestAgainstCertifiedOptima -v | grep -E 'day(00|01|03|13)|work' | head -12
for solver in highs cbc; do
	echo "$solver:"
	/usr/bin/python3 plan/day/testdata/authority/certify.py $solver 60 day00 day01 day03 day13
done
