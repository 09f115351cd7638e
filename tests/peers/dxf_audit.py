"""Reads a DXF file strictly with ezdxf, audits it, and compares its closed loops (areas by shapely) with what was drawn.

Arguments: the file. Standard input: JSON {unit, closed: [{layer, area_mm2}], only_cutter, extent_mm?}. Prints "agrees".
"""

import json
import sys

import ezdxf
from ezdxf import units
from ezdxf.addons.drawing.layout import Page
from ezdxf.math import Vec2, bulge_to_arc
from shapely.geometry import Polygon

CUTTER = {"CUT", "CUT_INSIDE", "SCORE", "ENGRAVE"}


def flattened(polyline):
    """Corners of a light polyline with arcs broken into 720 chords each."""
    points = list(polyline.get_points("xyb"))
    out = []
    for i, (x, y, bulge) in enumerate(points):
        out.append((x, y))
        x2, y2, _ = points[(i + 1) % len(points)]
        if abs(bulge) > 1e-12:
            centre, start, end, radius = bulge_to_arc((x, y), (x2, y2), bulge)
            sweep = (end - start) % 6.283185307179586
            steps = [centre + Vec2.from_angle(start + sweep * k / 720, radius) for k in range(1, 720)]
            if bulge < 0:
                steps.reverse()
            out.extend((p.x, p.y) for p in steps)
    return out


def main():
    expected = json.load(sys.stdin)
    document = ezdxf.readfile(sys.argv[1])
    auditor = document.audit()
    assert not auditor.errors, [error.message for error in auditor.errors]
    assert not auditor.fixes, [fix.message for fix in auditor.fixes]
    assert document.dxfversion == "AC1015", document.dxfversion
    inch = expected["unit"] == "in"
    assert document.units == (units.IN if inch else units.MM), document.units
    assert document.header["$MEASUREMENT"] == (0 if inch else 1)
    per_unit = 25.4 if inch else 1.0

    space = list(document.modelspace())
    named = {layer.dxf.name for layer in document.layers}
    for entity in space:
        assert entity.dxf.layer in named, entity.dxf.layer
        assert entity.dxftype() in ("LWPOLYLINE", "TEXT"), entity.dxftype()
        if expected["only_cutter"]:
            assert entity.dxf.layer in CUTTER, entity.dxf.layer
        if entity.dxftype() == "TEXT":
            assert entity.dxf.text.isascii() and entity.dxf.text.strip(), entity.dxf.text

    loops = [e for e in space if e.dxftype() == "LWPOLYLINE" and e.closed]
    for wanted in expected["closed"]:
        areas = [Polygon(flattened(e)) for e in loops if e.dxf.layer == wanted["layer"]]
        assert all(polygon.is_valid for polygon in areas)
        gaps = [abs(polygon.area * per_unit**2 - wanted["area_mm2"]) for polygon in areas]
        # 720 chords to an arc leave 1e-5 of its segment's area; rounding adds half a digit along the border.
        assert min(gaps) < 2e-5 * wanted["area_mm2"] + 0.05, (wanted, min(gaps))
    if expected["closed"]:
        cuts = [e for e in loops if e.dxf.layer in ("CUT", "CUT_INSIDE")]
        assert len(cuts) == len(expected["closed"]), len(cuts)
        order = [e.dxf.layer for e in space if e.dxf.layer in CUTTER]
        rank = ["ENGRAVE", "SCORE", "CUT_INSIDE", "CUT"]
        assert order == sorted(order, key=rank.index), "inner cuts come before outer ones"

    if "extent_mm" in expected:
        low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
        stated = [low[0], low[1], high[0], high[1]]
        for got, want in zip(stated, expected["extent_mm"]):
            assert abs(got * per_unit - want) < 1e-3, (stated, expected["extent_mm"])
    # On paper: the limits, the insertion base and the layout say one sheet, 10 mm of it free on every side, in whole steps of 5 in.
    header = document.header
    assert "$PDMODE" not in header and "$PDSIZE" not in header
    page = [length * per_unit for length in header["$PLIMMAX"][:2]]
    assert [abs(v) < 1e-9 for v in header["$PLIMMIN"][:2]] == [True, True], header["$PLIMMIN"]
    assert all(abs(length / 127.0 - round(length / 127.0)) < 1e-6 for length in page), page
    for axis in (0, 1):
        base = header["$PINSBASE"][axis] * per_unit
        first, last = (base + header[key][axis] * per_unit for key in ("$EXTMIN", "$EXTMAX"))
        assert 9.999 < first and last < page[axis] - 9.999, (axis, first, last, page)
        limits = [base + header[key][axis] * per_unit for key in ("$LIMMIN", "$LIMMAX")]
        assert abs(limits[0]) < 1e-3 and abs(limits[1] - page[axis]) < 1e-3, limits
    assert abs(header["$PSVPSCALE"] - 1.0) < 1e-12
    for space in (document.modelspace(), document.layout("Layout1")):
        paper = Page.from_dxf_layout(space)
        assert [round(paper.width_in_mm, 6), round(paper.height_in_mm, 6)] == [round(v, 6) for v in page], paper
        plot = space.dxf_layout.dxf
        assert plot.plot_paper_units == (0 if inch else 1) and plot.standard_scale_type == 16
        assert plot.scale_numerator == plot.scale_denominator == 1.0
    plot = document.modelspace().dxf_layout.dxf
    assert abs((plot.limmax.x - plot.limmin.x) * per_unit - page[0]) < 1e-3, plot.limmax

    for port in document.viewports.get("*Active"):
        assert port.dxf.height * per_unit > 10.0, port.dxf.height
    print("agrees")


main()
