"""Does with SciPy what the rooms for fields do, for a list of cases on standard
input: one JSON object a line with the shape (depth, columns, rows), the files of
a mask (bytes) and of distances (single precision), squared radii of balls, a
cell and radii of spheres. Writes the answers beside the mask's file and prints
the number of parts by faces and by corners for each case."""

import json
import sys

import numpy as np
from scipy import ndimage


def squares(mask):
    """To the nearest true cell; SciPy gives roots, exactly rounded."""
    return np.rint(ndimage.distance_transform_edt(~mask) ** 2).astype(np.int64)


def ball(r2):
    n = int(np.sqrt(r2))
    x = np.arange(-n, n + 1) ** 2
    return x[:, None, None] + x[None, :, None] + x[None, None, :] <= r2


def dilate(mask, r2):
    return ndimage.binary_dilation(mask, ball(r2), border_value=0)


def erode(mask, r2):
    return ndimage.binary_erosion(mask, ball(r2), border_value=1)


def by_first_cell(label, n):
    _, first = np.unique(label[label > 0], return_index=True)
    number = np.zeros(n + 1, np.int32)
    number[1 + np.argsort(first)] = np.arange(1, n + 1)
    return number[label]


def thickness(d, cell, radii):
    out = np.zeros(d.shape, np.float32)
    for r in sorted(radii):
        hold = d >= np.float32(r)
        if hold.any():
            reach = ndimage.distance_transform_edt(~hold, sampling=cell)
            out[(reach <= r * (1 + 1e-9)) & (d > 0)] = r
    return out


for line in sys.stdin:
    case = json.loads(line)
    name = case["mask"]
    mask = np.fromfile(name, np.uint8).reshape(case["shape"]).astype(bool)
    d = np.fromfile(case["distances"], np.float32).reshape(case["shape"])
    if mask.any():
        squares(mask).astype(np.int32).tofile(name + ".squares")
    for r2 in case["squares"]:
        dilate(mask, r2).tofile(f"{name}.dilate{r2}")
        erode(mask, r2).tofile(f"{name}.erode{r2}")
        dilate(erode(mask, r2), r2).tofile(f"{name}.open{r2}")
        erode(dilate(mask, r2), r2).tofile(f"{name}.close{r2}")
    parts = []
    for rank, how in (1, "faces"), (3, "corners"):
        label, n = ndimage.label(mask, ndimage.generate_binary_structure(3, rank))
        by_first_cell(label, n).astype(np.int32).tofile(f"{name}.{how}")
        parts.append(n)
    thickness(d, case["cell"], case["radii"]).tofile(name + ".thickness")
    print(json.dumps({"parts": parts}))
