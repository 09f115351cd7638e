"""Measures a PDF with pdfplumber and pikepdf: page sizes, the scale check on every page, texts, fonts, print scaling.

Arguments: the file. Standard input: JSON {sizes_mm, stretch, made_by, longest_mm, roll_mm}. Prints "agrees".
"""

import json
import sys

import pikepdf

from pdf_common import MM, pages, scale_check


def main():
    expected = json.load(sys.stdin)
    sx, sy = expected["stretch"]
    count = 0
    words = []
    for page in pages(sys.argv[1]):
        count += 1
        size = (float(page.width) * MM, float(page.height) * MM)
        if expected["sizes_mm"]:
            assert any(abs(size[0] - w) < 0.001 and abs(size[1] - h) < 0.001 for w, h in expected["sizes_mm"]), size
        else:
            assert abs(min(size) - expected["roll_mm"]) < 0.001 and max(size) <= expected["longest_mm"], size
        mm_x, mm_y, in_x, in_y = scale_check(page)
        for got, want in [(mm_x, 100 * sx), (mm_y, 100 * sy), (in_x, 101.6 * sx), (in_y, 101.6 * sy)]:
            assert abs(got - want) < 0.01, (page.page_number, got, want)
        text = page.extract_text()
        assert "scale check" in text and "100 mm" in text and "4 in" in text, text
        assert expected["made_by"].split(",")[0] in text, text
        words += text.split()
        # Letters stand where their widths were measured to be.
        letters = page.chars
        at = "".join(char["text"] for char in letters).find(expected["bar_text"])
        assert at >= 0
        last = letters[at + len(expected["bar_text"]) - 1]
        width = (last["x1"] - letters[at]["x0"]) * MM
        assert abs(width - expected["bar_text_mm"] * sx) < 0.01, (width, expected["bar_text_mm"])
    assert count >= 1
    # Notes may be broken over lines and stand beside other text, but none of their words may be lost.
    for note in expected["notes"]:
        assert all(word in words for word in note.split()), note

    with pikepdf.open(sys.argv[1]) as document:
        problems = document.check_pdf_syntax() if hasattr(document, "check_pdf_syntax") else document.check()
        assert not problems, problems
        assert document.Root.ViewerPreferences.PrintScaling == "/None"
        assert len(document.pages) == count
        info = document.trailer.get("/Info", {})
        assert "/CreationDate" not in info and "/ModDate" not in info
        fonts = {}
        for page in document.pages:
            for name, font in page.get("/Resources", {}).get("/Font", {}).items():
                fonts[str(font.BaseFont)] = font
        assert fonts and all("B612" in name and "+" in name for name in fonts), sorted(fonts)
        for font in fonts.values():
            descriptor = font.DescendantFonts[0].FontDescriptor
            assert any(key in descriptor for key in ("/FontFile2", "/FontFile3")), "every font is embedded"
    print("agrees")


main()
