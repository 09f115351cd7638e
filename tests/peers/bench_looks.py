"""How the bench looks and reads: the accessibility checker, both themes, three widths, the book. See `bench_common.py`."""

from bench_common import GIVEN, Bench, at_rest, drawn, expect, go, opened, play, settled, typed
from bench_sound import WIDTHS, sound, sound_in_both_themes


def accessible(browser):
    for example in ("meadow", "heron"):
        with Bench(example) as bench:
            for width, height in WIDTHS:
                page = opened(browser, bench, width, height, touch=width == 390)
                settled(page)
                if width == 1280 and example == "meadow" and GIVEN["picture"]:
                    at_rest(page)
                    page.screenshot(path=GIVEN["picture"])
                for place in ("bow", "glue", "book"):
                    go(page, place)
                    if place == "glue":
                        page.wait_for_selector(".stage")
                    sound_in_both_themes(page, f"{example} {place} {width}")
                assert not page.faults, page.faults
                page.context.close()


def other_states_accessible(browser):
    """The first minute, tries with their dialog, a fault, a file that is gone."""
    for width, height in WIDTHS:
        with Bench(None) as bench:
            page = opened(browser, bench, width, height, touch=width == 390)
            expect(page.locator("#begin-form")).to_be_visible()
            sound_in_both_themes(page, f"first minute {width}")
            page.context.close()
        with Bench() as bench:
            page = opened(browser, bench, width, height, touch=width == 390)
            settled(page)
            typed(page, "lamination[back].thickness", "0.165")
            at_rest(page)
            page.fill("#aside-name", "thinner")
            page.click("#aside-form button")
            expect(page.locator("#aside-list table")).to_be_visible()
            sound_in_both_themes(page, f"tries {width}")
            page.click("#keep")
            expect(page.locator("#keep-write")).to_be_visible()
            sound_in_both_themes(page, f"dialog {width}")
            page.click("#keep-not")
            text = bench.file.read_text()
            bench.file.write_text(text.replace('"38 lbf"', '"38 stone"'))
            expect(page.locator("#file-faults code.line")).to_be_visible()
            sound_in_both_themes(page, f"fault {width}")
            bench.file.unlink()
            expect(page.locator("#file-faults")).to_contain_text("last that was read")
            sound_in_both_themes(page, f"gone {width}")
            page.context.close()


def theme_chosen(browser):
    """As the machine has it until it is chosen here; then it stays."""
    with Bench() as bench:
        for dark in (False, True):
            page = opened(browser, bench, dark=dark)
            settled(page)
            colours = "[getComputedStyle(document.body).backgroundColor, getComputedStyle(document.body).color]"
            first = page.evaluate(colours)
            page.click("#theme")
            expect(page.locator("html")).to_have_attribute("data-theme", "light" if dark else "dark")
            second = page.evaluate(colours)
            assert first[0] != second[0] and first[1] != second[1], (first, second)
            page.reload()
            settled(page)
            assert page.evaluate(colours) == second
            assert page.locator("#theme").inner_text() == ("dark sheet" if dark else "light sheet")
            page.context.close()


def book_read(browser):
    """Pictures, PDF and tables in the page; the book with its own style in a tab of its own, where a reload finds it again."""
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        go(page, "book")
        expect(page.locator("#book-out")).to_have_text("output/meadow")
        page.click("#make")
        expect(page.locator("#progress-words")).to_contain_text("files made")
        page.locator(".file", has_text="build-book.pdf").click()
        expect(page.locator("#reader iframe")).to_be_visible()
        expect(page.locator("#reader h3")).to_be_focused()
        # A click beside a PDF that has just moved may still land in it.
        other_file = page.locator(".file", has_text="stack.csv")
        other_file.scroll_into_view_if_needed()
        drawn(page)
        other_file.click()
        expect(page.locator("#reader pre")).to_contain_text("back")
        sound(page, "a table in the reader")
        made = (bench.folder / "output/meadow/build-book.html").read_text()
        with page.context.expect_page() as other:
            page.locator("a.file", has_text="build-book.html").click()
        book, faults = other.value, []
        book.on("console", lambda said: faults.append(said.text) if "Content Security Policy" in said.text else None)
        for _ in range(2):
            expect(book.locator("h1")).to_have_text("Meadow flatbow")
            assert book.locator("h2").count() == made.count("<h2")
            # Its own typeface and its own rules came along.
            assert "Book B612" in book.evaluate("getComputedStyle(document.body).fontFamily")
            assert book.evaluate("document.fonts.size") == 2 and not faults, faults
            book.locator("nav a").nth(2).click()
            assert book.evaluate("scrollY") > 0 and book.evaluate("location.hash").startswith("#")
            book.reload()
        # Its own script is let in, so that a tick is there after a reload here too.
        expect(book.locator("#book-kept")).to_contain_text("stay in this browser")
        book.locator("ul.ticks input").first.check()
        book.reload()
        expect(book.locator("ul.ticks input").first).to_be_checked()
        assert not faults, faults
        # Nothing of another kind is written there, and without the token nothing at all.
        book.goto(page.url + "reader?0")
        expect(book.locator("#said")).to_contain_text("This is no book")
        stranger = browser.new_context().new_page()
        stranger.goto(page.url + "reader?0")
        expect(stranger.locator("#said")).to_contain_text("may not come in")
        assert not page.faults, page.faults


play(accessible, other_states_accessible, theme_chosen, book_read)
