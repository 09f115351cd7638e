"""Draws a photograph of a bow that the program solved, marks it on the page as a builder does, and holds what is said and logged against what
was hidden. `work` of the input holds both limbs. See `bench_common.py`.
"""

import json
import math
import pathlib
import re
import tempfile

import cv2
import numpy as np
from axe_playwright_python.sync_playwright import Axe
from bench_common import GIVEN, Bench, expect, play
from bench_sound import themes
from phone_common import Shop, paired, place, sound, tap, watched

WORK = GIVEN["work"]
IN = 25.4
ACROSS, UP = 54 * IN, 22 * IN
"""The rectangle of the marks, mm."""
CAMERA = 118 * IN
SIZE = (2600, 1300)
STEADY = np.random.default_rng(7)


class Camera:
    """A pinhole, tilted by some degrees: the bow lies lengthwise in its picture, its back up."""

    def __init__(self, tilt=(0.03, -0.04)):
        eye = np.array([90 + 40, 60, CAMERA])
        ahead = np.array([tilt[0], tilt[1], -1.0])
        self.ahead = ahead / np.linalg.norm(ahead)
        right = np.cross(self.ahead, [-1.0, 0, 0])
        self.right = right / np.linalg.norm(right)
        self.down = np.cross(self.ahead, self.right)
        self.eye = eye
        self.focal = 0.72 * SIZE[0] / (74 * IN) * CAMERA

    def sees(self, x, y, z):
        off = np.array([x, y, z]) - self.eye
        by = self.focal / (off @ self.ahead)
        return np.array([SIZE[0] / 2 + by * (off @ self.right), SIZE[1] / 2 + by * (off @ self.down)])


CAM = Camera()


def at(side, k, deep=0.0):
    """A place of a limb's edge nearest the camera: on the back, or so much of its depth toward the belly."""
    s, x, y, angle, depth, half = WORK["limbs"][side][k]
    x, y = x + deep * depth * math.cos(angle), y - deep * depth * math.sin(angle)
    return CAM.sees(x, y if side == 0 else -y, half)


def station(side, s):
    return min(range(len(WORK["limbs"][side])), key=lambda k: abs(WORK["limbs"][side][k][0] - s))


def picture(folder):
    image = np.full((SIZE[1], SIZE[0], 3), (206, 214, 220), np.uint8)
    fine = lambda points: [np.round(16 * np.array(points)).astype(np.int32)]
    last = len(WORK["limbs"][0]) - 1
    nocks = [CAM.sees(WORK["limbs"][side][last][1], (1 - 2 * side) * WORK["limbs"][side][last][2], 0) for side in (0, 1)]
    cv2.polylines(image, fine(nocks), False, (40, 40, 40), 2, cv2.LINE_AA, 4)
    for side in (0, 1):
        back = [at(side, k) for k in range(last + 1)]
        belly = [at(side, k, 1.0) for k in range(last, -1, -1)]
        cv2.fillPoly(image, fine(back + belly), (60, 96, 140), cv2.LINE_AA, 4)
    for x, y in marks():
        cv2.drawMarker(image, (round(x), round(y)), (30, 30, 160), cv2.MARKER_CROSS, 30, 3)
    image = cv2.GaussianBlur(image, (5, 5), 1.0)
    image = np.clip(image + STEADY.normal(0, 3, image.shape), 0, 255).astype(np.uint8)
    path = folder / "bow.png"
    cv2.imwrite(str(path), image)
    return path


def marks():
    """Going round; the first two lie across."""
    x0, x1, y = -120, UP - 120, ACROSS / 2
    return [CAM.sees(x0, -y, 0), CAM.sees(x0, y, 0), CAM.sees(x1, y, 0), CAM.sees(x1, -y, 0)]


def points(side, count=12):
    from_mm, to_mm = WORK["fade_mm"], WORK["limbs"][side][-1][0]
    step = (to_mm - from_mm) / count
    return [at(side, station(side, from_mm + step * (k + 0.5))) for k in range(count)]


def all_points():
    last = len(WORK["limbs"][0]) - 1
    return {"marks": marks(), "nocks": [at(0, last), at(1, last)], "grip": [at(0, 0)], "upper": points(0), "lower": points(1)}


class Marking:
    """The page's picture, moved and zoomed as a hand does it; it keeps in mind what lies where on the screen."""

    def __init__(self, page, touch=False):
        self.page, self.touch = page, touch
        self.box = page.locator(".picture-place").bounding_box()
        # The border is not the picture's.
        self.wide, self.high = page.locator(".picture-place").evaluate("e => [e.clientWidth, e.clientHeight]")
        self.scale = min(self.wide / SIZE[0], self.high / SIZE[1])
        self.x, self.y = SIZE[0] / 2, SIZE[1] / 2

    def now(self):
        # Above the rail of places, whatever was touched last.
        self.page.locator(".picture-place").evaluate("e => e.scrollIntoView({ block: 'center' })")
        self.box = self.page.locator(".picture-place").bounding_box()
        border = (self.box["width"] - self.wide) / 2
        return self.box["x"] + border + self.wide / 2, self.box["y"] + border + self.high / 2

    def nearer(self, times):
        for _ in range(times):
            self.page.get_by_role("button", name="nearer").click()
            self.scale *= 1.5

    def to(self, point):
        """Moves the picture until the point is in its middle: by hand, a part of the picture at a time."""
        for _ in range(40):
            dx, dy = (self.x - point[0]) * self.scale, (self.y - point[1]) * self.scale
            if math.hypot(dx, dy) < 12:
                return
            dx, dy = max(-0.4 * self.wide, min(0.4 * self.wide, dx)), max(-0.4 * self.high, min(0.4 * self.high, dy))
            # Hold it where no mark is near: a hand's breadth below the middle does.
            mx, my = self.now()
            start = (mx - dx / 2, my - dy / 2 + 40)
            mouse = self.page.mouse
            mouse.move(*start)
            mouse.down()
            mouse.move(start[0] + dx, start[1] + dy)
            mouse.up()
            self.x, self.y = self.x - dx / self.scale, self.y - dy / self.scale
            self.x, self.y = min(max(self.x, 0), SIZE[0]), min(max(self.y, 0), SIZE[1])
        raise AssertionError("the picture does not follow")

    def mark(self, point, miss=0.0):
        mx, my = self.now()
        x = mx + (point[0] - self.x) * self.scale + miss * STEADY.normal()
        y = my + (point[1] - self.y) * self.scale + miss * STEADY.normal()
        if self.touch:
            self.page.touchscreen.tap(x, y)
        else:
            self.page.mouse.click(x, y)


def choose(page, key):
    label = {"marks": "marks of known size", "nocks": "nocks", "grip": "grip", "upper": "upper limb", "lower": "lower limb"}[key]
    page.locator(".picture-lists label").filter(has_text=re.compile(f"^{label}: ")).click()


def to_tiller(page):
    page.click('a[href="/shop.html"]')
    page.wait_for_selector("#passes .chips")
    page.click("#rail [data-go=tillering]")
    page.click(".photograph > summary")


def sizes(page):
    for key, text in {"camera": f"{CAMERA / IN:.0f}", "across": f"{ACROSS / IN:.0f}", "up": f"{UP / IN:.0f}"}.items():
        page.locator(f'[data-size="{key}"]').fill(text)


def desk(browser, bench, width=1280):
    page = watched(browser.new_context(viewport={"width": width, "height": 950}))
    page.sent = []
    page.on("request", lambda request: page.sent.append(request.post_data or ""))
    page.goto(bench.address)
    page.wait_for_selector("#board")
    return page


def marked(page, folder):
    """Everything marked by pointer, zoomed in."""
    page.set_input_files(".picture-file", picture(folder))
    page.wait_for_selector(".picture-place")
    sizes(page)
    hand = Marking(page)
    # A narrow screen has to come nearer for the same mark.
    hand.nearer(3 if hand.wide > 600 else 5)
    for key, all_of in all_points().items():
        choose(page, key)
        for point in all_of:
            hand.to(point)
            hand.mark(point, miss=0.8)
        expect(page.locator(".picture-lists label").filter(has=page.locator("input:checked"))).to_contain_text(f": {len(all_of)}")


def told(page):
    page.get_by_role("button", name="what does it tell?").click()
    page.wait_for_selector(".picture-told, .picture-result .question, .picture-result .fault")
    assert page.locator(".picture-told").count() == 1, page.locator(".picture-result").inner_text()


def marked_and_logged(browser):
    with Bench() as bench:
        page = desk(browser, bench)
        to_tiller(page)
        marked(page, bench.folder)
        expect(page.locator(".picture-said")).to_have_text(re.compile("on the edge$"))
        told(page)
        # What was hidden is named: the limb, the sign, the place.
        named = page.locator(".picture-key li").first.inner_text()
        found = re.search(r"upper limb stiff, ([\d.]+) in to ([\d.]+) in", named)
        assert found, page.locator(".picture-told").inner_text()
        from_in, to_in = map(float, found.groups())
        assert from_in < 27 and 20 < to_in and to_in - from_in < 13, named
        assert "take up to" in page.locator(".picture-key").inner_text()
        says = page.locator(".picture-told .says").all_inner_texts()
        # Nothing of the picture went anywhere: points alone, and they fit a page.
        assert max(map(len, page.sent)) < 4000, max(map(len, page.sent))
        assert "bow.png" not in "".join(page.sent)
        assert page.evaluate("Object.values(localStorage).join('').length") < 4000
        page.get_by_role("button", name="log it").click()
        expect(page.locator("#tillering .answer").first).to_contain_text(says[0][:60])
        log = (bench.folder / "meadow-log.toml").read_text()
        assert 'of      = "tiller"' in log and "picture = [2600, 1300]" in log and "clicks  = " in log, log
        # A later fold reads it the same, and with its own uncertainty.
        answer = bench.json("-q", "log", bench.file.name, "meadow-log.toml")["answers"][-1]
        assert answer["says"][: len(says)] == says, (answer["says"], says)
        assert answer["found"]["stretches"][0]["limb"] == "upper" and answer["found"]["stretches"][0]["factor"] > 1.15, answer["found"]["stretches"]
        clicks = re.search(r"clicks  = ([\d.]+)", log).group(1)
        (bench.folder / "coarse.toml").write_text(log.replace(f"clicks  = {clicks}", "clicks  = 20"))
        coarse = bench.json("-q", "log", bench.file.name, "coarse.toml")["answers"][-1]
        wide = lambda of: of["found"]["bends"][0]["sigma_per_m"]
        assert wide(answer) * 1.5 < wide(coarse), (wide(answer), wide(coarse))
        assert sorted(path.name for path in bench.folder.iterdir()) == ["bow.png", "coarse.toml", "meadow-log.toml", "meadow.toml"]
        sound(page)


def marked_by_keys_and_asked(browser):
    """No pointer at all once the picture is chosen; a mark in a wrong place is asked about, shown, and mended by keys."""
    with Bench() as bench:
        page = desk(browser, bench)
        page.goto(bench.address.split("#")[0] + "shop.html")
        page.wait_for_selector("#passes .chips")
        page.locator("#rail [data-go=tillering]").press("Enter")
        page.locator(".photograph > summary").press("Enter")
        page.set_input_files(".picture-file", picture(bench.folder))
        page.wait_for_selector(".picture-place")
        sizes(page)
        field = page.locator(".picture-place")

        def steer(point):
            field.focus()
            for _ in range(400):
                field.press("Shift")
                text = page.locator(".picture-said").inner_text()
                x, y = map(int, re.search(r"(\d+), (\d+)", text).groups())
                dx, dy = point[0] - x, point[1] - y
                step = 1 / scale
                if abs(dx) < 1.2 * step and abs(dy) < 1.2 * step:
                    return
                key = ("ArrowRight" if dx > 0 else "ArrowLeft") if abs(dx) >= abs(dy) else ("ArrowDown" if dy > 0 else "ArrowUp")
                far = max(abs(dx), abs(dy))
                times = int(far / (10 * step))
                if times:
                    for _ in range(times):
                        field.press(f"Shift+{key}")
                else:
                    for _ in range(max(1, int(far / step))):
                        field.press(key)
            raise AssertionError(f"the cross-hair does not come to {point}")

        field.focus()
        scale = Marking(page).scale
        for _ in range(3):
            field.press("+")
            scale *= 1.5
        field.press("ArrowRight")
        chosen = all_points()
        chosen["upper"], chosen["lower"] = chosen["upper"][1::2], chosen["lower"][1::2]
        wrong = chosen["upper"][3] + [0, -60]
        for k, (key, all_of) in enumerate(chosen.items()):
            if k:
                radio = page.locator(".picture-lists input:checked")
                radio.focus()
                radio.press("ArrowDown")
            for n, point in enumerate(all_of):
                steer(wrong if key == "upper" and n == 3 else point)
                field.press("Enter")
            expect(page.locator(".picture-lists label").filter(has=page.locator("input:checked"))).to_contain_text(f": {len(all_of)}")
        page.get_by_role("button", name="what does it tell?").press("Enter")
        asked = page.locator(".picture-result .question")
        expect(asked).to_contain_text("point 4 of `upper` lies", ignore_case=True)
        # The mark is in hand already: taken away, and put where it belongs.
        expect(page.locator(".picture-lists label").filter(has=page.locator("input:checked"))).to_contain_text("upper limb")
        field = page.locator(".picture-place")
        scale = max(scale, 3 * Marking(page).scale)
        field.focus()
        field.press("Backspace")
        field.press("ArrowRight")
        steer(chosen["upper"][3])
        field.press("Enter")
        page.get_by_role("button", name="what does it tell?").press("Enter")
        page.wait_for_selector(".picture-told")
        assert "Radius to which the upper limb bends" in page.locator(".picture-told").inner_text() or page.locator(".picture-told details").count()
        sound(page)


def marked_by_touch(browser):
    with Shop() as bench:
        at_desk, page = paired(browser, bench)
        place(page, "tillering")
        tap(page, ".photograph > summary")
        page.set_input_files(".picture-file", picture(bench.folder))
        page.wait_for_selector(".picture-place")
        sizes(page)
        hand = Marking(page, touch=True)
        for point in marks():
            hand.mark(point)
        expect(page.locator(".picture-lists label").first).to_have_text("marks of known size: 4 of 4")
        tap(page, page.get_by_role("button", name="take the last mark away"))
        expect(page.locator(".picture-lists label").first).to_have_text("marks of known size: 3 of 4")
        expect(page.locator(".picture-left")).to_contain_text("four marks of known size")
        assert page.locator(".picture-ask").is_disabled()
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        sound(at_desk, page)


def photograph_accessible(browser):
    with Bench() as bench:
        for width in (1280, 390):
            page = desk(browser, bench, width=width)
            to_tiller(page)

            def clean(what):
                for theme in themes(page):
                    found = Axe().run(page)
                    assert found.violations_count == 0, f"{what}, {width}, {theme}\n{found.generate_report()}"
                assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{what} is wider than its screen"

            clean("no picture yet")
            marked(page, bench.folder)
            clean("marked")
            told(page)
            clean("told")
            if pathlib.Path(GIVEN.get("sights") or "/nowhere").is_dir():
                for theme in themes(page):
                    page.screenshot(path=f"{GIVEN['sights']}/{width}-{theme}.png", full_page=True)
            sound(page)
            page.context.close()


if __name__ == "__main__":
    play(marked_and_logged, marked_by_keys_and_asked, marked_by_touch, photograph_accessible, flags=["--host-resolver-rules=MAP phone.shop.test 127.0.0.2"])
