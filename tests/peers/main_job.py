"""Judges what `make` wrote for one build: cut files by ezdxf and shapely, printed sheets by pdfplumber.

Arguments: the folder. Standard input: JSON {unit, half_kerf_mm, gap_mm, bed_mm, paper_mm, loads: {file: [parts]}}, where a part is
{name, area_mm2, angle_rad, shift, rail: null | [[x, height_mm], ...]} in the order of the cut file's outlines.
"""

import json
import math
import sys
from pathlib import Path

import ezdxf
from ezdxf import units
from ezdxf.math import Vec2, bulge_to_arc
from shapely.geometry import LineString, Polygon, box

from pdf_common import MM, pages, scale_check

CUTTER = {"CUT", "CUT_INSIDE", "SCORE", "ENGRAVE"}


def loop_mm(polyline, unit_mm, chords=90):
    points = list(polyline.get_points("xyb"))
    out = []
    for i, (x, y, bulge) in enumerate(points):
        out.append((x * unit_mm, y * unit_mm))
        x2, y2, _ = points[(i + 1) % len(points)]
        if abs(bulge) > 1e-12:
            centre, start, end, radius = bulge_to_arc((x, y), (x2, y2), bulge)
            sweep = (end - start) % (2 * math.pi)
            steps = [centre + Vec2.from_angle(start + sweep * k / chords, radius) for k in range(1, chords)]
            if bulge < 0:
                steps.reverse()
            out.extend((p.x * unit_mm, p.y * unit_mm) for p in steps)
    return out


def back(point, part):
    """From the sheet to the part's own frame."""
    sin, cos = math.sin(part["angle_rad"]), math.cos(part["angle_rad"])
    dx, dy = point[0] - part["shift"][0], point[1] - part["shift"][1]
    return cos * dx + sin * dy, cos * dy - sin * dx


def judge_dxf(path, expected):
    document = ezdxf.readfile(path)
    auditor = document.audit()
    assert not auditor.errors, (path, [error.message for error in auditor.errors])
    assert not auditor.fixes, (path, [fix.message for fix in auditor.fixes])
    inch = expected["unit"] == "in"
    assert document.units == (units.IN if inch else units.MM), path
    unit_mm = 25.4 if inch else 1.0
    outlines = []
    for entity in document.modelspace():
        assert entity.dxf.layer in CUTTER, (path, entity.dxf.layer)
        assert entity.dxftype() == "LWPOLYLINE", (path, entity.dxftype())
        if entity.dxf.layer in {"CUT", "CUT_INSIDE"}:
            assert entity.closed, path
        if entity.dxf.layer == "CUT":
            outlines.append(Polygon(loop_mm(entity, unit_mm)))
    assert outlines, path
    return outlines


def judge_load(path, outlines, parts, expected):
    half = expected["half_kerf_mm"]
    assert len(outlines) == len(parts), (path, len(outlines), len(parts))
    bed = box(0, 0, *expected["bed_mm"])
    for polygon, part in zip(outlines, parts):
        assert polygon.is_valid, (path, part["name"])
        # The cutter's band lies half on each side of its path.
        assert bed.covers(polygon.buffer(half - 1e-3)), (path, part["name"])
        area = polygon.buffer(-half, quad_segs=64, join_style="round").area
        assert abs(area - part["area_mm2"]) < 2e-4 * part["area_mm2"] + 0.3, (path, part["name"], area, part["area_mm2"])
        for x, height in part["rail"] or []:
            judge_rail(polygon, part, x, height, half)
    for i, a in enumerate(outlines):
        for b in outlines[i + 1 :]:
            assert a.distance(b) > expected["gap_mm"] - 0.01, (path, "the web between two parts is thin", a.distance(b))


def judge_rail(polygon, part, x, height, half):
    own = Polygon([back(point, part) for point in polygon.exterior.coords])
    top = lambda at: own.intersection(LineString([(at, -10.0), (at, 500.0)])).bounds[3]
    slope = (top(x + 0.05) - top(x - 0.05)) / 0.1
    edge = top(x) - half * math.sqrt(1 + slope * slope)
    assert abs(edge - height) < 0.001, (part["name"], x, edge, height)


def main():
    expected = json.load(sys.stdin)
    folder = Path(sys.argv[1])
    drawings, sheets, true_size, heights = 0, 0, 0, 0
    for path in sorted(folder.glob("templates/*.dxf")):
        drawings += 1
        outlines = judge_dxf(path, expected)
        if path.name in expected["loads"]:
            parts = expected["loads"][path.name]
            heights += sum(len(part["rail"] or []) for part in parts)
            judge_load(path, outlines, parts, expected)
    assert set(expected["loads"]) <= {path.name for path in folder.glob("templates/*.dxf")}
    # The book is read, not cut along: its pages carry no scale check.
    for path in sorted(set(folder.rglob("*.pdf")) - {folder / "build-book.pdf"}):
        for page in pages(path):
            sheets += 1
            size = sorted([float(page.width) * MM, float(page.height) * MM])
            assert abs(size[0] - expected["paper_mm"][0]) < 0.01 and abs(size[1] - expected["paper_mm"][1]) < 0.01, (path, size)
            # A page that is only read says so, and has no bar that one could measure by.
            if "not at true size" in page.extract_text():
                continue
            true_size += 1
            mm_x, mm_y, in_x, in_y = scale_check(page)
            for got, want in [(mm_x, 100), (mm_y, 100), (in_x, 101.6), (in_y, 101.6)]:
                assert abs(got - want) < 0.01, (path, page.page_number, got, want)
    print(json.dumps({"drawings": drawings, "pages": sheets, "true_size": true_size, "heights": heights}))


main()
