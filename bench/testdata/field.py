"""Times SciPy on a grid: arguments are what to do, the number of cells along each
axis, and files. With squares: of the mask (bytes), and for the answer, as
squared distances. With thickness: of distances in single precision, for the
answer, then the cell and the radii to be asked of SciPy, each by a distance
transform of its own. Prints the seconds."""

import json
import sys
import time

import numpy as np
from scipy.ndimage import distance_transform_edt

do, n, given, out = sys.argv[1], int(sys.argv[2]), sys.argv[3], sys.argv[4]
if do == "squares":
    rest = np.fromfile(given, np.uint8).reshape(n, n, n) == 0
    start = time.perf_counter()
    d = distance_transform_edt(rest)
    taken = time.perf_counter() - start
    d *= d
    np.rint(d, out=d)
    d.astype(np.int32).tofile(out)
else:
    d = np.fromfile(given, np.float32).reshape(n, n, n)
    cell, radii = float(sys.argv[5]), sorted(float(r) for r in sys.argv[6:])
    start = time.perf_counter()
    thick = np.zeros(d.shape, np.float32)
    for r in radii:
        reach = distance_transform_edt(d < np.float32(r), sampling=cell)
        thick[(reach <= r * (1 + 1e-9)) & (d > 0)] = r
    taken = time.perf_counter() - start
    thick.tofile(out)
print(json.dumps({"taken_s": taken}))
