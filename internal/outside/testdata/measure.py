"""Reads the model files named as arguments and measures them with VTK.

Prints one JSON object per file: triangles, area, volume, closed, or error.
STL, PLY and OBJ go through VTK's own readers. VTK 9.1 has none for OFF and 3MF;
those are read here with Python's text, zip and XML libraries, and measured by
VTK like the rest.
"""

import json
import os
import resource
import sys
import xml.etree.ElementTree as xml
import zipfile

import vtk

vtk.vtkObject.GlobalWarningDisplayOff()


def polydata(points, polygons):
    pts = vtk.vtkPoints()
    pts.SetDataTypeToDouble()
    for p in points:
        pts.InsertNextPoint(p)
    cells = vtk.vtkCellArray()
    for polygon in polygons:
        cells.InsertNextCell(len(polygon))
        for v in polygon:
            cells.InsertCellPoint(v)
    data = vtk.vtkPolyData()
    data.SetPoints(pts)
    data.SetPolys(cells)
    return data


def read_off(name):
    words = []
    with open(name) as f:
        for line in f:
            words += line.split("#")[0].split()
    if words[0] != "OFF":
        raise ValueError("does not begin with OFF")
    nv, nf = int(words[1]), int(words[2])
    if 3 * nv + nf > len(words):
        raise ValueError("the file holds less than it declares")
    at = 4
    points = [tuple(map(float, words[at + 3 * i : at + 3 * i + 3])) for i in range(nv)]
    at += 3 * nv
    polygons = []
    for _ in range(nf):
        n = int(words[at])
        polygons.append([int(w) for w in words[at + 1 : at + 1 + n]])
        if len(polygons[-1]) != n or max(polygons[-1]) >= nv:
            raise ValueError("a face names a vertex that is not there")
        at += 1 + n
    return polydata(points, polygons)


def read_3mf(name):
    ns = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
    with zipfile.ZipFile(name) as z:
        (model,) = [n for n in z.namelist() if n.lower().endswith("3d/3dmodel.model")]
        root = xml.fromstring(z.read(model))
    points, polygons = [], []
    objects = {o.get("id"): o for o in root.iter(ns + "object")}
    for item in root.find(ns + "build"):
        if item.get("transform"):
            raise ValueError("this script does not place build items")
        mesh = objects[item.get("objectid")].find(ns + "mesh")
        base = len(points)
        for v in mesh.iter(ns + "vertex"):
            points.append(tuple(float(v.get(k)) for k in "xyz"))
        for t in mesh.iter(ns + "triangle"):
            polygons.append([base + int(t.get(k)) for k in ("v1", "v2", "v3")])
    return polydata(points, polygons)


def read(name):
    kind = name.lower().rsplit(".", 1)[1]
    if kind == "off":
        return read_off(name)
    if kind == "3mf":
        return read_3mf(name)
    reader = {"stl": vtk.vtkSTLReader, "ply": vtk.vtkPLYReader, "obj": vtk.vtkOBJReader}[kind]()
    if kind == "stl":
        reader.MergingOff()
    reader.SetFileName(name)
    reader.Update()
    return reader.GetOutput()


def newell(data):
    """Sum of the polygons' areas without cutting them into triangles (Newell's
    formula): right for every flat polygon, however concave."""
    total = 0.0
    for i in range(data.GetNumberOfCells()):
        cell = data.GetCell(i)
        if cell.GetCellDimension() != 2:
            continue
        p = [cell.GetPoints().GetPoint(k) for k in range(cell.GetNumberOfPoints())]
        n = [0.0, 0.0, 0.0]
        for a, b in zip(p, p[1:] + p[:1]):
            for k in range(3):
                n[k] += (a[k - 2] - p[0][k - 2]) * (b[k - 1] - p[0][k - 1])
                n[k] -= (a[k - 1] - p[0][k - 1]) * (b[k - 2] - p[0][k - 2])
        total += sum(x * x for x in n) ** 0.5 / 2
    return total


def measure(name):
    triangles = vtk.vtkTriangleFilter()
    data = read(name)
    triangles.SetInputData(data)
    polygons = newell(data)
    triangles.PassLinesOff()
    triangles.PassVertsOff()
    triangles.Update()
    raw = triangles.GetOutput().GetNumberOfPolys()
    # Vertices at the same place become one; triangles that lose a corner by it
    # become lines and are left out.
    clean = vtk.vtkCleanPolyData()
    clean.SetInputConnection(triangles.GetOutputPort())
    clean.ToleranceIsAbsoluteOn()
    clean.SetAbsoluteTolerance(0)
    clean.ConvertPolysToLinesOn()
    only = vtk.vtkTriangleFilter()
    only.SetInputConnection(clean.GetOutputPort())
    only.PassLinesOff()
    only.PassVertsOff()
    only.Update()
    data = only.GetOutput()
    if data.GetNumberOfPolys() == 0:
        return {"error": "VTK finds no triangles"}
    edges = vtk.vtkFeatureEdges()
    edges.SetInputData(data)
    edges.FeatureEdgesOff()
    edges.ManifoldEdgesOff()
    edges.BoundaryEdgesOn()
    edges.NonManifoldEdgesOn()
    edges.Update()
    mass = vtk.vtkMassProperties()
    mass.SetInputData(data)
    mass.Update()
    return {
        "triangles": raw,
        "polygons": polygons,
        "area": mass.GetSurfaceArea(),
        "volume": mass.GetVolume(),
        "closed": edges.GetOutput().GetNumberOfCells() == 0,
    }


def guarded(name):
    """Measures in a process of its own: VTK's readers crash on some files."""
    out, back = os.pipe()
    pid = os.fork()
    if pid == 0:
        # Some files make a reader ask for more than there is.
        resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
        resource.setrlimit(resource.RLIMIT_CPU, (20, 20))
        try:
            result = measure(name)
        except Exception as e:
            result = {"error": f"{type(e).__name__}: {e}"}
        os.write(back, json.dumps(result).encode())
        os._exit(0)
    os.close(back)
    with os.fdopen(out) as f:
        text = f.read()
    os.waitpid(pid, 0)
    return json.loads(text) if text else {"error": "VTK crashes"}


for name in sys.argv[1:]:
    print(json.dumps(guarded(name) | {"file": name}), flush=True)
