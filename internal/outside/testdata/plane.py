# Reads polygons as JSON and gives what GEOS, the library behind shapely, makes of
# them: areas of union, difference, intersection and of the grown, shrunk and opened
# region, and whether points are inside.
import json
import sys

from shapely.geometry import Point, Polygon


def solid(loops):
    """Even-odd fill of loops that do not cross."""
    out = Polygon()
    for loop in loops:
        out = out.symmetric_difference(Polygon(loop))
    return out


for case in json.load(sys.stdin):
    a, b = solid(case["a"]), solid(case["b"])
    grown = a.buffer(case["grow"], 256)
    shrunk = a.buffer(-case["shrink"], 256)
    opened = shrunk.buffer(case["shrink"], 256)
    json.dump({
        "union": a.union(b).area, "minus": a.difference(b).area, "and": a.intersection(b).area,
        "grown": grown.area, "shrunk": shrunk.area, "opened": opened.area,
        "inside": [a.union(b).contains(Point(p)) for p in case["points"]],
        "distance": [a.boundary.distance(Point(p)) for p in case["points"]],
    }, sys.stdout)
    print()
