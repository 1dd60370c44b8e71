"""Reads a DXF plan by ezdxf, which knows nothing of the program, and prints what it finds as JSON."""
import json
import sys

import ezdxf

doc = ezdxf.readfile(sys.argv[1])
audit = doc.audit()
space = doc.modelspace()
out = {
    "version": doc.dxfversion,
    "units": doc.header.get("$INSUNITS", 0),
    "errors": [str(e.message) for e in audit.errors] + [str(e.message) for e in audit.fixes],
    "layers": sorted(layer.dxf.name for layer in doc.layers),
    "line_types": sorted(line.dxf.name for line in doc.linetypes),
    "blocks": sorted(b.name for b in doc.blocks if not b.name.startswith("*")),
    "inserts": [[i.dxf.name, i.dxf.layer, *i.dxf.insert] for i in space.query("INSERT")],
    "polylines": [[p.dxf.layer, p.closed, [list(v[:2]) for v in p.get_points()]] for p in space.query("LWPOLYLINE")],
    "tops": [[p.dxf.layer, [list(v.dxf.location) for v in p.vertices]] for p in space.query("POLYLINE")],
    "texts": [[t.dxf.layer, t.dxf.text] for t in space.query("TEXT")],
}
print(json.dumps(out))
