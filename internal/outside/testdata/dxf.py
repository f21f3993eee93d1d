# Reads DXF files with ezdxf and gives their layers and what is on them.
import json
import sys

import ezdxf

for name in sys.argv[1:]:
    doc = ezdxf.readfile(name)
    audit = doc.audit()
    entities = []
    for e in doc.modelspace():
        d = {"kind": e.dxftype(), "layer": e.dxf.layer}
        if e.dxftype() == "LINE":
            d["from"], d["to"] = list(e.dxf.start)[:2], list(e.dxf.end)[:2]
        elif e.dxftype() == "ARC":
            d["centre"], d["radius"] = list(e.dxf.center)[:2], e.dxf.radius
            d["from"], d["to"] = list(e.start_point)[:2], list(e.end_point)[:2]
        elif e.dxftype() == "CIRCLE":
            d["centre"], d["radius"] = list(e.dxf.center)[:2], e.dxf.radius
        entities.append(d)
    json.dump({
        "version": doc.dxfversion, "errors": [str(e.message) for e in audit.errors],
        "layers": sorted(l.dxf.name for l in doc.layers if l.dxf.name not in ("0", "DEFPOINTS", "Defpoints")),
        "entities": entities,
    }, sys.stdout)
    print()
