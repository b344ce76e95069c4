#!/bin/sh
# The day's search: shoots of 40 slates on 3 rigs in 2 days; the published tours with
# time windows, each to its best known cost and on to the end of its work, for the gap; small days that the peers certify, in
# seconds to proof; days and shoots of 20 to 40 slates before HiGHS (npm highs), CBC
# (Debian) and MiniZinc with Gecode (Debian), some ten minutes; the demo planned again
# when the wind gets up, on one core, and as a whole process that first makes the day
# it disturbs.
# Nothing in the tree is written.
cd "$(dirname "$0")/.." || exit 1
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
go test -c -o "$dir/day.test" ./plan/day || exit 1
test() { (cd plan/day && "$dir/day.test" "$@"); }
test -test.run '^$' -test.bench 'Shoot' -test.benchtime 10x -test.cpu 1
test -test.run 'TestTSPTW$' -prove -test.cpu 1 -test.v | sed -n 's/.*_test.go:[0-9]*: //p'
test -test.run 'TestAgainstCertifiedOptima/day(00|20)$' -test.v | grep -E '^    --- '
for solver in npm cbc; do
	echo "$solver, seconds to proof:" | sed "s/npm/HiGHS/"
	/usr/bin/python3 plan/day/testdata/authority/certify.py --dry $solver 10 day00 day20
done
test -test.run 'TestLarge$' -test.cpu 1 -large "$dir" | grep -v PASS
/usr/bin/python3 bench/day_peers.py "$dir" "$dir/day.test"
go test ./plan/call -run '^$' -bench WindChange -cpu 1 -benchtime 5x | grep Benchmark
/usr/bin/python3 - <<'PY'
import resource, subprocess, time
start = time.time()
subprocess.run(["bin/fieldfare", "day", "examples/last-milk-run", "--now", "2026-09-22T11:00:00+02:00", "--wind", "9 m/s", "--json"], stdout=subprocess.DEVNULL, check=True)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(f"fieldfare day, then again in 9 m/s: {time.time() - start:.2f} s, {used.ru_utime + used.ru_stime:.2f} s of processor")
PY
