#!/bin/sh
# Runs the same rehearsal here and with SciPy's solve_ivp (Debian: python3-scipy) and prints both ends and the ratio.
# Usage: bench/rehearse/compare.sh
set -eu
cd "$(dirname "$0")/../.."
go run ./bench/rehearse | /usr/bin/python3 bench/rehearse/peer.py
