"""The bench in Chromium: the program on a copy of an example, pages on it, and what a hand does there.

Input of every script that uses this: JSON with `program`, `examples`, `chromium`, and `picture` (where to save the README's picture; may be
null). A script prints a line for each scenario that held; its arguments choose some of them.
"""

import json
import os
import pathlib
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import traceback

from playwright.sync_api import expect, sync_playwright

FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()
GIVEN = json.load(sys.stdin)
WAIT = 30_000
"""What anything may take before it is said not to come, ms: long, since other tests run beside these."""
expect.set_options(timeout=WAIT)
LBF_N = 4.4482216152605
"""A pound-force in newtons, by the definition of the pound and of standard gravity."""


class Bench:
    """The program on a copy of an example, in a folder of its own."""

    def __init__(self, example="meadow", before=None, words=(), edit=lambda text: text, prepared=lambda folder: None):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        self.file = None
        given = [GIVEN["program"], "bench", "--no-open", "--port", "0", *words]
        if example:
            self.file = self.folder / f"{example}.toml"
            self.file.write_text(edit((pathlib.Path(GIVEN["examples"]) / f"{example}.toml").read_text()))
            given.insert(2, str(self.file))
        prepared(self.folder)
        self.child = subprocess.Popen(given, cwd=self.folder, stdout=subprocess.PIPE, text=True, preexec_fn=before)
        self.address = re.search(r"http://\S+", self.child.stdout.readline()).group(0)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.child.kill()
        self.child.wait()
        self.folder.chmod(0o700)
        shutil.rmtree(self.folder)

    def run(self, *words):
        return subprocess.run([GIVEN["program"], *words], cwd=self.folder, capture_output=True, text=True, check=True).stdout

    def json(self, *words):
        return json.loads(self.run(*words, "--json"))


def opened(browser, bench, width=1280, height=900, dark=False, touch=False, prepared=lambda page: None):
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light", has_touch=touch, is_mobile=touch
    )
    page = context.new_page()
    page.set_default_timeout(WAIT)
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda said: page.faults.append(said.text) if "Content Security Policy" in said.text else None)
    # Questions that wait for their answers; the stream of events never ends.
    page.asked = set()
    page.on("request", lambda sent: page.asked.add(sent) if sent.resource_type == "fetch" and not sent.url.endswith("/events") else None)
    for ended in ("requestfinished", "requestfailed"):
        page.on(ended, lambda sent: page.asked.discard(sent))
    prepared(page)
    page.goto(bench.address)
    return page


def weight(page):
    return page.locator("#weight-text").inner_text()


def settled(page):
    """The figures of the first look and of the rest are there."""
    page.wait_for_selector("#moves table")


def at_rest(page):
    """Nothing is asked any more: the last answer belongs to what is tried."""
    shown, quiet = None, 0
    for _ in range(400):
        page.wait_for_timeout(150)
        # A question that is not answered yet, or waits for a figure that was drawn, takes its time on a machine that has other work.
        if page.asked or page.evaluate("import('/desk.js').then(({ desk }) => desk.pulling)"):
            quiet = 0
            continue
        now = page.locator("body").inner_text()
        quiet = quiet + 1 if now == shown else 0
        shown = now
        # The page asks for the rest once nothing has moved for 150 ms, and for arrows as long after that.
        if quiet == 3:
            return
    raise AssertionError("the page does not come to rest")


def drawn(page):
    """What was just changed or scrolled is on the screen, so that a click goes where the page has it now."""
    # A page behind another one is not drawn: it is not waited for.
    page.evaluate("new Promise((drawn) => (requestAnimationFrame(() => requestAnimationFrame(drawn)), setTimeout(drawn, 5000)))")


def lever(page, key):
    made = page.locator(f'.lever[data-key="{key}"]')
    group = made.locator("xpath=ancestor::details")
    if group.get_attribute("open") is None:
        group.locator("summary").click()
    return made


def field(page, key):
    return lever(page, key).locator('input[type="text"]')


def typed(page, key, value):
    field(page, key).fill(value)
    page.keyboard.press("Enter")


def go(page, place):
    page.click(f'#places [data-place="{place}"]')


def bow_weight(bench, file):
    """As `bow --json` gives it, in words as the page writes it."""
    newtons = bench.json("bow", str(file))["draw_weight_n"]
    inches = 'units = "in"' in pathlib.Path(bench.folder / file).read_text()
    return f"{newtons / LBF_N:.1f} lbf" if inches else f"{newtons:.1f} N"


def keep(page):
    page.click("#keep")
    expect(page.locator("#keep-write, #said").locator("visible=true")).not_to_have_count(0)
    assert page.locator("#keep-write").is_visible(), page.locator("#said").inner_text()
    page.click("#keep-write")
    expect(page.locator("#said")).to_contain_text("Kept")
    expect(page.locator("#count")).to_have_text("as the file says")


def kept_is_what_bow_says(page, bench):
    """What stands on the page, kept, is what the command line makes of the file."""
    at_rest(page)
    shown = weight(page)
    keep(page)
    assert bow_weight(bench, bench.file) == shown, (bow_weight(bench, bench.file), shown)
    return shown


def differing(before, after):
    before, after = before.splitlines(), after.splitlines()
    assert len(before) == len(after)
    return [(was, now) for was, now in zip(before, after) if was != now]


def middle(place):
    # Clear of what stays at the screen's top.
    place.evaluate("place => place.scrollIntoView({ block: 'center' })")
    box = place.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def dragged(page, place, by, finger=False):
    """Takes hold in the middle of `place` and draws it by so many pixels, in a dozen moves."""
    x, y = middle(place)
    path = [(x + by[0] * k / 12, y + by[1] * k / 12) for k in range(13)]
    if not finger:
        page.mouse.move(x, y)
        page.mouse.down()
        for spot in path[1:]:
            page.mouse.move(*spot)
        page.mouse.up()
        return
    touch = page.context.new_cdp_session(page)
    for kind, spots in [("touchStart", path[:1]), *[("touchMove", [spot]) for spot in path[1:]], ("touchEnd", [])]:
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y} for x, y in spots]})
    touch.detach()


def tab_to(page, selector, most=500):
    """Goes there with the Tab key alone."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"{selector} is not reached with Tab")


def from_the_top(page):
    page.evaluate("document.activeElement.blur()")


def only_small_files():
    """For a child: a file that grows beyond a kilobyte is refused, as on a disk that is full."""
    import resource

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))


def as_nobody():
    """For a child: folders that belong to others may be read and not written, for the system's administrator as well."""
    if os.geteuid() == 0:
        os.setgid(65534)
        os.setuid(65534)


def play(*scenarios, flags=()):
    """Plays those that are asked for; every one has its say before the script fails."""
    failed = 0
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=GIVEN["chromium"], args=[*FLAGS, *flags])
        wanted = sys.argv[1:]
        for scenario in scenarios:
            if wanted and scenario.__name__ not in wanted:
                continue
            try:
                scenario(chromium)
                print(scenario.__name__, flush=True)
            except Exception as error:
                failed += 1
                # Where it stopped, and what was seen; not a whole page.
                lines = [f"{frame.name}, line {frame.lineno}: {frame.line}" for frame in traceback.extract_tb(error.__traceback__)
                         if "site-packages" not in frame.filename]
                ours = "\n".join(lines[1:])
                print(f"{scenario.__name__} did not hold\n{ours}\n{str(error)[:1200]}", file=sys.stderr)
            for context in chromium.contexts:
                context.close()
        chromium.close()
    sys.exit(1 if failed else 0)
