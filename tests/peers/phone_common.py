"""A phone in the shop: the program listening for phones as well, pages on them, and what a thumb does there. See `bench_common.py`."""

import pathlib
import re
import shutil

from bench_common import GIVEN, WAIT, Bench, expect

NAME = "phone.shop.test"
EXAMPLES = pathlib.Path(GIVEN["examples"])
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


class Shop(Bench):
    """The program on a copy of an example, listening for phones as well."""

    def __init__(self, example="meadow", log=False, edit=lambda text: text):
        def prepared(folder):
            if log:
                shutil.copy(EXAMPLES / "logs" / f"{example}.toml", folder / f"{example}-log.toml")

        super().__init__(example, words=("--shop", "127.0.0.2", "--shop-name", NAME), prepared=prepared, edit=edit)
        self.log = self.folder / f"{example}-log.toml"
        self.shop = re.search(r"http://[^\s,]+", self.child.stdout.readline()).group(0)
        assert "read along" in self.child.stdout.readline()

    def answers(self, log=None):
        return self.json("-q", "log", self.file.name, str(log or self.log))

    def readings(self):
        return self.log.read_text().count("[[reading]]") if self.log.exists() else 0


def watched(context):
    """A page whose faults and far requests are kept."""
    page = context.new_page()
    page.set_default_timeout(WAIT)
    page.faults, page.far = [], []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda said: page.faults.append(said.text) if "Content Security Policy" in said.text else None)
    near = re.compile(rf"^(http://(127\.0\.0\.1|{re.escape(NAME)}):\d+/|data:|blob:)")
    page.on("request", lambda request: None if near.match(request.url) else page.far.append(request.url))
    return page


def at_desk(browser, bench):
    page = watched(browser.new_context(viewport={"width": 1280, "height": 900}))
    page.goto(bench.address)
    return page


def code_of(desk):
    if not desk.locator("#phones-dialog").evaluate("dialog => dialog.open"):
        desk.click("#phones-open")
    desk.click("#phone-show")
    return desk.locator("#phone-code code").inner_text()


def on_phone(browser, address):
    page = watched(browser.new_context(**PHONE))
    page.taps = 0
    page.goto(address)
    return page


def paired(browser, bench):
    desk = at_desk(browser, bench)
    page = on_phone(browser, code_of(desk))
    page.wait_for_selector("#passes .chips")
    assert page.evaluate("window.isSecureContext") is False
    assert page.evaluate("crypto.randomUUID === undefined && navigator.serviceWorker === undefined && navigator.wakeLock === undefined")
    assert "#" not in page.url, page.url
    page.locator("#screen-seen").tap()
    return desk, page


def sound(*pages):
    for page in pages:
        assert not page.faults, page.faults
        assert not page.far, page.far


def tap(page, what):
    (page.locator(what) if isinstance(what, str) else what).tap()
    page.taps += 1


def place(page, name):
    tap(page, f"#rail [data-go={name}]")


