"""Reads an STL file named as argument and, from standard input, lines of six
numbers: a point and a second one. Prints per line the distance from the first
point to the surface, negative inside, and where between the points a ray from
the first to the second meets the surface first (2 where it does not)."""

import sys

import vtk

reader = vtk.vtkSTLReader()
reader.SetFileName(sys.argv[1])
reader.Update()
surface = reader.GetOutput()
distance = vtk.vtkImplicitPolyDataDistance()
distance.SetInput(surface)
locator = vtk.vtkStaticCellLocator()
locator.SetDataSet(surface)
locator.BuildLocator()

t, at, inner, sub = vtk.mutable(0.0), [0.0] * 3, [0.0] * 3, vtk.mutable(0)
for line in sys.stdin:
    x = [float(w) for w in line.split()]
    met = locator.IntersectWithLine(x[:3], x[3:], 1e-12, t, at, inner, sub)
    print(repr(distance.EvaluateFunction(x[:3])), repr(float(t)) if met else 2)
