"""How full the pages of a book's PDF are, and what stands on them, with pdfplumber.

Arguments: the file. Prints JSON: for each page {text, foot, fill}: its words above the foot without any white, those of the foot, and how
far down ink reaches, as a share of what there is between the upper margin and the foot.
"""

import json
import sys

import pdfplumber

MM = 25.4 / 72.0
MARGIN_MM = 15.0


def main():
    pages = []
    with pdfplumber.open(sys.argv[1]) as document:
        for page in document.pages:
            wide = [line["top"] for line in page.lines if 0.6 * float(page.width) < line["x1"] - line["x0"]]
            # The foot hangs from the last line across the page.
            foot = max(wide)
            ink = [item["bottom"] for kind in ("chars", "lines", "rects", "curves") for item in getattr(page, kind)]
            lowest = max(bottom for bottom in ink if bottom < foot - 1.0)
            top = MARGIN_MM / MM
            words = lambda keep: "".join(c["text"] for c in page.chars if keep(c["top"]) and c["text"].strip())
            pages.append({
                "text": words(lambda y: y < foot),
                "foot": words(lambda y: foot <= y),
                "fill": (lowest - top) / (foot - top),
            })
    json.dump(pages, sys.stdout)


main()
