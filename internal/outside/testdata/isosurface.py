"""Extracts an iso-surface with VTK's flying edges. Arguments: the points along
X, Y and Z, the cell, the level, and a file of that many floats, X fastest.
Prints triangles, area, volume and the number of connected parts."""

import json
import sys

import numpy as np
import vtk
from vtk.util.numpy_support import numpy_to_vtk

n = [int(a) for a in sys.argv[1:4]]
cell, level = float(sys.argv[4]), float(sys.argv[5])
values = np.fromfile(sys.argv[6], dtype=np.float32)
image = vtk.vtkImageData()
image.SetDimensions(*n)
image.SetSpacing(cell, cell, cell)
image.GetPointData().SetScalars(numpy_to_vtk(values))
edges = vtk.vtkFlyingEdges3D()
edges.SetInputData(image)
edges.SetValue(0, level)
parts = vtk.vtkPolyDataConnectivityFilter()
parts.SetInputConnection(edges.GetOutputPort())
parts.SetExtractionModeToAllRegions()
parts.Update()
measure = vtk.vtkMassProperties()
measure.SetInputConnection(edges.GetOutputPort())
measure.Update()
print(
    json.dumps(
        {
            "triangles": edges.GetOutput().GetNumberOfPolys(),
            "area": measure.GetSurfaceArea(),
            "volume": measure.GetVolume(),
            "parts": parts.GetNumberOfExtractedRegions(),
        }
    )
)
