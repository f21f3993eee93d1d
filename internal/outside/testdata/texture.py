"""Filters and measures a map of heights with SciPy and NumPy. Arguments: a file
of single-precision heights in mm, row after row, the numbers of columns and
rows, the cell's width and height in mm, the cut-off in mm, and a file for what
the Gaussian filter leaves below the cut-off, as it came. Prints parameters of
the map as it is, heights in micrometres from their mean."""

import json
import sys

import numpy as np
from scipy.ndimage import gaussian_filter

w, h = int(sys.argv[2]), int(sys.argv[3])
dx, dy, cutoff = map(float, sys.argv[4:7])
z = np.fromfile(sys.argv[1], dtype=np.float32).reshape(h, w).astype(float)
there = ~np.isnan(z)

sigma = [0.18739 * cutoff / dy, 0.18739 * cutoff / dx]
kw = dict(sigma=sigma, truncate=6, mode="constant", cval=0.0)
low = gaussian_filter(np.where(there, z, 0.0), **kw) / gaussian_filter(there.astype(float), **kw)
np.where(there, low, np.nan).astype(np.float32).tofile(sys.argv[7])

d = 1000 * (z - z[there].mean())
v = d[there]
sq = np.sqrt(np.mean(v**2))
p = {"Sa": np.mean(abs(v)), "Sq": sq, "Sz": np.ptp(v), "Sp": v.max(), "Sv": -v.min(),
     "Ssk": np.mean(v**3) / sq**3, "Sku": np.mean(v**4) / sq**4}

stencil = np.array([1, -9, 45, 0, -45, 9, -1]) / 60
gx = np.apply_along_axis(np.convolve, 1, z, stencil, "valid")[3:-3, :] / dx
gy = np.apply_along_axis(np.convolve, 0, z, stencil, "valid")[:, 3:-3] / dy
g2 = (gx**2 + gy**2)[~np.isnan(gx + gy + z[3:-3, 3:-3])]
p["Sdq"] = np.sqrt(g2.mean())
p["Sdr"] = 100 * np.mean(np.sqrt(1 + g2) - 1)

c = np.sort(v)[::-1]
n = len(c)
ratio = (np.arange(n) + 0.5) * 100 / n
span = int(0.4 * n)
at = np.argmin(c[: n - span] - c[span:])
slope, top = np.polyfit(ratio[at : at + span], c[at : at + span], 1)
bottom = top + 100 * slope
p["Sk"] = top - bottom
p["Smr1"], p["Smr2"] = 100 * np.mean(c > top), 100 * np.mean(c > bottom)
p["Spk"] = 2 * np.sum(c[c > top] - top) * 100 / n / p["Smr1"]
p["Svk"] = 2 * np.sum(bottom - c[c < bottom]) * 100 / n / (100 - p["Smr2"])

# Autocorrelation by pairs, and how far it stays at 0.2 along rays.
shape = [2 * h, 2 * w]
f = np.fft.rfft2(np.where(there, d, 0), shape)
m = np.fft.rfft2(there.astype(float), shape)
pairs = np.fft.irfft2(abs(m) ** 2, shape)
acf = np.fft.irfft2(abs(f) ** 2, shape) / np.maximum(pairs, 0.5) / sq**2
reaches = []
for a in np.radians(np.arange(0, 180, 0.5)):
    r, was, step = 0.0, 1.0, 0.1 * min(dx, dy)
    while True:
        r += step
        x, y = r * np.cos(a) / dx, r * np.sin(a) / dy
        if abs(x) > w / 2 or abs(y) > h / 2:
            break
        i, j = int(np.floor(x)), int(np.floor(y))
        s, t = x - i, y - j
        q = [acf[jj % (2 * h), ii % (2 * w)] for jj in (j, j + 1) for ii in (i, i + 1)]
        now = (1 - t) * ((1 - s) * q[0] + s * q[1]) + t * ((1 - s) * q[2] + s * q[3])
        if now < 0.2:
            r -= step * (0.2 - now) / (was - now)
            break
        was = now
    reaches.append(r)
p["Sal"], p["Str"] = min(reaches), min(reaches) / max(reaches)
print(json.dumps(p))
