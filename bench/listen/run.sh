#!/bin/sh
# Times the whole of listening (spectra, search, every valve) on a 60 s, 48 kHz clip, and a SciPy STFT alone of a clip of
# the same size, one after the other on one core. Needs python3 with scipy (PYTHON names another than Debian's); says so where it is absent.
set -eu
cd "$(dirname "$0")/../.."
GOMAXPROCS=1 go test ./sense/ear -run '^$' -bench Analyse60s48k -benchtime 5x
${PYTHON:-/usr/bin/python3} - <<'PY' || echo "python3 with scipy absent: no STFT to compare with"
import os
os.environ["OMP_NUM_THREADS"] = "1"
import time, numpy as np
from scipy.signal import stft
x = np.random.default_rng(1).standard_normal(60 * 48000).astype(np.float32)
best = 9e9
for _ in range(5):
    t = time.perf_counter()
    stft(x, 48000, nperseg=1024, noverlap=1024 - 480)
    best = min(best, time.perf_counter() - t)
print(f"scipy STFT, 60 s at 48 kHz, 1024 points every 480: {best:.3f} s")
PY
