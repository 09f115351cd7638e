"""Reads what a build book says, for comparison with the report: the HTML with html5lib, the PDF with pdfplumber and pikepdf.

Arguments: the HTML file, the PDF file. Prints JSON: numbers [[pointer, value, text]], titles, headings, links, ids, ticks,
passes ticked, alternatives of pictures, outside references, pages, bookmarks, and words that lie on each other or leave the
page.
"""

import json
import sys

import html5lib
import pdfplumber
import pikepdf

XHTML = "{http://www.w3.org/1999/xhtml}"
MM = 25.4 / 72.0
MARGIN = 5.0


def said(element):
    return " ".join("".join(element.itertext()).split())


def main():
    with open(sys.argv[1], encoding="utf-8", newline="") as file:
        page = html5lib.HTMLParser(strict=True).parse(file.read())
    of = lambda name: list(page.iter(XHTML + name))
    outside = [
        value
        for element in page.iter()
        for name, value in element.items()
        if name.split("}")[-1] in ("src", "href", "data") and not value.startswith(("#", "data:"))
    ]
    faults, words_on_pages = [], []
    with pdfplumber.open(sys.argv[2]) as document:
        pages = len(document.pages)
        for number, sheet in enumerate(document.pages, 1):
            width, height = float(sheet.width) * MM, float(sheet.height) * MM
            for char in sheet.chars:
                left, right, top, bottom = (char[k] * MM for k in ("x0", "x1", "top", "bottom"))
                if left < MARGIN or width - MARGIN < right or top < MARGIN or height - MARGIN < bottom:
                    faults.append([number, "leaves the page", char["text"]])
            level = lambda o: o["object_type"] != "char" or abs(o["matrix"][1]) < 1e-6
            words = sorted(sheet.filter(level).extract_words(), key=lambda w: w["top"])
            words_on_pages.append(len(words))
            for i, a in enumerate(words):
                for b in words[i + 1 :]:
                    if a["bottom"] - 0.8 < b["top"]:
                        break
                    if not (a["x1"] - 0.8 < b["x0"] or b["x1"] - 0.8 < a["x0"]):
                        faults.append([number, a["text"], b["text"]])
    with pikepdf.open(sys.argv[2]) as document:
        with document.open_outline() as outline:
            bookmarks = [item.title for item in outline.root]
    json.dump(
        {
            "numbers": [[e.get("data-in"), e.get("value"), said(e)] for e in of("data")],
            "titles": [said(e) for e in of("h2")],
            "headings": len(of("h3")),
            "links": [e.get("href")[1:] for e in of("a")],
            "ids": [e.get("id") for e in page.iter() if e.get("id")],
            "ticks": sum(e.get("type") == "checkbox" for e in of("input")),
            "figures": len(of("figure")),
            "cautions": len(of("aside")),
            "outside": outside,
            "pages": pages,
            "bookmarks": bookmarks,
            "emptiest": min(words_on_pages),
            "faults": faults,
        },
        sys.stdout,
    )


main()
