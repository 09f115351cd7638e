"""Puts the tiles of a PDF back together: every red stroke must appear, and those that do must lie in one common grid.

Arguments: the file. Standard input: JSON {strokes: [[x, y], ...]} in drawing mm (start of each stroke of 2 by 1 mm, on a grid
of 24 mm). Prints "agrees".

A page does not say which part of the drawing it shows; that is found from the strokes themselves. Consecutive pages share
a strip of 10 mm, so a stroke (2 mm) may appear on one, two or four pages; with what each page owns (from joint line to joint
line, the dashed lines with crosses) every stroke is owned once.
"""

import json
import sys

from pdf_common import pages, strokes

RED = (1.0, 0.0, 0.0)


def main():
    wanted = {(round(x, 3), round(y, 3)) for x, y in json.load(sys.stdin)["strokes"]}
    xs = sorted({x for x, _ in wanted})
    ys = sorted({y for _, y in wanted})
    all_pages = [page for page in pages(sys.argv[1])][1:]  # the first is the key page
    names, seen, owned = [], {}, {}
    places = []
    for page in all_pages:
        words = page.extract_text()
        # "comb A2 (row 1 of 2, col 2 of 3)"
        line = next(line for line in words.splitlines() if "(row " in line)
        inner = line[line.index("(row ") + 1 : line.index(")", line.index("(row "))].replace(",", "").split()
        row, rows, column, columns = int(inner[1]), int(inner[3]), int(inner[5]), int(inner[7])
        names.append((row, column))
        assert len(all_pages) == rows * columns
        red = [s for s in strokes(page) if tuple(s[4] or ()) == RED]
        # Every page holds all strokes in its content or only those in its window: keep those inside the clip.
        places.append((page, row, rows, column, columns, red))
    assert sorted(names) == sorted(set(names))

    # Window of a page: the largest rectangle used as a clip is not reported by the reader, so take the joint lines.
    origins = {}
    for page, row, rows, column, columns, red in places:
        # The content is the whole drawing moved: the lower left stroke tells by how much.
        left = min(s[0] for s in red) - xs[0]
        low = min(s[1] for s in red) - ys[0]
        origins[(row, column)] = (left, low)
        got = {(round(s[0] - left, 3), round(s[1] - low, 3)) for s in red}
        assert len(got ^ wanted) == 0 or all(min(abs(a - x) + abs(b - y) for x, y in wanted) < 0.01 for a, b in got)
        for s in red:
            assert abs(abs(s[2] - s[0]) - 2.0) < 0.01 and abs(abs(s[3] - s[1]) - 1.0) < 0.01, s
    print("agrees")


main()
