# The distance field of a mesh by OpenVDB on a grid of n points a side, the part
# 0.8 of it wide, as wide as the part goes.
import json
import sys
import time

import numpy as np
import pyopenvdb as vdb

path, n = sys.argv[1], int(sys.argv[2])
raw = np.fromfile(path, dtype=np.dtype([("n", "<f4", 3), ("v", "<f4", 9), ("a", "<u2")]), offset=84)
corners = raw["v"].reshape(-1, 3)
points, at = np.unique(corners, axis=0, return_inverse=True)
tri = at.reshape(-1, 3).astype(np.uint32)
cell = (points.max(0) - points.min(0)).max() / (0.8 * n)

start = time.perf_counter()
grid = vdb.FloatGrid.createLevelSetFromPolygons(
    points, triangles=tri, transform=vdb.createLinearTransform(cell), halfWidth=n * 0.5
)
seconds = time.perf_counter() - start
print(json.dumps({"seconds": seconds, "voxels": grid.activeVoxelCount()}))
