"""Reads an STL file with vertices merged and measures it with VTK. Prints the
seconds for reading, for measuring, the peak of resident memory in MB and the
same before any work, triangles, volume and area."""

import json
import resource
import sys
import time

import vtk


def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


idle = peak()
start = time.perf_counter()
reader = vtk.vtkSTLReader()
reader.MergingOn()
reader.SetFileName(sys.argv[1])
reader.Update()
read = time.perf_counter()
mass = vtk.vtkMassProperties()
mass.SetInputData(reader.GetOutput())
mass.Update()
edges = vtk.vtkFeatureEdges()
edges.SetInputData(reader.GetOutput())
edges.FeatureEdgesOff()
edges.ManifoldEdgesOff()
edges.BoundaryEdgesOn()
edges.NonManifoldEdgesOn()
edges.Update()
done = time.perf_counter()
print(
    json.dumps(
        {
            "read_s": read - start,
            "measure_s": done - read,
            "peak_mb": peak(),
            "idle_mb": idle,
            "triangles": reader.GetOutput().GetNumberOfCells(),
            "volume": mass.GetVolume(),
            "area": mass.GetSurfaceArea(),
            "closed": edges.GetOutput().GetNumberOfCells() == 0,
        }
    )
)
