"""Does at the bench what a builder does, in Chromium, and holds it against the command line.

Input: JSON with `program`, `examples`, `chromium`, and `picture` (where to save the README's picture; may be null).
Prints a line for each scenario that held.
"""

import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect, sync_playwright

FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()
GIVEN = json.load(sys.stdin)
WAIT = 20_000


class Bench:
    """The program on a copy of an example, in a folder of its own."""

    def __init__(self, example="meadow"):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        self.file = None
        words = [GIVEN["program"], "bench", "--no-open", "--port", "0"]
        if example:
            self.file = self.folder / f"{example}.toml"
            shutil.copy(pathlib.Path(GIVEN["examples"]) / f"{example}.toml", self.file)
            words.insert(2, str(self.file))
        self.child = subprocess.Popen(words, cwd=self.folder, stdout=subprocess.PIPE, text=True)
        self.address = re.search(r"http://\S+", self.child.stdout.readline()).group(0)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.child.kill()
        self.child.wait()
        shutil.rmtree(self.folder)

    def run(self, *words):
        return subprocess.run([GIVEN["program"], *words], cwd=self.folder, capture_output=True, text=True, check=True).stdout


def opened(browser, bench, width=1280, height=900, dark=False, touch=False):
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light", has_touch=touch, is_mobile=touch
    )
    page = context.new_page()
    page.set_default_timeout(WAIT)
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda said: page.faults.append(said.text) if "Content Security Policy" in said.text else None)
    page.goto(bench.address)
    return page


def weight(page):
    return page.locator("#weight-text").inner_text()


def settled(page):
    page.wait_for_selector("#moves table")


def field(page, key):
    lever = page.locator(f'.lever[data-key="{key}"]')
    group = lever.locator("xpath=ancestor::details")
    if group.get_attribute("open") is None:
        group.locator("summary").click()
    return lever.locator('input[type="text"]')


def bow_weight(bench, file):
    """As `bow --json` gives it, in words as the page writes it."""
    newtons = json.loads(bench.run("bow", str(file), "--json"))["draw_weight_n"]
    return f"{newtons / 4.4482216152605:.1f} lbf"


def differing(before, after):
    before, after = before.splitlines(), after.splitlines()
    assert len(before) == len(after)
    return [(was, now) for was, now in zip(before, after) if was != now]


def thickness_keep_take_back(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        assert "#" not in page.url, page.url
        before = bench.file.read_text()
        other = bench.folder / "other.toml"
        other.write_text(before.replace("thickness = 0.170", "thickness = 0.163"))
        wanted = bow_weight(bench, other)
        shown = weight(page)
        field(page, "lamination[0].thickness").fill(".163")
        page.keyboard.press("Enter")
        expect(page.locator("#weight-text")).not_to_have_text(shown)
        assert weight(page) == wanted, (weight(page), wanted)
        page.click("#keep")
        expect(page.locator("#keep-lines tbody tr")).to_have_count(1)
        assert bench.file.read_text() == before
        page.click("#keep-write")
        expect(page.locator("#said")).to_contain_text("Kept")
        assert [now.split("=")[1].strip() for _, now in differing(before, bench.file.read_text())] in (["0.163"], [".163"])
        assert "# kept in hand for sanding" in bench.file.read_text()
        page.click("#take-back")
        expect(page.locator("#said")).to_contain_text("Taken back")
        assert bench.file.read_text() == before
        # A length as the file takes it.
        field(page, "outline.tip_beyond_nock").fill("5/8")
        page.keyboard.press("Enter")
        expect(page.locator("#count")).to_contain_text("1 value differs")
        page.reload()
        settled(page)
        assert not page.faults, page.faults


def weight_drawn(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        text = bench.file.read_text()
        wish = bench.folder / "wish.toml"
        wish.write_text(text.replace('"38 lbf"', '"50 lbf"'))
        bench.run("size", str(wish), "--write", "sized.toml")
        page.locator("#weight-rule").focus()
        page.keyboard.press("Shift+ArrowUp")
        page.keyboard.press("ArrowUp")
        page.keyboard.press("ArrowUp")
        expect(page.locator("#weight-words")).to_contain_text("50.0 lbf")
        expect(page.locator("#told")).to_contain_text("thickness")
        wanted = re.search(r"thickness = (\S+)", (bench.folder / "sized.toml").read_text().split("[[lamination]]")[1]).group(1)
        expect(field(page, "lamination[0].thickness")).to_have_value(wanted)
        assert weight(page) == bow_weight(bench, bench.folder / "sized.toml")
        assert not page.faults, page.faults


def edited_elsewhere_and_412(browser):
    with Bench() as bench:
        page, second = opened(browser, bench), opened(browser, bench)
        settled(page)
        settled(second)
        field(page, "lamination[0].thickness").fill("0.16")
        page.keyboard.press("Enter")
        expect(page.locator("#count")).to_contain_text("1 value")
        bench.file.write_text(bench.file.read_text().replace("Meadow flatbow\"", "Meadow again\""))
        for each in (page, second):
            expect(each.locator("#title")).to_have_text("Meadow again", timeout=5000)
        expect(page.locator("#count")).to_contain_text("1 value")
        # Faulty, then gone, then back: the page stays, and says it.
        sound = bench.file.read_text()
        bench.file.write_text(sound.replace('"38 lbf"', '"38 lbs of force"'))
        expect(page.locator("#file-faults")).to_contain_text("line ", timeout=5000)
        assert page.evaluate("document.body.classList.contains('stale')")
        bench.file.unlink()
        expect(page.locator("#file-faults, #apart").first).to_be_attached()
        bench.file.write_text(sound)
        expect(page.locator("#file-faults .fault")).to_have_count(0, timeout=5000)
        # Changed at the moment of keeping.
        page.click("#keep")
        expect(page.locator("#keep-write")).to_be_visible()
        later = sound + "# one more word\n"
        bench.file.write_text(later)
        page.click("#keep-write")
        page.wait_for_timeout(300)
        now = bench.file.read_text()
        assert now.endswith("# one more word\n"), "an edit was lost"
        assert not page.faults, page.faults


def first_minute(browser):
    with Bench(None) as bench:
        page = opened(browser, bench)
        page.fill("#begin-weight", "40")
        page.keyboard.press("Enter")
        settled(page)
        page.fill("#file-name", "first bow")
        page.keyboard.press("Enter")
        expect(page.locator("#file")).to_have_text("first-bow.toml")
        bench.run("check", "first-bow.toml")
        assert not page.faults, page.faults


def by_keyboard_alone(browser):
    """Find a lever with Tab, move it, draw the bow, set it aside, keep it: no pointer."""
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        before = bench.file.read_text()

        def tab_to(selector, most=400):
            for _ in range(most):
                page.keyboard.press("Tab")
                if page.evaluate("selector => document.activeElement.matches(selector)", selector):
                    return
            raise AssertionError(f"{selector} is not reached with Tab")

        tab_to('.lever[data-key="lamination[0].thickness"] input[type="range"]')
        page.keyboard.press("ArrowUp")
        page.keyboard.press("Shift+ArrowUp")
        expect(field(page, "lamination[0].thickness")).to_have_value("0.1810")
        page.evaluate("document.activeElement.blur()")
        tab_to('.handle[aria-label^="nocking point"]')
        page.keyboard.press("ArrowDown")
        expect(page.locator(".drawn-to")).to_contain_text("27 in")
        page.evaluate("document.activeElement.blur()")
        tab_to('.handle[aria-label^="width point 2"]')
        page.keyboard.press("ArrowUp")
        expect(page.locator("#count")).to_contain_text("2 values differ")
        page.evaluate("document.activeElement.blur()")
        tab_to("#aside-name")
        page.keyboard.type("thicker back")
        page.keyboard.press("Enter")
        expect(page.locator("#aside-list")).to_contain_text("thicker back")
        page.evaluate("document.activeElement.blur()")
        tab_to("#keep")
        page.keyboard.press("Enter")
        expect(page.locator("#keep-write")).to_be_visible()
        tab_to("#keep-write", 20)
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("Kept")
        assert len(differing(before, bench.file.read_text())) == 2
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
        summary = page.locator('details[data-group="lamination 0"] > summary')
        if page.locator('details[data-group="lamination 0"]').get_attribute("open") is None:
            summary.tap()
        page.locator('.lever[data-key="lamination[0].thickness"] .step').last.tap()
        expect(page.locator("#weight-text")).not_to_have_text(shown)
        # The weight stays in sight while the levers are moved.
        assert page.locator("#weight-text").evaluate("e => e.getBoundingClientRect().top >= 0")
        page.locator("#keep").tap()
        page.locator("#keep-write").tap()
        expect(page.locator("#said")).to_contain_text("Kept")
        assert len(differing(before, bench.file.read_text())) == 1
        page.locator('#places [data-place="book"]').tap()
        page.locator("#make").tap()
        expect(page.locator("#progress-words")).to_contain_text("files made")
        page.locator(".file", has_text=".svg").first.tap()
        expect(page.locator("#reader img")).to_be_visible()
        assert (bench.folder / "output" / "meadow").is_dir()
        assert not page.faults, page.faults


def accessible(browser):
    with Bench() as bench:
        for dark in (False, True):
            for width, height in ((390, 844), (1280, 900), (2560, 1300)):
                page = opened(browser, bench, width, height, dark, touch=width == 390)
                settled(page)
                for place in ("bow", "glue", "book"):
                    page.click(f'#places [data-place="{place}"]')
                    if place == "glue":
                        page.wait_for_selector(".stage")
                    found = Axe().run(page)
                    assert found.violations_count == 0, f"{place} {width} dark={dark}\n{found.generate_report()}"
                    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{place} {width} is wider than its screen"
                if width == 1280 and not dark and GIVEN["picture"]:
                    page.click('#places [data-place="bow"]')
                    page.wait_for_timeout(300)
                    page.screenshot(path=GIVEN["picture"])
                assert not page.faults, page.faults
                page.context.close()


SCENARIOS = (
    thickness_keep_take_back,
    weight_drawn,
    edited_elsewhere_and_412,
    first_minute,
    by_keyboard_alone,
    by_touch_alone,
    accessible,
)

with sync_playwright() as playwright:
    chromium = playwright.chromium.launch(executable_path=GIVEN["chromium"], args=FLAGS)
    wanted = sys.argv[1:]
    for scenario in SCENARIOS:
        if not wanted or scenario.__name__ in wanted:
            scenario(chromium)
            print(scenario.__name__)
    chromium.close()
