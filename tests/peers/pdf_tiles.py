"""Rasters the tiles of a PDF and finds every stroke of a comb: whole on the page that owns it, nowhere it does not belong.

Arguments: the file. Standard input: JSON {strokes: [[x, y], ...], tiles: [{name, shows, owns}, ...], window}: strokes of 2 by
1 mm from their start, in drawing mm; a tile shows and owns [x0, y0, x1, y1] in drawing mm; its window on the page in mm from the
page's lower left corner. Prints "agrees".
"""

import json
import sys

import numpy
from scipy import ndimage

import pdfplumber

DPI = 150
MM = 25.4 / DPI
# Two pixels: half a line's width and the raster.
SLACK = 0.35


def blobs(page):
    """Boxes of the red patches on a page as (x0, y0, x1, y1) in mm from the lower left corner."""
    image = numpy.asarray(page.to_image(resolution=DPI).original.convert("RGB")).astype(int)
    # Full red alone: the scale check is of a dark red.
    red = (image[:, :, 0] > 200) & (image[:, :, 0] - image[:, :, 1] > 60) & (image[:, :, 0] - image[:, :, 2] > 60)
    labels, _ = ndimage.label(red, structure=numpy.ones((3, 3)))
    height = image.shape[0]
    out = []
    for rows, columns in ndimage.find_objects(labels):
        out.append((columns.start * MM, (height - rows.stop) * MM, columns.stop * MM, (height - rows.start) * MM))
    return out


def inside(a, b):
    return b[0] - SLACK <= a[0] and a[2] <= b[2] + SLACK and b[1] - SLACK <= a[1] and a[3] <= b[3] + SLACK


def main():
    expected = json.load(sys.stdin)
    strokes, window = expected["strokes"], expected["window"]
    owners = [0] * len(strokes)
    with pdfplumber.open(sys.argv[1]) as document:
        tiles = expected["tiles"]
        # One key page, then a page for each tile.
        assert len(document.pages) == 1 + len(tiles), len(document.pages)
        for page, tile in zip(document.pages[1:], tiles):
            assert f"comb {tile['name']} (row" in page.extract_text().replace("  ", " "), tile["name"]
            dx, dy = window[0] - tile["shows"][0], window[1] - tile["shows"][1]
            found = blobs(page)
            matched = set()
            for k, (x, y) in enumerate(strokes):
                box = (x + dx, y + dy, x + dx + 2.0, y + dy + 1.0)
                near = [b for b in found if inside(b, box)]
                matched.update(near)
                # A joint line may part a stroke in two; together its patches must be the stroke.
                parts = list(zip(*near))
                whole = near and (min(parts[0]), min(parts[1]), max(parts[2]), max(parts[3]))
                middle = (x + 1.0, y + 0.5)
                x0, y0, x1, y1 = tile["owns"]
                if x0 <= middle[0] < x1 and y0 <= middle[1] < y1:
                    owners[k] += 1
                    assert whole and max(abs(p - q) for p, q in zip(whole, box)) < SLACK, (tile["name"], k, near)
            for blob in set(found) - matched:
                # What is left was cut by the window's edge, or lies at it.
                x0, y0, x1, y1 = blob
                edge = min(abs(x0 - window[0]), abs(x1 - window[2]), abs(y0 - window[1]), abs(y1 - window[3]))
                assert edge < SLACK, (tile["name"], blob)
            assert all(inside(blob, window) for blob in found), "nothing shows outside the window"
    assert owners == [1] * len(strokes), [k for k, n in enumerate(owners) if n != 1]
    print("agrees")


main()
