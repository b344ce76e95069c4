#!/bin/sh
# Images a calibrated grid of small glowing spheres with POV-Ray, a general ray tracer, and
# writes where each lands: grid.csv. The tracer is given the camera as its own vectors
# (location, direction, right, up, angle), built here from rotations by another road than
# the program's: matrices applied to the axes one after the other.
# Needs: povray, python3 with numpy and scipy. Run in this directory.
set -eu
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
/usr/bin/python3 grid.py "$dir" > grid.csv
