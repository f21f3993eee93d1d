"""Writes and reads surfaces with Python's own zipfile, xml, struct and hashlib.

surface.py write DIR   leaves files of every kind in DIR, and prints for each
                       a line of JSON with what it holds
surface.py read FILE…  prints for each X3P or SDF file what is in it

Heights are in metres, rows from y = 0 upward; null is a missing point.
"""
import hashlib
import io
import json
import math
import os
import random
import struct
import sys
import xml.etree.ElementTree as ET
import zipfile

NS = "http://www.opengps.eu/2008/ISO5436_2"
CODES = {"I": "<h", "L": "<i", "F": "<f", "D": "<d"}
SDF = {3: "<f", 4: "<b", 5: "<h", 6: "<i", 7: "<d"}
LOWEST = {3: -3.4028234663852886e38, 4: -(2**7), 5: -(2**15), 6: -(2**31), 7: -sys.float_info.max}


def heights(w, h, unit):
    """Whole multiples of a unit, a tenth of them missing, never the first."""
    z = [random.randint(-30000, 30000) * unit for _ in range(w * h)]
    return [v if i == 0 or random.random() > 0.1 else None for i, v in enumerate(z)]


def write_x3p(path, w, h, code, inline):
    unit = 1e-9
    z = heights(w, h, unit)
    ET.register_namespace("p", NS)
    root = ET.Element("{%s}ISO5436_2" % NS)

    def put(parent, name, text=None):
        e = ET.SubElement(parent, name)
        e.text = text
        return e

    r1 = put(root, "Record1")
    put(r1, "Revision", "ISO5436 - 2000")
    put(r1, "FeatureType", "PRF" if h == 1 else "SUR")
    axes = put(r1, "Axes")
    scale = unit if code in "IL" else 1.0
    for name, kind, typ, inc in (("CX", "I", "D", 2e-6), ("CY", "I", "D", 3e-6), ("CZ", "A", code, scale)):
        a = put(axes, name)
        put(a, "AxisType", kind)
        put(a, "DataType", typ)
        put(a, "Increment", repr(inc))
        put(a, "Offset", "0.0")
    r2 = put(root, "Record2")
    put(r2, "Date", "2024-09-03T14:05:00.0+02:00")
    put(r2, "Creator", "a <bench> & its gauge")
    r3 = put(root, "Record3")
    dim = put(r3, "MatrixDimension")
    for name, n in (("SizeX", w), ("SizeY", h), ("SizeZ", 1)):
        put(dim, name, str(n))
    parts = {}
    if inline:
        data = put(r3, "DataList")
        for v in z:
            put(data, "Datum", None if v is None else repr(round(v / scale) if code in "IL" else v))
    else:
        raw = b"".join(
            struct.pack(CODES[code], (0 if v is None else round(v / scale)) if code in "IL" else (math.nan if v is None else v)) for v in z
        )
        link = put(r3, "DataLink")
        put(link, "PointDataLink", "bindata/data.bin")
        put(link, "MD5ChecksumPointData", hashlib.md5(raw).hexdigest().upper())
        parts["bindata/data.bin"] = raw
        if code in "IL":
            bits = bytearray((w * h + 7) // 8)
            for i, v in enumerate(z):
                if v is not None:
                    bits[i // 8] |= 1 << (i % 8)
            put(link, "ValidPointsLink", "bindata/valid.bin")
            put(link, "MD5ChecksumValidPoints", hashlib.md5(bits).hexdigest())
            parts["bindata/valid.bin"] = bytes(bits)
    put(put(root, "Record4"), "ChecksumFile", "md5checksum.hex")
    main = ET.tostring(root, encoding="UTF-8", xml_declaration=True)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as f:
        f.writestr("main.xml", main)
        f.writestr("md5checksum.hex", hashlib.md5(main).hexdigest() + " *main.xml")
        for name, d in parts.items():
            f.writestr(name, d)
    return {"file": os.path.basename(path), "w": w, "h": h, "dx": 2e-6, "dy": 3e-6, "z": z}


def write_sdf(path, w, h, version, typ):
    unit = 1e-9 if typ != 4 else 1e-6
    z = heights(w, h, unit)
    if typ == 4:
        z = [None if v is None else (round(v / unit) % 200 - 100) * unit for v in z]
    raw = [LOWEST[typ] if v is None else (round(v / unit) if typ in (4, 5, 6) else v / unit) for v in z]
    head = (w, h, 2e-6, 0.0 if h == 1 else 3e-6, unit, -1.0)
    with open(path, "wb") as f:
        if version[0] == "b":
            f.write(struct.pack("<8s10s12s12s", version.encode(), b"bench".ljust(10), b"030920241405", b"030920241405"))
            f.write(struct.pack("<IIdddd" if version.endswith("2.0") else "<HHdddd", *head))
            f.write(struct.pack("<BBB", 0, typ, 0))
            f.write(b"".join(struct.pack(SDF[typ], v) for v in raw))
        else:
            names = ("NumPoints", "NumProfiles", "Xscale", "Yscale", "Zscale", "Zresolution")
            lines = [version, "ManufacID = bench", "CreateDate = 030920241405", "ModDate = 030920241405"]
            lines += ["%s = %r" % p for p in zip(names, head)] + ["Compression = 0", "DataType = %d" % typ, "CheckType = 0", "*"]
            lines += [" ".join("BAD" if v is None else repr(r) for v, r in zip(z[j * w : (j + 1) * w], raw[j * w :])) for j in range(h)]
            f.write("\r\n".join(lines + ["*", "*", ""]).encode())
    return {"file": os.path.basename(path), "w": w, "h": h, "dx": 2e-6, "dy": 2e-6 if h == 1 else 3e-6, "z": z}


def number(v):
    return None if math.isnan(v) else v


def read_x3p(path):
    with zipfile.ZipFile(path) as f:
        if f.testzip() is not None:
            raise ValueError("damaged")
        main = f.read("main.xml")
        root = ET.fromstring(main)
        if root.tag != "{%s}ISO5436_2" % NS:
            raise ValueError(root.tag)
        if f.read(root.findtext("Record4/ChecksumFile")).decode().split()[0] != hashlib.md5(main).hexdigest():
            raise ValueError("checksum of main.xml")
        raw = f.read(root.findtext("Record3/DataLink/PointDataLink"))
        if root.findtext("Record3/DataLink/MD5ChecksumPointData") != hashlib.md5(raw).hexdigest():
            raise ValueError("checksum of the points")
    w, h = (int(root.findtext("Record3/MatrixDimension/Size" + a)) for a in "XY")
    if int(root.findtext("Record3/MatrixDimension/SizeZ")) != 1 or root.findtext("Record1/FeatureType") != ("PRF" if h == 1 else "SUR"):
        raise ValueError("layers or type")
    dx, dy = (float(root.findtext("Record1/Axes/C%s/Increment" % a)) for a in "XY")
    cz = root.find("Record1/Axes/CZ")
    code = CODES[cz.findtext("DataType")]
    z = [v[0] * float(cz.findtext("Increment")) + float(cz.findtext("Offset")) for v in struct.iter_unpack(code, raw)]
    return {"w": w, "h": h, "dx": dx, "dy": dy, "z": [number(v) for v in z]}


def read_sdf(path):
    f = io.BytesIO(open(path, "rb").read())
    version, _, _, _ = struct.unpack("<8s10s12s12s", f.read(42))
    long = version == b"bISO-2.0"
    if not long and version != b"bISO-1.0":
        raise ValueError(version)
    layout = "<IIdddd" if long else "<HHdddd"
    w, h, dx, dy, zscale, _ = struct.unpack(layout, f.read(struct.calcsize(layout)))
    compression, typ, check = f.read(3)
    if compression or check:
        raise ValueError("compressed")
    z = [None if v[0] == LOWEST[typ] else v[0] * zscale for v in struct.iter_unpack(SDF[typ], f.read())]
    return {"w": w, "h": h, "dx": dx, "dy": dy, "z": z}


if sys.argv[1] == "write":
    random.seed(7)
    d = sys.argv[2]
    for w, h in ((13, 7), (50, 1)):
        for code in CODES:
            for inline in (False, True):
                print(json.dumps(write_x3p(os.path.join(d, "%s%d%s.x3p" % (code, h, "i" if inline else "")), w, h, code, inline)))
        for version, types in (("bISO-1.0", (5, 6, 7)), ("bISO-2.0", (3, 4, 5, 6, 7)), ("aISO-1.0", (5, 6, 7)), ("aBCR-1.0", (6, 7))):
            for typ in types:
                print(json.dumps(write_sdf(os.path.join(d, "%s-%d-%d.sdf" % (version, typ, h)), w, h, version, typ)))
else:
    for path in sys.argv[2:]:
        print(json.dumps((read_x3p if path.endswith(".x3p") else read_sdf)(path)))
