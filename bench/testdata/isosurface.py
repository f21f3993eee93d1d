"""Extracts iso-surfaces with VTK: arguments are the number of points a side,
the level, the number of runs and a file of that many cubed floats, X fastest.
Prints the seconds of the fastest run on all cores, without normals, gradients
and scalars, and what came out."""

import json
import sys
import time

import numpy as np
import vtk
from vtk.util.numpy_support import numpy_to_vtk

n, level, runs = int(sys.argv[1]), float(sys.argv[2]), int(sys.argv[3])
values = np.fromfile(sys.argv[4], dtype=np.float32)
image = vtk.vtkImageData()
image.SetDimensions(n, n, n)
image.GetPointData().SetScalars(numpy_to_vtk(values))

best = float("inf")
for _ in range(runs):
    edges = vtk.vtkFlyingEdges3D()
    edges.SetInputData(image)
    edges.SetValue(0, level)
    edges.ComputeNormalsOff()
    edges.ComputeGradientsOff()
    edges.ComputeScalarsOff()
    start = time.perf_counter()
    edges.Update()
    best = min(best, time.perf_counter() - start)
out = edges.GetOutput()
measure = vtk.vtkMassProperties()
measure.SetInputData(out)
print(
    json.dumps(
        {
            "best_s": best,
            "threads": vtk.vtkSMPTools.GetEstimatedNumberOfThreads(),
            "backend": vtk.vtkSMPTools.GetBackend(),
            "triangles": out.GetNumberOfPolys(),
            "area": measure.GetSurfaceArea(),
            "volume": measure.GetVolume(),
        }
    )
)
