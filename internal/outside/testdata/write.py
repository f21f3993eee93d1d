"""Writes solids made by VTK into the folder named as argument, in every format
and encoding that VTK has a writer for."""

import os
import sys

import vtk

vtk.vtkObject.GlobalWarningDisplayOff()


def solids():
    sphere = vtk.vtkSphereSource()
    sphere.SetThetaResolution(61)
    sphere.SetPhiResolution(37)
    sphere.SetRadius(12.5)
    sphere.SetCenter(100, -40, 7)
    yield "sphere", sphere

    cylinder = vtk.vtkCylinderSource()
    cylinder.SetResolution(48)
    cylinder.SetRadius(6)
    cylinder.SetHeight(21)
    yield "cylinder", cylinder

    cone = vtk.vtkConeSource()
    cone.SetResolution(33)
    cone.SetDirection(1, 2, 3)
    yield "cone", cone

    for kind, name in enumerate(["tetrahedron", "cube", "octahedron", "icosahedron", "dodecahedron"]):
        solid = vtk.vtkPlatonicSolidSource()
        solid.SetSolidType(kind)
        yield name, solid

    ring = vtk.vtkSuperquadricSource()
    ring.ToroidalOn()
    ring.SetThetaResolution(64)
    ring.SetPhiResolution(32)
    ring.SetThetaRoundness(0.6)
    ring.SetSize(30)
    yield "ring", ring

    step = vtk.vtkCubeSource()
    step.SetXLength(68)
    step.SetYLength(42)
    step.SetZLength(7)
    fine = vtk.vtkLinearSubdivisionFilter()
    fine.SetNumberOfSubdivisions(4)
    triangles = vtk.vtkTriangleFilter()
    triangles.SetInputConnection(step.GetOutputPort())
    clean = vtk.vtkCleanPolyData()
    clean.SetInputConnection(triangles.GetOutputPort())
    fine.SetInputConnection(clean.GetOutputPort())
    yield "plate", fine


def polygons(source):
    """The solid with shared vertices, its polygons as they are."""
    strips = vtk.vtkTriangleFilter() if isinstance(source, vtk.vtkSuperquadricSource) else vtk.vtkCleanPolyData()
    strips.SetInputConnection(source.GetOutputPort())
    clean = vtk.vtkCleanPolyData()
    clean.SetInputConnection(strips.GetOutputPort())
    return clean


def triangles(source):
    whole = polygons(source)  # kept: a port does not keep its filter alive
    cut = vtk.vtkTriangleFilter()
    cut.SetInputConnection(whole.GetOutputPort())
    cut.PassLinesOff()
    cut.PassVertsOff()
    return cut


folder = sys.argv[1]
for name, source in solids():
    for writer, ending, encoding, data in (
        (vtk.vtkSTLWriter(), "stl", "binary", triangles(source)),
        (vtk.vtkSTLWriter(), "stl", "ascii", triangles(source)),
        (vtk.vtkPLYWriter(), "ply", "binary", polygons(source)),
        (vtk.vtkPLYWriter(), "ply", "big", triangles(source)),
        (vtk.vtkPLYWriter(), "ply", "ascii", polygons(source)),
        (vtk.vtkOBJWriter(), "obj", "ascii", polygons(source)),
    ):
        if encoding == "big":
            writer.SetDataByteOrderToBigEndian()
        if encoding == "ascii" and ending != "obj":
            writer.SetFileTypeToASCII()
        writer.SetFileName(os.path.join(folder, f"{name}-{encoding}.{ending}"))
        writer.SetInputConnection(data.GetOutputPort())
        writer.Write()
