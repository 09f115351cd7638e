"""Reads a build book's HTML with html5lib (WHATWG parser, strict) and holds it against the book it was written from.

Arguments: the file. Standard input: JSON {title, chapters: [[anchor, title]], links, data: [[pointer, value, shown]],
tables: [{caption, heads, rows}], pictures: [{alt, caption, width_mm, height_mm, labels}], boxes, facts, blanks, cautions}.
Cells are texts, or null for a blank, or true for a box to tick. Prints "agrees".
"""

import base64
import json
import pathlib
import re
import sys

import html5lib

XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
SCRIPT = pathlib.Path(__file__).parents[2] / "src" / "write" / "book.js"
FONTS = pathlib.Path(__file__).parents[2] / "src" / "drawing" / "fonts"


def said(element):
    return " ".join("".join(element.itertext()).split())


def luminance(colour):
    """Relative luminance, WCAG 2.2."""
    colour = colour.lstrip("#")
    colour = "".join(c * 2 for c in colour) if len(colour) == 3 else colour
    parts = [int(colour[i:i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a, b):
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def main():
    expected = json.load(sys.stdin)
    raw = pathlib.Path(sys.argv[1]).read_bytes()
    assert len(raw) < 1_500_000, len(raw)
    # Strict: any parse error of the standard raises.
    page = html5lib.HTMLParser(strict=True).parse(raw.decode("utf-8"))
    every = list(page.iter())
    of = lambda name: [e for e in every if e.tag == XHTML + name]

    # Stands alone and runs its one script.
    (script,) = of("script")
    assert not script.attrib and "".join(script.itertext()) == SCRIPT.read_text(encoding="utf-8")
    assert not of("link") and not of("img") and not of("iframe")
    for element in every:
        if not isinstance(element.tag, str):
            continue
        for name, value in element.attrib.items():
            assert not name.lower().startswith("on"), name
            if name in ("href", "src"):
                assert value.startswith("#"), value
    style = "".join(said_raw for e in of("style") for said_raw in e.itertext())
    assert "@import" not in style and all(url.startswith("data:") for url in re.findall(r"url\(([^)]*)\)", style))
    fonts = [base64.b64decode(text) for text in re.findall(r"url\(data:font/otf;base64,([^)]*)\)", style)]
    assert fonts == [(FONTS / f"B612-{face}.otf").read_bytes() for face in ("Regular", "Bold")]

    # Every pair of colours that text is shown in, on screens light and dark and on paper.
    schemes = [dict(re.findall(r"--([a-z]+): (#[0-9a-f]+);", block)) for block in re.findall(r":root \{([^}]*)\}", style)]
    assert len(schemes) == 3
    for scheme in schemes:
        for front in ("ink", "quiet"):
            for back in ("ground", "shade"):
                assert contrast(scheme[front], scheme[back]) >= 7.0, (front, back, scheme)

    assert of("html")[0].get("lang") == "en"
    assert [said(e) for e in of("h1")] == [expected["title"]]
    assert any(e.get("name") == "viewport" and "width=device-width" in e.get("content") for e in of("meta"))
    ids = [e.get("id") for e in every if isinstance(e.tag, str) and e.get("id")]
    assert len(ids) == len(set(ids)), ids
    for element in every:
        for name in ("aria-labelledby", "href"):
            wanted = element.get(name) if isinstance(element.tag, str) else None
            assert wanted is None or wanted.lstrip("#") in ids, wanted
    assert [[e.get("id"), said(e)] for e in of("h2")] == expected["chapters"]
    contents = [[a.get("href")[1:], said(a)] for nav in of("nav") for a in nav.iter(XHTML + "a")]
    assert contents == expected["chapters"], contents
    inside = [[a.get("href")[1:], said(a)] for p in of("main")[0].iter() for a in p.findall(XHTML + "a") if p.get("class") != "back screen"]
    assert inside == expected["links"], inside

    data = [[e.get("data-in"), float(e.get("value")), said(e)] for e in of("data")]
    assert data == expected["data"], [pair for pair in zip(data, expected["data"]) if pair[0] != pair[1]][:3]

    tables = of("table")
    assert len(tables) == len(expected["tables"])
    for table, want in zip(tables, expected["tables"]):
        assert [said(e) for e in table.iter(XHTML + "caption")] == [want["caption"]]
        head, body = table.find(XHTML + "thead"), table.find(XHTML + "tbody")
        assert all(e.get("scope") == "col" for e in head.iter(XHTML + "th"))
        assert [said(e) for e in head.iter(XHTML + "th")] == want["heads"]
        rows = [list(row) for row in body]
        assert len(rows) == len(want["rows"])
        for row, cells in zip(rows, want["rows"]):
            assert len(row) == len(cells)
            for k, (cell, text) in enumerate(zip(row, cells)):
                if text is True:
                    box = cell.find(XHTML + "input")
                    assert box.get("type") == "checkbox" and box.get("aria-label")
                    assert want["heads"][k] in box.get("aria-label")
                elif text is None:
                    field = cell.find(XHTML + "input")
                    assert said(cell) == "" and cell.get("class").startswith("blank") and field.get("type") == "text"
                    assert want["heads"][k] in field.get("aria-label")
                else:
                    assert said(cell) == text, (said(cell), text)
                    assert (cell.tag == XHTML + "th" and cell.get("scope") == "row") == (k == 0)
    names = [e.get("name") for e in of("input")]
    assert all(names) and len(names) == len(set(names)), "what is kept is kept under a name of its own"
    boxes = [e for e in of("input") if e.get("type") == "checkbox"]
    labelled = [box for label in of("label") for box in label.iter(XHTML + "input") if said(label)]
    assert len(boxes) == expected["boxes"] and all(box in labelled or box.get("aria-label") for box in boxes)

    figures = of("figure")
    assert len(figures) == len(expected["pictures"])
    for figure, want in zip(figures, expected["pictures"]):
        (picture,) = list(figure.iter(SVG + "svg"))
        title = picture.find(SVG + "title")
        assert picture.get("role") == "img" and picture.get("aria-labelledby") == title.get("id") and said(title) == want["alt"]
        assert said(figure.find(XHTML + "figcaption")) == want["caption"]
        view = [float(part) for part in picture.get("viewBox").split()]
        assert all(abs(a - b) < 1e-3 for a, b in zip(view, [0, 0, want["width_mm"], want["height_mm"]])), (view, want)
        # Printed at true size: one unit of the view is one mm.
        assert abs(float(re.search(r"(?<!-)width:([0-9.]+)mm", picture.get("style")).group(1)) - view[2]) < 1e-6
        labels = [[said(e), round(float(e.get("font-size")), 3)] for e in picture.iter(SVG + "text")]
        assert sorted(labels) == sorted(want["labels"]), (labels, want["labels"])

    facts = [[said(group.find(XHTML + "dt")), said(group.find(XHTML + "dd"))] for dl in of("dl") for group in dl]
    assert facts == expected["facts"], facts
    blanks = [said(e) for ul in of("ul") if ul.get("class") == "blanks" for e in ul]
    assert blanks == expected["blanks"]
    notes = [[said(p) for p in aside][1:] for aside in of("aside") if aside.get("role") == "note"]
    assert notes == expected["cautions"], notes
    print("agrees")


main()
