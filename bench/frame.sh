#!/bin/bash
# The frame room in software rendering: frames a second while a take is scrubbed and run, at exactly 960 x 540. There is no
# peer: the goal is what an eye takes for motion. Needs chromium and the built program. Run from anywhere: bench/frame.sh
set -eu
cd "$(dirname "$0")/.."
scripts/tools chromium
work=$(mktemp -d)
trap 'kill "$served" 2>/dev/null || true; rm -rf "$work"' EXIT
cp -r examples/last-milk-run "$work/shoot"
sed -i 's/width: 4096, height: 2160/width: 3840, height: 2160/' "$work/shoot/kit/shelf.yaml" # pictures of 16 : 9
"${FIELDFARE_BIN:-bin/fieldfare}" serve "$work/shoot" --listen 127.0.0.1:0 >"$work/said" 2>&1 &
served=$!
for _ in $(seq 200); do
  url=$(grep -o 'http://127[^/ ]*' "$work/said" | head -1 || true)
  [ -n "$url" ] && curl -fs "$url/api/day" >/dev/null && break
  sleep 0.2
done
echo "machine: $(nproc) cores, load $(cut -d' ' -f1 /proc/loadavg)"
node bench/frame.mjs "$url" 2C 3A 5A
echo "goal: 30 frames/s"
