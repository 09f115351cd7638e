"""Measures a build book's PDF with pdfplumber and pikepdf and holds it against the book it was written from.

Arguments: the file. Standard input: JSON {paper_mm, margin_mm, title, made_by, chapters: [[anchor, title]], headings,
runs, tables: [{caption, heads, rows}], links, boxes, least_boxes_mm, blanks, tones_mm, captions}. Texts of `runs` and the
cells of `tables` must be found letter by letter, in their order. Prints "agrees".
"""

import json
import re
import sys

import pdfplumber
import pikepdf

MM = 25.4 / 72.0


def packed(text):
    return "".join(text.split())


def main():
    expected = json.load(sys.stdin)
    width, height = expected["paper_mm"]
    margin = expected["margin_mm"]
    streams, texts, boxes, blanks, tones, headed = [], [], [], [], [], {}
    with pdfplumber.open(sys.argv[1]) as document:
        total = len(document.pages)
        for number, page in enumerate(document.pages, 1):
            assert abs(float(page.width) * MM - width) < 0.001 and abs(float(page.height) * MM - height) < 0.001
            streams.append(packed("".join(c["text"] for c in page.chars)))
            texts.append(page.extract_text())
            # Nothing leaves the margins: letters by their advance boxes, lines by their middles.
            for kind in ("chars", "lines", "rects", "curves"):
                for item in getattr(page, kind):
                    left, right = item["x0"] * MM, item["x1"] * MM
                    top, bottom = item["top"] * MM, item["bottom"] * MM
                    inside = margin - 0.2 < left and right < width - margin + 0.2
                    inside = inside and margin - 1.0 < top and bottom < height - margin + 1.2
                    assert inside, (number, kind, item.get("text"), left, top, right, bottom)
            # No two words lie on each other.
            level = lambda o: o["object_type"] != "char" or abs(o["matrix"][1]) < 1e-6
            words = page.filter(level).extract_words()
            words.sort(key=lambda w: w["top"])
            for i, a in enumerate(words):
                for b in words[i + 1:]:
                    if a["bottom"] - 0.8 < b["top"]:
                        break
                    apart = a["x1"] - 0.8 < b["x0"] or b["x1"] - 0.8 < a["x0"]
                    assert apart, (number, a["text"], b["text"])
            for rect in page.rects:
                size = (rect["width"] * MM, rect["height"] * MM)
                if rect["fill"]:
                    tones.append([round(size[0], 1), round(size[1], 1)])
                elif 2.8 <= size[0] <= 3.5 and abs(size[0] - size[1]) < 0.01:
                    boxes.append((number, rect["x0"] * MM, rect["top"] * MM))
                elif 16.0 <= size[0] and 5.5 <= size[1] <= 40.0 and rect["linewidth"] * MM < 0.25:
                    blanks.append(size)
            for _, title in expected["chapters"]:
                found = page.search(re.escape(title))
                headed.setdefault((number - 1, title), []).extend(match["top"] * MM for match in found)
            foot = page.crop((0, (height - margin - 12.0) / MM, page.width, page.height)).extract_text()
            assert f"page {number} of {total}" in foot, foot
            assert packed(expected["made_by"]) in packed(foot), foot
            assert expected["title"] in foot, foot
    assert len(boxes) == expected["boxes"], len(boxes)
    assert len(blanks) == expected["blanks"], len(blanks)
    for a, b in zip(boxes, boxes[1:]):
        # Room for a pencil between boxes under one another.
        assert a[0] != b[0] or abs(a[1] - b[1]) > 1e-6 or b[2] - a[2] >= 5.5, (a, b)
    for want in expected["tones_mm"]:
        assert any(abs(want[0] - w) < 0.051 and abs(want[1] - h) < 0.051 for w, h in tones), (want, tones)

    # All letters, in order. Pages are joined, so a text may run on over a foot only where it says so.
    stream = "".join(streams)
    at = 0
    for text in expected["runs"]:
        found = stream.find(packed(text), at)
        assert found >= 0, text
        at = found
    for table in expected["tables"]:
        at = stream.find(packed(table["caption"]) + packed("".join(table["heads"])))
        assert at >= 0, table["caption"]
        for row in table["rows"]:
            cells = packed("".join(cell for cell in row if isinstance(cell, str)))
            # A row is never split: its cells stand one after the other.
            # Of a table in two columns side by side, rows of both come in turn.
            assert stream.find(cells, at) >= 0, cells
        # Where rows stand, heads stand above them.
        for page in streams:
            rows = [row for row in table["rows"] if packed("".join(c for c in row if isinstance(c, str))) in page]
            assert not rows or packed("".join(table["heads"])) in page, (table["caption"], rows[0])
    for heading in expected["headings"]:
        # The foot of a page is written after all that stands on it, and begins with the page's number.
        last = [page for page in streams if re.search(re.escape(packed(heading)) + r"page\d+of\d+", page)]
        assert not last, f"{heading} is the last on its page"
    for heading, follower in expected["captions"]:
        assert any(packed(heading) in page and packed(follower) in page for page in streams), (heading, follower)
    assert "\x00" not in stream and "□" not in stream

    with pikepdf.open(sys.argv[1]) as document:
        problems = document.check_pdf_syntax() if hasattr(document, "check_pdf_syntax") else document.check()
        assert not problems, problems
        index = {page.objgen: k for k, page in enumerate(document.pages)}
        place = lambda target: (index[target[0].objgen], float(target[3]) * MM)
        titles, starts = [], {}
        with document.open_outline() as outline:
            for item in outline.root:
                titles.append(item.title)
                starts[item.title] = place(item.destination)
        assert titles == [title for _, title in expected["chapters"]], titles
        for title, (page, y) in starts.items():
            assert packed(title) in streams[page], title
            # The title stands close under the place that is led to.
            assert any(0.0 <= top - (height - y) <= 6.0 for top in headed[page, title]), (title, y, headed[page, title])
        targets = []
        for page in document.pages:
            for note in page.get("/Annots", []):
                assert note.Subtype == "/Link"
                rect = [float(v) * MM for v in note.Rect]
                assert margin - 0.2 < rect[0] < rect[2] < width - margin + 0.2
                targets.append((str(note.Contents), place(note.Dest)))
        # The contents lead to every chapter, and say its page.
        count = len(titles)
        assert [name for name, _ in targets[:count]] == titles
        for name, target in targets:
            assert target == starts[name], (name, target, starts[name])
        contents = "\n".join(texts[: starts[titles[0]][0] + 1])
        for title in titles:
            number = re.search(re.escape(title) + r"\s+(\d+)$", contents, re.MULTILINE)
            assert number and int(number.group(1)) == starts[title][0] + 1, title
        # A link that is broken over lines has an area on each.
        inside = [name for k, (name, _) in enumerate(targets) if count <= k and (k == count or targets[k - 1][0] != name)]
        assert inside == [title for _, title in expected["links"]], inside
        for shown, title in expected["links"]:
            assert packed(f"{shown} (p. {starts[title][0] + 1})") in stream, shown
    print("agrees")


main()
