"""Reads a drawing with a library that is not ours and holds it against the drilling list of the same plan."""

import csv
import sys

import ezdxf
from ezdxf import bbox

drawing = ezdxf.readfile(sys.argv[1])
audit = drawing.audit()
assert not audit.errors and not audit.fixes, [error.message for error in audit.errors + audit.fixes]
assert drawing.header.get("$INSUNITS") == 4, "millimetres"
space = drawing.modelspace()

rows = list(csv.DictReader(open(sys.argv[2])))
holes = sorted(float(row["position_mm"]) for row in rows if row["what"] == "hole")
circles = list(space.query('CIRCLE[layer=="HOLE"]'))
assert sorted(circle.dxf.center.x for circle in circles) == holes, "a circle for every hole"
assert {circle.dxf.radius for circle in circles} == {float(sys.argv[3]) / 2}, "as wide as the hole"

reach = bbox.extents(space.query('*[layer=="RAIL"]').filter(lambda entity: entity.dxftype() == "LINE"))
ends = [float(end) for end in sys.argv[4:6]]
assert [reach.extmin.x, reach.extmax.x] == ends, "full size"

texts = [text.dxf.text for text in space.query("TEXT")]
for what in ("joint", "support"):
    names = [row["name"] for row in rows if row["what"] == what]
    assert names, what
    layer = space.query(f'TEXT[layer=="{what.upper()}"]')
    assert sorted(text.dxf.text.split()[0] for text in layer) == sorted(names), f"each {what} is named once"
whole = bbox.extents(space)
for text in space.query("TEXT"):
    assert text.dxf.height >= (ends[1] - ends[0]) / 400, f"{text.dxf.text} cannot be read on a sheet of paper"
assert whole.size.x < 1.5 * (ends[1] - ends[0]), "letters do not run away from the rail"
known = {layer.dxf.name for layer in drawing.layers}
assert {entity.dxf.layer for entity in space} <= known
print("read as drawn:", len(circles), "holes,", len(texts), "texts")
