"""Does in the shop, on a phone's page, what a builder does, and holds the log against what the command line writes and says.

The phone opens the page under a made-up name of this machine, so that it is no secure context, as over a shop's network; what it asks
for beyond this machine is caught. Everything on the phone is done by touch. See `bench_common.py`.
"""

import http.client
import json
import re
import sys

from axe_playwright_python.sync_playwright import Axe
from bench_common import expect, play
from bench_sound import themes
from phone_common import EXAMPLES, NAME, Shop, at_desk, code_of, on_phone, paired, place, sound, tap

KEYS = {"-": "minus", " ": "space before a fraction", "/": "fraction bar", ".": "point"}


def press(page, text):
    """The pad's keys, one by one."""
    for letter in text:
        tap(page, page.locator(".pad").get_by_role("button", name=KEYS.get(letter, letter), exact=True))


def put(page, field, text):
    """A figure in place of what stands there."""
    if field.input_value() == text:
        return
    tap(page, field)
    while field.input_value():
        tap(page, page.locator(".pad").get_by_role("button", name="delete the last figure"))
    press(page, text)


def onward(page):
    """The wide key, until the reading is sent."""
    for _ in range(60):
        last = page.locator(".pad-next").inner_text() == "send"
        tap(page, ".pad-next")
        if last:
            return
    raise AssertionError("the pad never comes to its end")


def choose(page, legend, words):
    chips = page.locator("#readings fieldset.chips").filter(has=page.locator("legend", has_text=re.compile(rf"^{re.escape(legend)}$")))
    if not chips.first.is_visible():
        tap(page, page.locator(".setup > summary"))
    if not chips.get_by_label(words, exact=True).is_checked():
        tap(page, chips.locator("label", has_text=re.compile(rf"^{re.escape(words)}$")))


def enter(page, kind, values):
    """A reading of any kind: its keys with figures, lists and rows, and words to choose."""
    place(page, "readings")
    tap(page, ".kind")
    tap(page, page.locator(".kinds button").filter(has=page.locator("strong", has_text=re.compile(f"^{kind}$"))))
    for key, value in values.items():
        if isinstance(key, tuple):
            choose(page, *key[1:])
            continue
        fields = page.locator(f'.figure-field[data-key="{key}"]')
        if isinstance(value, list):
            flat = [text for row in value for text in row] if isinstance(value[0], list) else value
            more = page.get_by_role("button", name="one more place" if isinstance(value[0], list) else "one more", exact=True)
            while fields.count() < len(flat):
                tap(page, more)
            while fields.count() > len(flat):
                tap(page, page.get_by_role("button", name="one less"))
            for k, text in enumerate(flat):
                put(page, fields.nth(k), text)
        else:
            if not fields.first.is_visible():
                tap(page, page.locator(".setup > summary"))
            put(page, fields.first, value)
    onward(page)


def typed(values):
    """The same for the command line."""
    keys = []
    for key, value in values.items():
        if isinstance(key, tuple):
            if key[0]:
                keys.append(f"{key[0]}={value}")
        elif isinstance(value, list):
            rows = [f"[{', '.join(row)}]" if isinstance(row, list) else row for row in value]
            keys.append(f"{key}={rows[0] if len(rows) == 1 and not isinstance(value[0], list) else '[' + ', '.join(rows) + ']'}")
        else:
            keys.append(f"{key}={value}")
    return keys


CORE = ("lamination", "lamination", "core")
EDGES = ("", "read at", "left and right")
# The main example's log, reading by reading, and the bow it led to. A choice has its key, what stands over it, and its words.
MEADOW = [
    ("sheet", {"thickness": ["0.235", "0.2365", "0.236"]}),
    ("shim", {("stock", "stock", "clear packing tape"): "clear packing tape", "thickness": ["0.0021", "0.0021", "0.002"]}),
    ("sled", {CORE: "core", "heights": [
        ["0.75", "1.238"], ["4", "1.239"], ["8", "1.2455"], ["12", "1.2515"], ["16", "1.259"], ["20", "1.266"],
        ["24", "1.2765"], ["28", "1.285"], ["32", "1.2905"], ["35", "1.2955"]]}),
    ("test strip", {CORE: "core", EDGES: None, "gauge": "0.24", "apart": "1.5",
                    "readings": [["2", "0.2437", "0.243"], ["10", "0.2439", "0.2431"], ["18", "0.2438", "0.2434"]]}),
    ("strip", {CORE: "core", "strip": "A", "after": "5", "apart": "1.5",
               "readings": [["3", "0.2386", "0.2383"], ["18", "0.2384", "0.2382"], ["33", "0.2385", "0.2383"]]}),
    ("strip", {CORE: "core", "strip": "A", "after": "12", "apart": "1.5",
               "readings": [["4", "0.2195", "0.2193"], ["18", "0.191", "0.1907"], ["33", "0.162", "0.1618"]]}),
    ("release", {("stage", "stage", "1"): "1", "tip": "1.78"}),
    ("blank", {("how", "how it was bent", "long string"): "long string", "string": "76", "draw": "20", "weight": "32",
               ("", "width by now", "place by place"): None,
               "width": [["0", "1.75"], ["9", "2.06"], ["37", "1.0"], ["37.75", "1.0"]]}),
    ("tiller", {"gaps": [["12", "7.25", "7.5"], ["20", "6 1/8", "6 3/8"], ["28", "3 7/8", "4"]]}),
    ("bow", {"weight": "38.5"}),
]


def quoted(values):
    """As a builder types fractions in a list at a terminal."""
    for value in values.values():
        if isinstance(value, list):
            for row in value:
                if isinstance(row, list):
                    row[:] = [f'"{text}"' if "/" in text else text for text in row]
    return values


def undated(text):
    return re.sub(r"\d{4}-\d{2}-\d{2}", "DAY", text)


def the_main_examples_log(browser):
    with Shop() as bench:
        desk, page = paired(browser, bench)
        shown = []
        for number, (kind, values) in enumerate(MEADOW):
            # The strip's name is proposed, or one touch.
            values = {key: value for key, value in values.items() if key != "strip"}
            before = page.taps
            enter(page, kind, values)
            page.wait_for_selector("#readings .answer, #readings .question")
            assert page.locator(".question").count() == 0, page.locator(".question").inner_text()
            assert bench.readings() == number + 1
            shown.append(page.locator("#readings .answer").text_content())
            print(f"{kind}: {page.taps - before} taps", file=sys.stderr)
        other = bench.folder / "typed.toml"
        for kind, values in MEADOW:
            bench.run("-q", "log", "add", bench.file.name, other.name, kind, *typed(quoted(values)))
        assert undated(bench.log.read_text()) == undated(other.read_text()), bench.log.read_text()
        told = [bench.answers(log)["answers"] for log in (bench.log, other)]
        assert undated(json.dumps(told[0])) == undated(json.dumps(told[1]))
        for text, answer in zip(shown, told[1], strict=True):
            for sentence in answer["says"]:
                assert sentence in text, (sentence, text)
        # The example's own log says the same: its figures are these.
        example = bench.answers(EXAMPLES / "logs/meadow.toml")["answers"]
        for mine, its in zip(told[0], example):
            assert [undated(say) for say in mine["says"]] == [undated(say) for say in its["says"]], mine["of"]
        assert bench.file.read_bytes() == (EXAMPLES / "meadow.toml").read_bytes()
        sound(desk, page)


def ten_taps(browser):
    """Where lamination, pass and places are proposed, a strip takes ten taps beside its digits."""
    with Shop(log=True) as bench:
        desk, page = paired(browser, bench)
        page.taps = 0
        digits = 0
        place(page, "readings")
        assert page.locator(".setup summary").inner_text() == "core, A, after pass 12, edges 1.5 in apart"
        assert "Places from the strip's butt end" in page.locator(".figures-table caption").inner_text()
        for text in ("0.223", "0.2228", "0.188", "0.1879", "0.1552", "0.155"):
            press(page, text)
            digits += len(text)
            tap(page, ".pad-next")
        page.wait_for_selector("#readings .answer")
        assert page.taps - digits <= 10, page.taps - digits
        # Restated passes at once.
        expect(page.locator("#readings")).to_contain_text("Next for core: pass 13")
        left = bench.answers()["left"]
        gap = next(of for of in left if of["lamination"] == "core")["passes"][0]["gap_mm"] / 25.4
        expect(page.locator("#readings")).to_contain_text(f"gap {gap:.3f} in")
        # The same places by their stations: the page says from where they count, and so does the log.
        tap(page, page.get_by_role("button", name="next reading"))
        choose(page, "places counted from", "bow's centre")
        expect(page.locator(".figures-table caption")).to_contain_text("Places from the bow's centre")
        figures = page.locator('.figure-field[data-key="readings"]')
        for k, text in enumerate(["1.25", "0.223", "0.2228", "19.25", "0.188", "0.1879", "36.25", "0.1552", "0.155"]):
            put(page, figures.nth(k), text)
        onward(page)
        page.wait_for_selector("#readings .answer")
        assert 'counted_from = "centre"' in bench.log.read_text()
        rows = [answer["rows"] for answer in bench.answers()["answers"][-2:]]
        assert [row["what"] for row in rows[0]] == [row["what"] for row in rows[1]]
        sound(desk, page)


def asked_and_answered(browser):
    """A slip is asked about in two large answers; either leads on, and nothing is logged before."""
    with Shop(log=True) as bench:
        desk, page = paired(browser, bench)
        count = bench.readings()
        place(page, "readings")
        # Read in millimetres.
        for text in ("5.66", "5.66", "4.78", "4.77", "3.94", "3.94"):
            press(page, text)
            tap(page, ".pad-next")
        question = page.locator(".question")
        expect(question).to_contain_text("Millimetres in a log in inches?")
        assert bench.readings() == count
        answers = page.locator(".question .two button")
        assert answers.count() == 2
        for k in range(2):
            box = answers.nth(k).bounding_box()
            assert box["height"] >= 78 and box["width"] >= 150, box
        # It waits through a reload.
        page.reload()
        expect(page.locator("#waiting button")).to_have_count(0)
        place(page, "readings")
        expect(answers.first).to_contain_text("yes, millimetres: 5.66 mm")
        tap(page, answers.first)
        page.wait_for_selector("#readings .answer")
        assert bench.readings() == count + 1
        assert '"5.66 mm"' in bench.log.read_text()
        # And typed again.
        tap(page, page.get_by_role("button", name="next reading"))
        put(page, page.locator('.figure-field[data-key="readings"]').nth(1), "2.228")
        put(page, page.locator('.figure-field[data-key="readings"]').nth(2), "0.2228")
        onward(page)
        expect(question).to_contain_text("decimal point")
        expect(answers.first).to_contain_text("the point slipped: 0.2228")
        tap(page, answers.nth(1))
        first = page.locator('.figure-field[data-key="readings"]').nth(1)
        assert first.input_value() == "2.228"
        assert bench.readings() == count + 1
        sound(desk, page)


def without_network(browser):
    """The network goes; what is typed is kept, survives a reload, and is written once, whatever got lost on the way."""
    with Shop(log=True) as bench:
        desk, page = paired(browser, bench)
        count = bench.readings()
        place(page, "readings")
        press(page, "0.22")
        page.reload()
        page.wait_for_selector(".pad")
        assert page.locator('.figure-field[data-key="readings"]').nth(1).input_value() == "0.22"
        page.context.set_offline(True)
        press(page, "3")
        tap(page, ".pad-next")
        for text in ("0.2228", "0.188", "0.1879", "0.1552", "0.155"):
            press(page, text)
            tap(page, ".pad-next")
        expect(page.locator("#readings")).to_contain_text("Kept on this phone")
        expect(page.locator("#waiting")).to_contain_text("1 reading waits")
        place(page, "passes")
        tap(page, page.get_by_role("button", name="next ›"))
        page.wait_for_timeout(300)
        tap(page, page.get_by_role("button", name="pass 13 is made"))
        expect(page.locator("#waiting")).to_contain_text("2 readings wait")
        assert bench.readings() == count
        # It comes back, but the first answer is lost after the program has written.
        lost = []

        def lose(route):
            if lost:
                return route.continue_()
            given, wanted = route.request, ("taperwright-token", "origin", "content-type", "taperwright-page")
            headers = {key: value for key, value in given.all_headers().items() if key in wanted}
            host = given.url.split("/")[2]
            asked = http.client.HTTPConnection("127.0.0.2", int(host.split(":")[1]))
            asked.request("POST", "/reading", given.post_data, {**headers, "Host": host})
            lost.append(asked.getresponse().status)
            return route.abort()

        page.route("**/reading", lose)
        page.context.set_offline(False)
        expect(page.locator("#log")).to_contain_text(f"{count + 2} readings")
        expect(page.locator("#waiting")).to_be_hidden()
        assert lost == [200]
        assert bench.readings() == count + 2, bench.log.read_text()[-900:]
        text = bench.log.read_text()
        assert text.rindex('of         = "done"') > text.rindex("0.2228")
        sound(desk, page)


def ticks(browser):
    """One line at a time; ticks are the log's, seen by every phone, and can be taken back; scrap comes first after new paper."""
    with Shop(log=True) as bench:
        desk, page = paired(browser, bench)
        second = on_phone(browser, code_of(desk))
        card = page.locator("#passes .card")
        expect(card).to_contain_text("New paper: P80")
        tap(page, page.get_by_role("button", name="next ›"))
        expect(card).to_contain_text("pass 13 of")
        expect(card).to_contain_text("No scrap is logged since the new paper")
        expect(card).to_contain_text("changes sides")
        sides = card.locator("li", has_text="on the left").inner_text()
        tap(page, page.get_by_role("button", name="‹ back"))
        tap(page, page.get_by_role("button", name="log scrap"))
        expect(page.locator(".setup summary")).to_contain_text("core")
        put(page, page.locator('.figure-field[data-key="gauge"]'), "0.2")
        for k, text in enumerate(["2", "0.1954", "0.1953", "8", "0.1955", "0.1953", "14", "0.1954", "0.1953"]):
            put(page, page.locator('.figure-field[data-key="readings"]').nth(k), text)
        onward(page)
        page.wait_for_selector("#readings .answer")
        expect(page.locator("#readings .answer")).to_contain_text("The cutter stands")
        tap(page, page.get_by_role("button", name="to the passes"))
        expect(card).to_contain_text("pass 13 of")
        expect(card).not_to_contain_text("No scrap")
        tap(page, page.get_by_role("button", name="pass 13 is made"))
        expect(card).to_contain_text("pass 14 of")
        assert card.locator("li", has_text="on the left").inner_text() != sides
        expect(page.locator("#log")).to_contain_text("11 readings")
        assert re.search(r'of         = "done"\nlamination = "core"\npass       = 13\n$', bench.log.read_text())
        # The other phone, and this one after a reload.
        expect(second.locator("#passes .card")).to_contain_text("pass 14 of")
        page.reload()
        expect(card).to_contain_text("pass 14 of")
        tap(page, page.get_by_role("button", name="‹ back"))
        expect(card).to_contain_text("✓ made")
        tap(page, card.get_by_role("button", name="✓ made"))
        expect(second.locator("#passes .card")).to_contain_text("pass 13 of")
        # At a terminal, the same.
        left = bench.answers()["left"]
        assert next(of for of in left if of["lamination"] == "core")["made"] == 12
        bench.run("-q", "log", "add", bench.file.name, bench.log.name, "done", "lamination=core", "pass=14")
        expect(card).to_contain_text("pass 15 of")
        sound(desk, page, second)


def bows_apart(browser):
    """The number of a bow, typed once, is proposed from then on; passes and ticks are that bow's."""
    with Shop(log=True) as bench:
        desk, page = paired(browser, bench)
        place(page, "readings")
        tap(page, page.locator("details.more > summary"))
        page.get_by_label("number on the bow").fill("12")
        figures = page.locator('.figure-field[data-key="readings"]')
        for k, text in enumerate(["4", "0.2195", "0.2193", "18", "0.191", "0.1907", "33", "0.162", "0.1618"]):
            put(page, figures.nth(k), text)
        onward(page)
        page.wait_for_selector("#readings .answer")
        expect(page.locator("#readings .answer")).to_contain_text("strip of bow 12: core A after pass 12")
        assert re.search(r"serial     = 12\n", bench.log.read_text())
        tap(page, page.get_by_role("button", name="next reading"))
        expect(page.locator(".setup summary")).to_contain_text("bow 12")
        place(page, "passes")
        expect(page.locator("#passes")).to_contain_text("Bow 12.")
        tap(page, page.get_by_role("button", name="next ›"))
        tap(page, page.get_by_role("button", name="pass 13 is made"))
        expect(page.locator("#log")).to_contain_text("11 readings")
        assert re.search(r'of         = "done"\nserial     = 12\nlamination = "core"\npass       = 13\n$', bench.log.read_text())
        made = {left.get("serial"): left["made"] for left in bench.answers()["left"] if left["lamination"] == "core"}
        assert made == {None: 12, "12": 13}, made
        sound(desk, page)


def glue_and_tiller(browser):
    with Shop(log=True) as bench:
        desk, page = paired(browser, bench)
        count = bench.readings()
        place(page, "glueing")
        stage = page.locator("#glueing .stage").first
        tap(page, stage.locator(".dry-run label").first)
        field = stage.get_by_label("open time, by the glue's data sheet")
        field.tap()
        field.press_sequentially("20")
        tap(page, stage.get_by_role("button", name="glue is mixed: start"))
        expect(stage.locator(".face")).to_have_text(re.compile(r"^19:5\d$"))
        page.reload()
        expect(stage.locator(".dry-run input").first).to_be_checked()
        expect(stage.locator(".face")).to_have_text(re.compile(r"^19:[45]\d$"))
        tap(page, stage.get_by_role("button", name="in clamps: start"))
        expect(stage.locator(".clock")).to_contain_text("of the clamp time are left")
        tap(page, stage.get_by_role("button", name="both tips off the form"))
        for key, text in (("upper", "1.77"), ("lower", "1.8")):
            put(page, page.locator(f'.figure-field[data-key="{key}"]'), text)
        onward(page)
        page.wait_for_selector("#readings .answer")
        assert "upper = 1.77\nlower = 1.8\n" in bench.log.read_text()
        says = bench.answers()["answers"][-1]["says"]
        place(page, "glueing")
        expect(page.locator("#glueing .stage").nth(1)).to_contain_text(says[0])
        # Targets, and what both limbs read beside them.
        place(page, "tillering")
        target = page.locator(".targets tbody tr").nth(2)
        station, upper = target.locator("th").inner_text(), target.locator("td").first.inner_text()
        tap(page, page.get_by_role("button", name="enter what both limbs read"))
        row = page.locator(".figures-table tbody tr").nth(2)
        assert row.locator("input").first.input_value() == station
        expect(row).to_contain_text(f"target {upper.removesuffix(' in')}")
        for k, (up, low) in enumerate([("7 1/4", "7 1/2"), ("6 3/4", "7"), ("6 1/8", "6 3/8"), ("5 1/8", "5 3/8"), ("3 7/8", "4")]):
            put(page, page.locator('.figure-field[data-key="gaps"]').nth(3 * k + 1), up)
            put(page, page.locator('.figure-field[data-key="gaps"]').nth(3 * k + 2), low)
        while page.locator(".pad-next").inner_text() != "send":
            tap(page, ".pad-next")
        tap(page, ".pad-next")
        page.wait_for_selector("#readings .answer")
        assert bench.readings() == count + 2
        place(page, "tillering")
        expect(page.locator("#tillering .answer")).to_contain_text("belly to string at brace")
        sound(desk, page)


def in_and_out(browser):
    """A code lets one phone in, once; a phone is refused what is the desk's; shut out, it gets nothing and loses nothing."""
    with Shop(log=True) as bench:
        desk = at_desk(browser, bench)
        address = code_of(desk)
        assert desk.locator("#phone-code svg").is_visible()
        expect(desk.locator("#phones-dialog")).to_contain_text("can read along")
        expect(desk.locator("#phones-dialog")).to_contain_text("time-out")
        page = on_phone(browser, address)
        page.wait_for_selector("#passes .card")
        expect(desk.locator("#phones-list")).to_contain_text("phone 1 at 127.0.0.1")
        expect(desk.locator("#phone-code code")).to_have_count(0)
        late = on_phone(browser, address)
        expect(late.locator("#pairing")).to_contain_text("works no more")
        tried = page.evaluate(
            """async () => {
                const token = localStorage.getItem("taperwright-token");
                const post = (path) => fetch(path, { method: "POST", headers: { "Taperwright-Token": token, "Content-Type": "application/json" }, body: "{}" });
                const seen = [];
                for (const path of ["/keep", "/make", "/aside", "/take-back", "/name", "/phone-code", "/shut-out", "/look"]) seen.push((await post(path)).status);
                for (const path of ["/state", "/file/0", "/phones"]) seen.push((await fetch(path, { headers: { "Taperwright-Token": token } })).status);
                return seen;
            }"""
        )
        assert all(status in (404, 405) for status in tried), tried
        assert bench.file.read_bytes() == (EXAMPLES / "meadow.toml").read_bytes()
        page.locator("#screen-seen").tap()
        place(page, "readings")
        press(page, "0.22")
        desk.get_by_role("button", name="shut phone 1 out").click()
        expect(desk.locator("#phones-list")).to_contain_text("No phone is in")
        expect(page.locator("#link")).to_contain_text("shut out")
        assert page.locator('.figure-field[data-key="readings"]').nth(1).input_value() == "0.22"
        # A new code, and it goes on where it was.
        page.goto(code_of(desk))
        page.wait_for_selector(".pad")
        assert page.locator('.figure-field[data-key="readings"]').nth(1).input_value() == "0.22"
        # The desk has the same places.
        desk.click("#phones-close")
        desk.click("text=At the sander")
        expect(desk.locator("#passes .card")).to_be_visible()
        desk.click("#to-desk")
        desk.wait_for_selector("#weight-text")
        sound(desk, page, late)


def millimetres(browser):
    """A file in millimetres: the pad has no fractions, and the unit key reads inches."""
    with Shop("heron") as bench:
        desk, page = paired(browser, bench)
        assert page.locator("#passes .gap .unit").inner_text() == "mm"
        enter(page, "sheet", {"thickness": ["6"]})
        page.wait_for_selector("#readings .answer, #readings .question")
        assert page.get_by_role("button", name="fraction bar").count() == 0
        text = bench.log.read_text()
        assert 'units = "mm"' in text and "thickness = 6\n" in text, text
        sound(desk, page)


def shims_listed(browser):
    """A sled on shims: place by place what the book lists."""

    def on_shims(text):
        return text.replace('make       = "ramp"', 'make       = "shims"\ndeck       = 0.25')

    with Shop(edit=on_shims) as bench:
        desk, page = paired(browser, bench)
        tap(page, page.locator("#passes summary").filter(has_text="the sled"))
        listed = page.locator("#passes table").filter(has=page.locator("caption", has_text="Shims under the carrier for"))
        lamination = re.search(r"for (.+)$", listed.locator("caption").inner_text()).group(1)
        shown = [[cell.strip() for cell in row.locator("th, td").all_inner_texts()] for row in listed.locator("tbody tr").all()]
        bench.run("make", bench.file.name, "--out", "out")
        book = desk.context.new_page()
        book.set_content((bench.folder / "out" / "build-book.html").read_text())
        tables = book.locator("table").filter(has=book.locator("caption", has_text="Shims under the carrier"))
        wanted = [
            [[cell.strip() for cell in row.locator("th, td").all_inner_texts()][:5] for row in table.locator("tbody tr").all()]
            for table in tables.all()
        ]
        assert len(shown) > 3 and shown in wanted, (lamination, shown, wanted)
        sound(desk, page)


def accessible(browser):
    with Shop(log=True) as bench:
        desk, page = paired(browser, bench)
        for theme in themes(desk):
            found = Axe().run(desk)
            assert found.violations_count == 0, f"phones at the desk, {theme}\n{found.generate_report()}"
        sights = [("passes", None), ("readings", None), ("readings", ".kind"), ("readings", ".setup > summary"), ("glueing", None), ("tillering", None)]
        for name, more in sights:
            place(page, name)
            if more:
                tap(page, page.locator(more).first)
            for theme in themes(page):
                found = Axe().run(page)
                assert found.violations_count == 0, f"{name} {more} {theme}\n{found.generate_report()}"
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{name} is wider than its screen"
            small = page.evaluate(
                "[...document.querySelectorAll('button, a.button, input, summary, .chips label')].filter(e => e.offsetParent && e.type !== 'checkbox' "
                "&& e.type !== 'radio' && e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML.slice(0, 200))"
            )
            assert not small, (name, small)
        sound(desk, page)
        page.context.close()
        desk.context.close()


play(
    the_main_examples_log,
    ten_taps,
    asked_and_answered,
    without_network,
    ticks,
    bows_apart,
    glue_and_tiller,
    in_and_out,
    millimetres,
    shims_listed,
    accessible,
    flags=[f"--host-resolver-rules=MAP {NAME} 127.0.0.2"],
)
