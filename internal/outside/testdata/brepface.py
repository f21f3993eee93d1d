# Models parts with gmsh's solid kernel and meshes them with gmsh's own mesher: for
# each part, as fine as asked, its vertices, triangles, the face of each and what
# kind of surface the kernel says that face lies on, with its principal curvatures
# at one place.
import json
import sys

import gmsh

occ = gmsh.model.occ


def solids():
    occ.synchronize()
    return [t for _, t in gmsh.model.getEntities(3)]


def cut(*tools):
    occ.cut([(3, s) for s in solids() if s not in tools], [(3, t) for t in tools])


def edges(wanted):
    occ.synchronize()
    out = []
    for _, c in gmsh.model.getEntities(1):
        b = gmsh.model.getBoundingBox(1, c)
        if wanted(*[round(v, 3) for v in b]):
            out.append(c)
    return out


def plate():
    occ.addBox(-30, -20, 0, 60, 40, 8)
    cut(occ.addCylinder(-12, 0, -1, 0, 0, 10, 4), occ.addCylinder(12, 5, -1, 0, 0, 10, 3),
        occ.addCone(12, 5, 6, 0, 0, 2, 3, 5))
    occ.fillet(solids(), edges(lambda x, y, z, X, Y, Z: Z - z == 8 and abs(x) > 29), [1.5])
    occ.fillet(solids(), edges(lambda x, y, z, X, Y, Z: z == Z == 8 and -16.1 < x and X < -7.9), [0.5])


def boss():
    occ.addBox(-30, -20, 0, 60, 40, 6)
    occ.fuse([(3, 1)], [(3, occ.addCylinder(0, 0, 0, 0, 0, 16, 8))])
    cut(occ.addCylinder(0, 0, 3, 0, 0, 20, 4))
    cut(occ.addCylinder(0, -50, 10, 0, 100, 0, 1.5))
    occ.fillet(solids(), edges(lambda x, y, z, X, Y, Z: z == Z and (15.9 < X - x < 16.1 or z == 3 and X - x < 8.1)), [1.0])


def pocket():
    occ.addBox(0, 0, 0, 40, 30, 12)
    cut(occ.addBox(8, 7, 5, 24, 16, 10))
    occ.fillet(solids(), edges(lambda x, y, z, X, Y, Z: z == 5 and Z == 12), [3.0])
    occ.fillet(solids(), edges(lambda x, y, z, X, Y, Z: z == Z == 5), [0.8])


def ball():
    occ.addBox(-10, -10, 0, 20, 20, 10)
    cut(occ.addSphere(0, 0, 14, 7))
    occ.fillet(solids(), edges(lambda x, y, z, X, Y, Z: z < 0.01 and Z > 9.9), [2.0])


gmsh.initialize()
gmsh.option.setNumber("General.Verbosity", 1)
gmsh.option.setNumber("Mesh.MeshSizeExtendFromBoundary", 0)
gmsh.option.setNumber("Mesh.MeshSizeMax", 15)
for make in (plate, boss, pocket, ball):
    for steps in map(float, sys.argv[1:]):
        gmsh.model.add(make.__name__)
        make()
        occ.synchronize()
        gmsh.option.setNumber("Mesh.MeshSizeFromCurvature", steps)
        gmsh.model.mesh.generate(2)
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        index = {int(t): i for i, t in enumerate(tags)}
        tri, face, faces = [], [], {}
        for _, f in gmsh.model.getEntities(2):
            for kind, _, nodes in zip(*gmsh.model.mesh.getElements(2, f)):
                if kind == 2:
                    flat = [index[int(n)] for n in nodes]
                    tri += [flat[i:i + 3] for i in range(0, len(flat), 3)]
                    face += [f] * (len(flat) // 3)
            (u0, v0), (u1, v1) = gmsh.model.getParametrizationBounds(2, f)
            most, least, _, _ = gmsh.model.getPrincipalCurvatures(f, [(u0 + u1) / 2, (v0 + v1) / 2])
            faces[f] = {"kind": gmsh.model.getType(2, f), "bends": [most[0], least[0]]}
        json.dump({"name": make.__name__, "steps": steps, "faces": faces, "tri": tri, "face": face,
                   "pos": [list(xyz[i:i + 3]) for i in range(0, len(xyz), 3)]}, sys.stdout)
        print()
        gmsh.model.remove()
gmsh.finalize()
