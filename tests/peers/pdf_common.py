"""What both PDF peers read: pages, straight strokes in mm with y up, and the bars of the scale check."""

import pdfplumber

MM = 25.4 / 72.0


def pages(path):
    with pdfplumber.open(path) as document:
        for page in document.pages:
            yield page


def strokes(page):
    """Straight strokes as (x0, y0, x1, y1, colour) in mm from the lower left corner."""
    height = float(page.height)
    out = []
    for line in page.lines:
        (x0, y0), (x1, y1) = line["pts"][0], line["pts"][-1]
        colour = line.get("stroking_color")
        out.append((x0 * MM, (height - y0) * MM, x1 * MM, (height - y1) * MM, colour))
    return out


def scale_check(page):
    """Distances between the end ticks of the four bars, as drawn on paper: mm along x and y, then inches along x and y."""
    lines = [s[:4] for s in strokes(page)]
    corners = []
    for x0, y0, x1, y1 in lines:
        # The horizontal bar starts where an upright bar starts.
        if abs(y0 - y1) < 1e-6 and 45.0 < abs(x1 - x0) < 110.0:
            for a0, b0, a1, b1 in lines:
                if abs(a0 - a1) < 1e-6 and 45.0 < abs(b1 - b0) < 110.0 and abs(a0 - x0) < 1e-3 and abs(b0 - y0) < 1e-3:
                    corners.append((x0, y0))
    assert len(corners) == 1, f"one scale check on each page, not {len(corners)}"
    x, y = corners[0]
    upright = [(a, b, d) for a, b, c, d in lines if abs(a - c) < 1e-6 and abs(b - y) < 1e-3 and a > x + 1.0]
    level = [(a, b, c) for a, b, c, d in lines if abs(b - d) < 1e-6 and abs(a - x) < 1e-3 and b > y + 1.0]
    mm_x = max(a for a, b, d in upright if d > b) - x
    in_x = max(a for a, b, d in upright if d < b) - x
    mm_y = max(b for a, b, c in level if c > a) - y
    in_y = max(b for a, b, c in level if c < a) - y
    return mm_x, mm_y, in_x, in_y
