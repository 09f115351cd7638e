"""The build book on a screen: a phone's and a desk's, light and dark; what is ticked and written stays. See `bench_common.py`."""

import pathlib
import subprocess
import tempfile

from axe_playwright_python.sync_playwright import Axe

from bench_common import GIVEN, expect, play
from bench_sound import themes

FOLDER = tempfile.TemporaryDirectory()
EXAMPLES = ("meadow", "heron")
WIDTHS = ((390, 844), (1280, 900))
MADE = {}


def file_of(example):
    if example not in MADE:
        out = pathlib.Path(FOLDER.name) / example
        given = [GIVEN["program"], "-q", "make", str(pathlib.Path(GIVEN["examples"]) / f"{example}.toml"), "--out", str(out)]
        subprocess.run(given, check=True, capture_output=True)
        MADE[example] = (out / "build-book.html").as_uri()
    return MADE[example]


def context_of(browser, width=390, height=844):
    narrow = width == 390
    return browser.new_context(
        viewport={"width": width, "height": height}, has_touch=narrow, is_mobile=narrow
    )


def shown(context, example):
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.goto(file_of(example))
    return page


def each(browser, widths=WIDTHS):
    for example in EXAMPLES:
        for width, height in widths:
            context = context_of(browser, width, height)
            page = shown(context, example)
            yield page, f"{example} {width}"
            assert not page.faults, page.faults
            context.close()


def accessible(browser):
    for page, what in each(browser):
        for theme in themes(page):
            found = Axe().run(page)
            assert found.violations_count == 0, f"{what} {theme}\n{found.generate_report()[:1500]}"


def nothing_wider(browser):
    """What is wider than the screen slides in a frame with a name and a hint, and the keyboard moves it."""
    for page, what in each(browser):
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{what} is wider than its screen"
        faults = page.evaluate(
            """() => [...document.querySelectorAll('body *')].filter((e) =>
                ['auto', 'scroll'].includes(getComputedStyle(e).overflowX) && e.scrollWidth > e.clientWidth + 1).flatMap((e) => {
                const name = e.getAttribute('aria-label') ?? document.getElementById(e.getAttribute('aria-labelledby'))?.textContent;
                const hint = e.parentElement.querySelector('.hint')?.checkVisibility();
                return e.tabIndex === 0 && name && hint ? [] : [`${e.localName}.${e.className} ${name} ${hint}`];
            })"""
        )
        assert not faults, f"{what}: {faults}"
        # What does not slide stays inside.
        out = page.evaluate(
            """() => [...document.querySelectorAll('main *')].filter((e) => !e.closest('svg, figure > div, thead') && e.checkVisibility())
                .filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5).map((e) => `${e.localName} ${e.textContent.slice(0, 40)}`)"""
        )
        assert not out, f"{what}: {out[:5]}"
    page = shown(context_of(browser), "meadow")
    frame = page.locator(".slides > div").first
    frame.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.wait_for_function("frame => frame.scrollLeft > 20", arg=frame.element_handle())


def words_unbroken(browser):
    """No word runs over two lines; one may end a line after a hyphen or a stroke."""
    for page, what in each(browser):
        broken = page.evaluate(
            """() => {
                const found = [], walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
                for (let node = walker.nextNode(); node; node = walker.nextNode()) {
                    if (node.parentElement.closest('script, style, svg') || !node.parentElement.checkVisibility()) continue;
                    for (const word of node.data.matchAll(/[^\\s\\u2013\\/-]+/g)) {
                        const range = document.createRange();
                        range.setStart(node, word.index);
                        range.setEnd(node, word.index + word[0].length);
                        const lines = new Set([...range.getClientRects()].map((box) => Math.round(box.top)));
                        if (lines.size > 1) found.push(word[0]);
                    }
                }
                return found;
            }"""
        )
        assert not broken, f"{what}: {broken[:8]}"


def passes_stacked(browser):
    """A card for each pass on a phone, every figure with its head beside it, a table still to a screen reader; a table at a desk."""
    passes = "#lamination-1 ~ .stacked:has(caption:text('Passes'))"
    for example in EXAMPLES:
        page = shown(context_of(browser), example)
        cards = page.locator(f"{passes} tbody tr")
        assert cards.count() > 8
        card = cards.nth(4)
        for cell in card.locator("td:not(.none)").all():
            box = cell.bounding_box()
            assert 0 <= box["x"] and box["x"] + box["width"] <= 390, box
        heads = card.evaluate("card => [...card.children].map((cell) => getComputedStyle(cell, '::before').content)")
        for head in ("pass", "paper", "gap", "drop", "turns", "done", "read"):
            assert any(said.startswith(f'"{head}') for said in heads), (head, heads)
        assert card.bounding_box()["height"] < 200
        roles = page.locator(passes).first.locator("table, tr, th, td").evaluate_all("all => all.map((e) => e.getAttribute('role'))")
        assert set(roles) == {"table", "row", "columnheader", "rowheader", "cell"}, set(roles)
        desk = shown(context_of(browser, 1280, 900), example)
        row = desk.locator(f"{passes} tbody tr").nth(4)
        assert row.evaluate("row => getComputedStyle(row).display") == "table-row"


def kept(browser):
    """Ticks and notes are there after a reload, in another tab, in no other book; and go when they are taken out."""
    context = context_of(browser)
    page = shown(context, "meadow")
    said = page.locator("#book-kept")
    expect(said).to_contain_text("stay in this browser")
    cell = lambda page, kind: page.locator(f"#lamination-1 ~ div input[type={kind}]").nth(3)
    cell(page, "checkbox").check()
    cell(page, "text").fill("0.187")
    page.locator("ul.blanks input").last.fill("41 lbf, cold")
    page.locator("ul.ticks input").first.check()

    def there(page):
        expect(cell(page, "checkbox")).to_be_checked()
        expect(cell(page, "text")).to_have_value("0.187")
        expect(page.locator("ul.blanks input").last).to_have_value("41 lbf, cold")
        expect(page.locator("ul.ticks input").first).to_be_checked()

    page.reload()
    there(page)
    other = shown(context, "meadow")
    there(other)
    # What is done in one tab shows in the other, and neither writes over the other.
    cell(other, "checkbox").uncheck()
    expect(cell(page, "checkbox")).not_to_be_checked()
    cell(page, "checkbox").check()
    expect(cell(other, "checkbox")).to_be_checked()
    heron = shown(context, "heron")
    assert heron.locator("input:checked").count() == 0
    assert heron.locator("main input[type=text]").evaluate_all("all => all.every((field) => field.value === '')")
    page.on("dialog", lambda dialog: dialog.accept())
    page.click("#book-forget")
    page.reload()
    assert page.locator("input:checked").count() == 0
    assert not page.faults and not other.faults, (page.faults, other.faults)


def refused(browser):
    """A browser that keeps nothing, or is full: said, once; all else works."""
    never = "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } });"
    full = "Storage.prototype.setItem = function () { throw new DOMException('full', 'QuotaExceededError'); };"
    for script in (never, full):
        context = context_of(browser)
        context.add_init_script(script)
        page = shown(context, "meadow")
        said = page.locator("#book-kept")
        expect(said).to_contain_text("last only while this page is open")
        expect(page.locator("#book-forget")).to_be_hidden()
        page.evaluate(
            "() => { window.told = 0; new MutationObserver(() => { told += 1; }).observe(document.getElementById('book-kept'), { childList: true, subtree: true }); }"
        )
        for k in range(3):
            page.locator("ul.ticks input").nth(k).check()
        assert page.locator("input:checked").count() == 3 and page.evaluate("told") == 0
        assert not page.faults, page.faults
        context.close()
    context = browser.new_context(java_script_enabled=False)
    page = shown(context, "meadow")
    expect(page.locator("#book-kept")).to_contain_text("last only while this page is open")
    expect(page.locator("#book-forget")).to_be_hidden()


play(accessible, nothing_wider, words_unbroken, passes_stacked, kept, refused)
