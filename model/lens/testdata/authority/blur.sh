#!/bin/sh
# Images one small glowing sphere out of focus with POV-Ray's thin-lens camera and measures
# the blur disc: blur.csv. Needs: povray, python3 with numpy. Run in this directory.
set -eu
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
/usr/bin/python3 blur.py "$dir" > blur.csv
