"""The whole job at Bow, Glue-up and Book: by keyboard alone, and by touch alone on a telephone's screen. See `bench_common.py`."""

from bench_common import Bench, at_rest, differing, dragged, expect, field, from_the_top, go, opened, play, settled, tab_to, weight


def by_keyboard_alone(browser):
    """Move a lever, draw the bow, the outline and the weight, set aside and take up, keep, take back: no pointer."""
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        before = bench.file.read_text()
        tab_to(page, '.lever[data-key="lamination[back].thickness"] input[type="range"]')
        page.keyboard.press("ArrowUp")
        page.keyboard.press("Shift+ArrowUp")
        expect(page.locator('.lever[data-key="lamination[back].thickness"] input[type="text"]')).to_have_value("0.181")
        from_the_top(page)
        tab_to(page, '.handle[aria-label^="nocking point"]')
        page.keyboard.press("ArrowDown")
        expect(page.locator(".drawn-to")).to_contain_text("27 in")
        from_the_top(page)
        tab_to(page, '.handle[aria-label^="width point 2"]')
        page.keyboard.press("ArrowUp")
        expect(page.locator("#count")).to_contain_text("2 values differ")
        from_the_top(page)
        tab_to(page, "#aside-name")
        page.keyboard.type("thicker back")
        page.keyboard.press("Enter")
        expect(page.locator("#aside-list")).to_contain_text("thicker back")
        from_the_top(page)
        tab_to(page, "#reset")
        page.keyboard.press("Enter")
        expect(page.locator("#count")).to_have_text("as the file says")
        tab_to(page, '#aside-list button[aria-label="take up thicker back"]')
        page.keyboard.press("Space")
        expect(page.locator("#count")).to_contain_text("2 values differ")
        at_rest(page)
        from_the_top(page)
        tab_to(page, "#keep")
        page.keyboard.press("Enter")
        expect(page.locator("#keep-write")).to_be_visible()
        tab_to(page, "#keep-write", 20)
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("Kept")
        assert len(differing(before, bench.file.read_text())) == 2
        from_the_top(page)
        tab_to(page, "#take-back")
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("Taken back")
        assert bench.file.read_text() == before
        # A dialog that is left with Escape changes nothing.
        tab_to(page, "#weight-rule")
        page.keyboard.press("ArrowUp")
        expect(page.locator("#told")).to_contain_text("back, thickness")
        at_rest(page)
        tab_to(page, "#keep")
        page.keyboard.press("Enter")
        expect(page.locator("#keep-write")).to_be_visible()
        page.keyboard.press("Escape")
        expect(page.locator("#keep-write")).to_be_hidden()
        assert bench.file.read_text() == before
        assert not page.faults, page.faults


def glue_up_and_book_by_keyboard(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        tab_to(page, '#places [data-place="glue"]')
        page.keyboard.press("Enter")
        tip = page.locator('.handle[aria-label^="stage 1: tip left"]')
        expect(tip).to_be_visible()
        was = tip.get_attribute("aria-valuetext")
        tab_to(page, '.handle[aria-label^="stage 1: tip left"]')
        page.keyboard.press("ArrowUp")
        expect(tip).not_to_have_attribute("aria-valuetext", was)
        tab_to(page, '.dry-run input[type="checkbox"]')
        page.keyboard.press("Space")
        from_the_top(page)
        tab_to(page, '.lever[data-key="glue.stage[0].held.props"] input[type="text"]')
        page.keyboard.press("ArrowUp")
        expect(page.locator("#count")).to_contain_text("2 values differ")
        page.reload()
        page.wait_for_selector(".stage")
        assert page.locator('.dry-run input[type="checkbox"]').first.is_checked(), "a tick is lost with a reload"
        from_the_top(page)
        tab_to(page, '#places [data-place="book"]')
        page.keyboard.press("Enter")
        tab_to(page, "#make")
        page.keyboard.press("Enter")
        expect(page.locator("#progress-words")).to_contain_text("files made")
        tab_to(page, ".file")
        page.keyboard.press("Enter")
        expect(page.locator("#reader h3")).to_be_focused()
        tab_to(page, "#reader button", 10)
        page.keyboard.press("Enter")
        expect(page.locator("#reader")).to_be_hidden()
        from_the_top(page)
        tab_to(page, 'a.file[href^="/reader"]')
        with page.context.expect_page() as book:
            page.keyboard.press("Enter")
        expect(book.value.locator("h1")).to_contain_text("Meadow flatbow")
        assert not page.faults, page.faults


def by_touch_alone(browser):
    with Bench() as bench:
        page = opened(browser, bench, 390, 844, touch=True)
        settled(page)
        before, shown = bench.file.read_text(), weight(page)
        small = page.evaluate(
            "[...document.querySelectorAll('button, input, select, summary')].filter(e => e.offsetParent && e.type !== 'checkbox' "
            "&& e.type !== 'radio' && e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML)"
        )
        assert not small, small
        if page.locator('details[data-group="lamination[back]"]').get_attribute("open") is None:
            page.locator('details[data-group="lamination[back]"] > summary').tap()
        page.locator('.lever[data-key="lamination[back].thickness"] .step').last.tap()
        expect(page.locator("#weight-text")).not_to_have_text(shown)
        # The weight stays in sight while the levers are moved.
        assert page.locator("#weight-text").evaluate("e => e.getBoundingClientRect().top >= 0")
        page.locator("#aside-name").tap()
        page.keyboard.type("one step")
        page.locator("#aside-form button").tap()
        expect(page.locator("#aside-list")).to_contain_text("one step")
        page.locator("#keep").tap()
        page.locator("#keep-write").tap()
        expect(page.locator("#said")).to_contain_text("Kept")
        assert len(differing(before, bench.file.read_text())) == 1
        page.locator("#take-back").tap()
        expect(page.locator("#said")).to_contain_text("Taken back")
        assert bench.file.read_text() == before
        assert not page.faults, page.faults


def glue_up_and_book_by_touch(browser):
    with Bench() as bench:
        page = opened(browser, bench, 390, 844, touch=True)
        settled(page)
        page.locator('#places [data-place="glue"]').tap()
        tip = page.locator('.handle[aria-label^="stage 1: tip left"]')
        expect(tip).to_be_visible()
        was = tip.get_attribute("aria-valuetext")
        dragged(page, tip.locator(".dot"), (0, -10), finger=True)
        expect(tip).not_to_have_attribute("aria-valuetext", was)
        box = page.locator(".dry-run label").first
        box.tap()
        assert box.locator("input").is_checked()
        page.locator('.lever[data-key="glue.stage[0].held.props"] .step').last.tap()
        expect(page.locator("#count")).to_contain_text("2 values differ")
        page.locator('#places [data-place="book"]').tap()
        expect(page.locator("#book-tries")).to_be_visible()
        page.locator("#make").tap()
        expect(page.locator("#progress-words")).to_contain_text("files made")
        page.locator(".file", has_text=".svg").first.tap()
        expect(page.locator("#reader img")).to_be_visible()
        page.locator("#reader button").tap()
        expect(page.locator("#reader")).to_be_hidden()
        assert (bench.folder / "output" / "meadow" / "build-book.html").is_file()
        with page.context.expect_page() as book:
            page.locator("a.file").tap()
        expect(book.value.locator("h1")).to_contain_text("Meadow flatbow")
        assert not page.faults, page.faults


def aside(page, name):
    return page.locator("#aside-list tr").filter(has=page.get_by_role("rowheader", name=name, exact=True))


def tries_set_aside(browser):
    """Set aside, compared, seen by another page, found after a reload, taken up, dropped."""
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        weights = {}
        for name, value in (("thin", "0.16"), ("thick", "0.18")):
            field(page, "lamination[back].thickness").fill(value)
            page.keyboard.press("Enter")
            at_rest(page)
            weights[name] = weight(page)
            page.fill("#aside-name", name)
            page.click("#aside-form button")
            expect(aside(page, name)).to_contain_text(weights[name])
        second = opened(browser, bench)
        settled(second)
        page.reload()
        settled(page)
        for each in (page, second):
            for name, value in (("thin", "0.16"), ("thick", "0.18")):
                row = aside(each, name)
                expect(row).to_contain_text(weights[name])
                expect(row).to_contain_text(f"back, thickness at the butt: {value} (file 0.170)")
            each.click('#aside-list button[aria-label="take up thin"]')
            expect(each.locator("#weight-text")).to_have_text(weights["thin"])
            expect(field(each, "lamination[back].thickness")).to_have_value("0.16")
        page.click('#aside-list button[aria-label="drop thin"]')
        for each in (page, second):
            expect(aside(each, "thin")).to_have_count(0)
            expect(aside(each, "thick")).to_have_count(1)
        assert not page.faults + second.faults


play(by_keyboard_alone, glue_up_and_book_by_keyboard, by_touch_alone, glue_up_and_book_by_touch, tries_set_aside)
