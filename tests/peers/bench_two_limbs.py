"""Two different limbs on the bench's page, held against `bow`, `size`, `glue` and `make` with `--lower`. See `bench_common.py`."""

import filecmp
import pathlib
import re
import statistics
import subprocess
import time

from bench_common import (
    GIVEN, LBF_N, WAIT, Bench, at_rest, differing, dragged, expect, field, from_the_top, go, lever, opened, play, settled, tab_to, typed, weight,
)
from bench_sound import WIDTHS, sound, sound_in_both_themes

LOWER = "lower.toml"
TWO_INCHES_SHORTER = [
    ('title = "Meadow flatbow"', 'title = "Meadow flatbow, lower limb"'),
    ("nock_to_nock    = 74", "nock_to_nock    = 70"),
    ("[20, 1.75], [37, 0.5]]", "[20, 1.75], [35, 0.5]]"),
    ("[26, 0.090], [37.75, 0.085]]", "[26, 0.090], [35.75, 0.085]]"),
    ("[23, -0.7], [37, -2.1]]", "[23, -0.7], [35, -1.9]]"),
    ("props = 2.5, at = 35", "props = 2.5, at = 33"),
    ("thickness = 0.170", "thickness = 0.150"),
]


def lower_text(changes=()):
    text = (pathlib.Path(GIVEN["examples"]) / "meadow.toml").read_text()
    for was, now in [*TWO_INCHES_SHORTER, *changes]:
        assert text.count(was) == 1, f"{was} stands there once"
        text = text.replace(was, now)
    return text


def two_limbs(changes=(), **more):
    """The bench on the main example, its lower limb two inches shorter and weaker."""
    return Bench(words=("--lower", LOWER), prepared=lambda folder: (folder / LOWER).write_text(lower_text(changes)), **more)


def texts(bench):
    return [bench.file.read_text(), (bench.folder / LOWER).read_text()]


def bow_of_two(bench, upper="meadow.toml", lower=LOWER):
    return bench.json("bow", upper, "--lower", lower)


def pounds(newtons):
    return f"{newtons / LBF_N:.1f} lbf"


def limb(page, name):
    page.click(f'#limb [data-limb="{name}"]')
    expect(page.locator(f'#limb [data-limb="{name}"]')).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#levers-list .whose").last).to_contain_text(f"The {name} limb")


def strains(page, name):
    rows = page.locator("#strains table").filter(has_text=f"How hard the wood works, {name} limb").locator("tbody tr")
    return [[cell.inner_text() for cell in row.locator("th, td").all()] for row in rows.all()]


def stands_as(page, said):
    """Every figure of the bow on the page is that of `bow --lower --json`, to the last digit shown."""
    assert weight(page) == pounds(said["draw_weight_n"]), (weight(page), said["draw_weight_n"])
    numbers = dict(row.locator("th, td").all_inner_texts() for row in page.locator("#figures-in-words tbody tr").all())
    assert float(numbers["stored energy"].split()[0]) == round(said["stored_energy_j"] / 1.3558179483314, 1), numbers
    for name in ("upper", "lower"):
        shown = strains(page, name)
        assert [row[0] for row in shown] == [row["part"] for row in said[name]["strains"]], (shown, name)
        for row, wanted in zip(shown, said[name]["strains"]):
            assert row[1].startswith(f"{100 * abs(wanted['strain']):.2f} %"), (row, wanted)
            if wanted["share_of_breaking"] is not None:
                assert row[2].startswith(f"{100 * wanted['share_of_breaking']:.0f} %"), (row, wanted)
    rows = page.locator("#gaps tbody tr").all()
    brace, full = said["draws"][0]["belly_to_string"], said["draws"][-1]["belly_to_string"]
    assert len(rows) == len(brace) == len(full)
    for row, braced, drawn in zip(rows, brace, full):
        cells = row.locator("th, td").all_inner_texts()
        wanted = [at[key] / 25.4 for at in (braced, drawn) for key in ("upper_mm", "lower_mm", "difference_mm")]
        # As published they are rounded to thousandths of a millimetre.
        assert all(abs(float(cell) - number) < 6e-4 for cell, number in zip(cells[1:], wanted)), (cells, wanted)
    toward = "upper" if said["draws"][-1]["pull_angle_rad"] >= 0 else "lower"
    expect(page.locator("#gaps p")).to_contain_text(f"{abs(said['draws'][-1]['pull_angle_rad']) * 57.29577951308232:.2f} degrees")
    expect(page.locator("#gaps p")).to_contain_text(f"toward the {toward} limb")
    # The side view draws both limbs in their own shapes: neither is the other's mirror.
    ends = page.evaluate(
        """() => {
            const place = document.querySelector('.figure.side');
            const left = Number(place.querySelector('.drawing svg').dataset.left);
            const reach = (path) => Math.max(...[...path.getAttribute('d').matchAll(/(-?[\\d.]+) (-?[\\d.]+)/g)].map((m) => Math.abs(m[1] - left)));
            return [...place.querySelectorAll('.hands .limb')].map(reach);
        }"""
    )
    assert 0.5 < abs(ends[0] - ends[1]), ends


def forces(page, said):
    """The bow drawn back by its nocking point: what is said at each draw is what `bow --lower` says."""
    handle = page.locator('.handle[aria-label^="nocking point"]')
    handle.focus()
    page.keyboard.press("Home")
    for draw in said["draws"]:
        words = page.locator(".drawn-to").inner_text()
        assert words.endswith(pounds(draw["force_n"])), (words, draw["force_n"])
        page.keyboard.press("ArrowUp")
    page.keyboard.press("End")


def as_bow_says(browser):
    """As the files have it, then with a lever of either limb and of both moved; kept, the command says the same."""
    with two_limbs() as bench:
        page = opened(browser, bench)
        settled(page)
        expect(page.locator("#file")).to_contain_text("lower limb lower.toml")
        at_rest(page)
        said = bow_of_two(bench)
        stands_as(page, said)
        forces(page, said)
        limb(page, "lower")
        expect(page.locator(".figure.strain figcaption")).to_contain_text("lower limb")
        # What nobody sees is drawn as it comes into sight.
        page.locator(".figure.stack").scroll_into_view_if_needed()
        expect(page.locator(".figure.stack figcaption")).to_contain_text("lower limb")
        assert weight(page) == pounds(said["draw_weight_n"])
        # The names at the ends of the bends tell which limb is which.
        page.locator(".figure.bend").scroll_into_view_if_needed()
        expect(page.locator(".figure.bend figcaption")).to_have_text("Where both limbs bend at full draw")
        assert set(page.locator(".figure.bend text").all_text_contents()) >= {"upper", "lower"}
        typed(page, "lower:lamination[back].thickness", "0.158")
        limb(page, "upper")
        typed(page, "lamination[core].thickness", "0.196")
        typed(page, "target.brace_height", "6.5")
        expect(page.locator("#count")).to_contain_text("3 values differ")
        at_rest(page)
        shown = weight(page)
        before = texts(bench)
        page.click("#keep")
        expect(page.locator("#keep-lines tbody tr")).to_have_count(4)
        page.click("#keep-write")
        expect(page.locator("#said")).to_contain_text("Kept in meadow.toml and lower.toml")
        after = texts(bench)
        changed = [[now for _, now in differing(*pair)] for pair in zip(before, after)]
        assert [[now.split("#")[0].split("=")[1].strip() for now in lines] for lines in changed] == [["6.5", "0.196"], ["6.5", "0.158"]], changed
        at_rest(page)
        assert weight(page) == shown
        stands_as(page, bow_of_two(bench))
        page.click("#take-back")
        expect(page.locator("#said")).to_contain_text("Taken back")
        assert texts(bench) == before
        assert not page.faults, page.faults


def weight_drawn(browser):
    """By keys and by pointer: both stacks move as `size --lower` moves them, balance included; a limb whose laminations are all held says so."""
    with two_limbs() as bench:
        wish = lambda text: text.replace('"38 lbf"', '"45 lbf"')
        (bench.folder / "wish.toml").write_text(wish(bench.file.read_text()))
        (bench.folder / "wish-lower.toml").write_text(wish((bench.folder / LOWER).read_text()))
        bench.run("size", "wish.toml", "--lower", "wish-lower.toml", "--write", "sized.toml", "--write-lower", "sized-lower.toml")
        thickness = lambda name: re.search(r"thickness = (\S+)", (bench.folder / name).read_text().split("[[lamination]]")[1]).group(1)
        page = opened(browser, bench)
        settled(page)
        expect(page.locator("#solve-words")).to_contain_text("upper back and lower back")
        rule = page.locator("#weight-rule")
        for by in ("keys", "pointer"):
            if by == "keys":
                rule.focus()
                for _ in range(7):
                    page.keyboard.press("ArrowUp")
            else:
                page.click("#reset")
                at_rest(page)
                least, most, now = (float(rule.get_attribute(f"aria-value{name}")) for name in ("min", "max", "now"))
                dragged(page, rule.locator(".wish"), ((45 - now) * (rule.bounding_box()["width"] - 28) / (most - least), 0))
            expect(rule).to_have_attribute("aria-valuenow", "45")
            at_rest(page)
            expect(field(page, "lamination[back].thickness")).to_have_value(thickness("sized.toml"))
            limb(page, "lower")
            expect(field(page, "lower:lamination[back].thickness")).to_have_value(thickness("sized-lower.toml"))
            limb(page, "upper")
            said = bow_of_two(bench, "sized.toml", "sized-lower.toml")
            expect(page.locator("#weight-text")).to_have_text(pounds(said["draw_weight_n"]))
            expect(page.locator("#told")).to_contain_text("lower back, thickness")
            expect(page.locator("#told")).to_contain_text("At brace the upper limb stands +0.")
        keep_both(page, "Kept in meadow.toml and lower.toml")
        assert [bench.file.read_text(), (bench.folder / LOWER).read_text()] == [
            (bench.folder / name).read_text() for name in ("sized.toml", "sized-lower.toml")
        ]
        page.get_by_label("hold upper back as it is").check()
        expect(page.locator("#solve")).to_be_disabled()
        expect(page.locator("#solve-words")).to_contain_text("every lamination of the upper limb is held")
        page.get_by_label("hold upper core as it is").uncheck()
        expect(page.locator("#solve-words")).to_contain_text("upper core and lower back")
        # The strain is not drawn, and it is said why.
        expect(page.locator(".figure.strain .under")).to_contain_text("With two different limbs the strain is not drawn")
        expect(page.locator('.handle[aria-label^="strain of the part"]')).to_be_hidden()
        expect(page.locator(".ease")).to_be_hidden()
        assert not page.faults, page.faults


def whole_or_not_at_all(browser):
    """One of both files moved on the disk: neither is written, both versions are shown; a disk that refuses one keeps the other as it was."""
    with two_limbs() as bench:
        page = opened(browser, bench)
        settled(page)
        typed(page, "lamination[back].thickness", "0.165")
        limb(page, "lower")
        typed(page, "lower:lamination[back].thickness", "0.155")
        at_rest(page)
        page.click("#keep")
        expect(page.locator("#keep-write")).to_be_visible()
        before = texts(bench)
        (bench.folder / LOWER).write_text(before[1].replace("thickness = 0.150", "thickness = 0.145") + "# one more word\n")
        moved = texts(bench)
        page.click("#keep-write")
        expect(page.locator("#keep-title")).to_have_text("A file was changed meanwhile")
        assert texts(bench) == moved
        rows = page.locator("#keep-lines tbody tr")
        expect(rows).to_have_count(2)
        expect(rows.filter(has_text=LOWER).locator(".was")).to_contain_text("0.145")
        expect(rows.filter(has_text=LOWER).locator(".now")).to_contain_text("0.155")
        page.click("#keep-write")
        expect(page.locator("#said")).to_contain_text("Kept in meadow.toml and lower.toml")
        assert texts(bench) == [moved[0].replace("thickness = 0.170", "thickness = 0.165"), moved[1].replace("0.145", "0.155")]
        # One limb's value alone goes into its own file alone.
        typed(page, "lower:lamination[back].thickness", "0.156")
        at_rest(page)
        stamp = bench.file.stat().st_mtime_ns
        keep_both(page, "Kept in lower.toml")
        assert bench.file.stat().st_mtime_ns == stamp
        for _ in range(2):
            page.click("#take-back")
            expect(page.locator("#said")).to_contain_text("Taken back")
            at_rest(page)
        assert texts(bench) == moved
        # The lower limb's file is gone: the upper's is not written either.
        typed(page, "lower:lamination[back].thickness", "0.157")
        limb(page, "upper")
        typed(page, "lamination[back].thickness", "0.166")
        at_rest(page)
        (bench.folder / LOWER).unlink()
        expect(page.locator("#file-faults")).to_contain_text("lower limb, lower.toml")
        page.click("#keep")
        page.click("#keep-write")
        expect(page.locator("#said")).to_contain_text("othing was written")
        assert bench.file.read_text() == moved[0]
        assert sorted(path.name for path in bench.folder.iterdir()) == ["meadow.toml"]
        expect(page.locator("#count")).to_contain_text("2 values differ")
        assert not page.faults, page.faults


def keep_both(page, said):
    page.click("#keep")
    page.click("#keep-write")
    expect(page.locator("#said")).to_contain_text(said)
    expect(page.locator("#count")).to_have_text("as the files say")


def edited_elsewhere(browser):
    """An edit of either file shows within a second; what is tried in both stays."""
    with two_limbs() as bench:
        page = opened(browser, bench)
        settled(page)
        typed(page, "lamination[back].thickness", "0.16")
        limb(page, "lower")
        typed(page, "lower:lamination[back].thickness", "0.16")
        at_rest(page)
        took, shown = [], weight(page)
        for k in range(3):
            for file, change, seen in (
                (bench.file, lambda text: re.sub(r'\ntitle = "[^"]*"', f'\ntitle = "Meadow {k}"', text, count=1), lambda: expect(page.locator("#title")).to_have_text(f"Meadow {k}")),
                (
                    bench.folder / LOWER,
                    lambda text: re.sub(r"\nthickness = 0\.2\d\d", f"\nthickness = 0.20{2 * k + 2}", text, count=1),
                    lambda: expect(field(page, "lower:lamination[core].thickness")).to_have_value(f"0.20{2 * k + 2}"),
                ),
            ):
                # One edit after the other, as a hand saves them.
                at_rest(page)
                file.write_text(change(file.read_text()))
                start = time.monotonic()
                seen()
                took.append(time.monotonic() - start)
        expect(page.locator("#weight-text")).not_to_have_text(shown)
        print("seen after", " ".join(f"{1000 * each:.0f}" for each in took), "ms")
        assert statistics.median(took) <= 1.0, took
        expect(page.locator("#count")).to_contain_text("2 values differ")
        assert not page.faults, page.faults


def faulty(browser):
    """Faults of the lower limb's file stand at its lines under its name, from the start and later; the page is alive and the last bow stays in grey."""
    with two_limbs([("thickness = 0.200", "thickness = none")]) as bench:
        page = opened(browser, bench)
        faults = page.locator("#file-faults")
        expect(faults).to_contain_text("lower limb, lower.toml, line")
        expect(faults).to_contain_text("as soon as they are mended")
        expect(faults.locator("code.line")).to_contain_text("none")
        sound_text = lower_text()
        (bench.folder / LOWER).write_text(sound_text)
        settled(page)
        at_rest(page)
        shown = weight(page)
        assert shown == pounds(bow_of_two(bench)["draw_weight_n"])
        (bench.folder / LOWER).write_text(sound_text.replace('"38 lbf"', '"38 stone"'))
        expect(faults).to_contain_text("lower limb, lower.toml, line 8")
        assert page.evaluate("document.body.classList.contains('stale')") and weight(page) == shown
        # Two bows: what must be one for both is told at its lever, and mended there.
        (bench.folder / LOWER).write_text(sound_text.replace("brace_height = 6.25", "brace_height = 7"))
        limb(page, "lower")
        told = lever(page, "lower:target.brace_height").locator(".notice.fault")
        expect(told).to_contain_text("one string serves both limbs")
        expect(told).to_contain_text("lower limb, lower.toml")
        typed(page, "lower:target.brace_height", "6.25")
        expect(page.locator("#levers-list .notice.fault")).to_have_count(0)
        at_rest(page)
        assert weight(page) == shown and not page.evaluate("document.body.classList.contains('stale')")
        (bench.folder / LOWER).write_text(sound_text.split("[target]")[0] + "[[lamination]]" + sound_text.split("[[lamination]]")[2])
        expect(faults).to_contain_text("lower limb, lower.toml")
        assert not page.faults, page.faults


def glue_and_book(browser):
    """Forms and props of both limbs as `glue --lower` has them; the folder is that of `make --lower`, byte for byte."""
    with two_limbs() as bench:
        page = opened(browser, bench)
        settled(page)
        before = bench.file.read_text()
        go(page, "glue")
        page.wait_for_selector(".stage")
        said = bench.json("glue", "meadow.toml", "--lower", LOWER)
        stages = [(limb, stage) for pair in zip(*(said[limb]["glue_up"]["stages"] for limb in ("upper", "lower"))) for limb, stage in zip(("upper", "lower"), pair)]
        heads = page.locator(".stage h3").all_inner_texts()
        assert [head.split(":")[0] for head in heads] == [f"Stage {stage['number']}, {limb} limb" for limb, stage in stages], heads
        for shown, (_, stage) in zip(page.locator(".stage").all(), stages):
            left = shown.locator("tbody tr").filter(has_text="tip left").locator("td").inner_text()
            expect(shown).to_contain_text(f"{stage['clamps']} for this limb")
            inches = lambda words: sum(float(part.split("/")[0]) / float(part.split("/")[1]) if "/" in part else float(part) for part in words.split() if part[0].isdigit())
            assert abs(inches(left.split("in")[0].replace("-", " ")) - abs(stage["tip_left_mm"]) / 25.4) < 0.07, (left, stage["tip_left_mm"])
        expect(page.locator("#ways caption").last).to_contain_text("the lower limb's tip")
        limb(page, "lower")
        lever(page, "lower:glue.stage[0].held.props").locator(".step").last.click()
        expect(page.locator("#count")).to_contain_text("1 value differs")
        at_rest(page)
        tip = page.locator('.handle[aria-label^="lower limb, stage 1: tip left"]')
        was, upper = tip.get_attribute("aria-valuetext"), page.locator('.handle[aria-label^="upper limb, stage 1"]').get_attribute("aria-valuetext")
        tip.focus()
        page.keyboard.press("ArrowUp")
        expect(tip).not_to_have_attribute("aria-valuetext", was)
        assert page.locator('.handle[aria-label^="upper limb, stage 1"]').get_attribute("aria-valuetext") == upper
        at_rest(page)
        keep_both(page, "Kept in lower.toml")
        assert "want" in (bench.folder / LOWER).read_text().split("[[glue.stage]]")[1] and bench.file.read_text() == before
        go(page, "book")
        page.click("#make")
        expect(page.locator("#progress-words")).to_contain_text("files made", timeout=2 * WAIT)
        bench.run("make", "meadow.toml", "--lower", LOWER, "--out", "wanted")
        files = lambda folder: {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()}
        ours, wanted = files(bench.folder / "output" / "meadow"), files(bench.folder / "wanted")
        assert sorted(ours) == sorted(wanted) and 30 < len(ours)
        assert all(filecmp.cmp(ours[name], wanted[name], shallow=False) for name in ours)
        expect(page.locator("#files h3").filter(has_text="shared").first).to_be_visible()
        page.locator("#files section").filter(has=page.locator("h3", has_text=re.compile("^lower$"))).locator(".file", has_text="stack.csv").click()
        expect(page.locator("#reader h3")).to_have_text("lower/stack.csv")
        assert not page.faults, page.faults


def not_to_be_made(browser):
    """What keeps both from being glued or made is said there, and the bow stands all the same."""
    with two_limbs([("depth   = 1.4", "depth   = 1.5"), ("kerf = 0.008", "kerf = 0.010")]) as bench:
        page = opened(browser, bench)
        settled(page)
        # Where they differ, each file keeps its own lever.
        limb(page, "lower")
        expect(field(page, "lower:riser.depth")).to_have_value("1.5")
        assert page.locator('.lever[data-key="riser.depth"]').count() == 0
        go(page, "glue")
        expect(page.locator("#glue-warnings")).to_contain_text("one block carries both limbs")
        go(page, "book")
        page.click("#make")
        expect(page.locator("#said")).to_contain_text("Nothing was made")
        expect(page.locator("#said")).to_contain_text("one block carries both limbs")
        assert not (bench.folder / "output").exists()
        assert not page.faults, page.faults


def a_series_is_not_stepped_through(browser):
    named = lambda text: text.replace("\n[sizing]", '\n[series]\nbows = ["34 lbf", "46 lbf"]\n\n[sizing]', 1)
    with two_limbs(edit=named) as bench:
        page = opened(browser, bench)
        settled(page)
        expect(page.locator("#series button")).to_have_count(0)
        expect(page.locator("#series-not")).to_contain_text("limbs are alike")
        assert not page.faults, page.faults


def tries_set_aside(browser):
    with two_limbs() as bench:
        page = opened(browser, bench)
        settled(page)
        typed(page, "lamination[back].thickness", "0.16")
        limb(page, "lower")
        typed(page, "lower:lamination[back].thickness", "0.14")
        at_rest(page)
        shown = weight(page)
        page.fill("#aside-name", "both thinner")
        page.click("#aside-form button")
        row = page.locator("#aside-list tr").filter(has=page.get_by_role("rowheader", name="both thinner", exact=True))
        expect(row).to_contain_text(shown)
        expect(row).to_contain_text("upper back, thickness at the butt: 0.16 (file 0.170)")
        expect(row).to_contain_text("lower back, thickness at the butt: 0.14 (file 0.150)")
        page.reload()
        settled(page)
        expect(page.locator("#count")).to_have_text("as the files say")
        # The limb that was shown is shown again.
        expect(page.locator('#limb [data-limb="lower"]')).to_have_attribute("aria-pressed", "true")
        page.click('#aside-list button[aria-label="take up both thinner"]')
        expect(page.locator("#weight-text")).to_have_text(shown)
        expect(field(page, "lower:lamination[back].thickness")).to_have_value("0.14")
        expect(page.locator('#limb [data-limb="upper"]')).to_contain_text("1 tried")
        assert not page.faults, page.faults


def by_keyboard_alone(browser):
    with two_limbs() as bench:
        page = opened(browser, bench)
        settled(page)
        before = texts(bench)
        tab_to(page, '#limb [data-limb="lower"]')
        page.keyboard.press("Enter")
        expect(page.locator('#limb [data-limb="lower"]')).to_be_focused()
        from_the_top(page)
        tab_to(page, '.lever[data-key="lower:lamination[back].thickness"] input[type="range"]')
        page.keyboard.press("ArrowUp")
        from_the_top(page)
        tab_to(page, '.handle[aria-label^="width point 2"]')
        page.keyboard.press("ArrowUp")
        expect(page.locator("#count")).to_contain_text("2 values differ")
        at_rest(page)
        from_the_top(page)
        tab_to(page, "#keep")
        page.keyboard.press("Enter")
        expect(page.locator("#keep-write")).to_be_visible()
        tab_to(page, "#keep-write", 20)
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("Kept in lower.toml")
        after = texts(bench)
        assert before[0] == after[0] and len(differing(before[1], after[1])) == 2
        tab_to(page, "#take-back")
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("Taken back")
        assert texts(bench) == before
        assert not page.faults, page.faults


def shop_says_whose(browser):
    """At the sander the passes are the upper limb's, and it is said; tiller and glue-up are of both. A reading is what `log add --lower` writes."""
    with two_limbs() as bench:
        page = opened(browser, bench, 390, 844, touch=True)
        settled(page)
        page.goto(page.url + "shop.html")
        expect(page.locator("#whose")).to_contain_text("the upper limb's, meadow.toml")
        expect(page.locator("#whose")).to_contain_text("taperwright bench lower.toml")
        sound(page, "passes of two limbs")
        page.click('#rail [data-go="tillering"]')
        rows = page.locator("#tillering table.targets tbody tr")
        assert any(len(set(row.locator("td").all_inner_texts())) == 2 for row in rows.all()), "both limbs have the same targets"
        sound(page, "tiller of two limbs")
        page.click('#rail [data-go="glueing"]')
        expect(page.locator("#glueing-inside")).to_contain_text("lower, tip left")
        sound(page, "glue-up of two limbs")
        assert not page.faults, page.faults


def accessible(browser):
    with two_limbs() as bench:
        for width, height in WIDTHS:
            page = opened(browser, bench, width, height, touch=width == 390)
            settled(page)
            for name in ("upper", "lower"):
                limb(page, name)
                at_rest(page)
                sound_in_both_themes(page, f"bow, {name} limb {width}")
            go(page, "glue")
            page.wait_for_selector(".stage")
            sound_in_both_themes(page, f"glue {width}")
            go(page, "book")
            sound_in_both_themes(page, f"book {width}")
            assert not page.faults, page.faults
            page.context.close()


def the_same_file_twice(_):
    with Bench() as bench:
        for words, why in (([bench.file, "--lower", bench.file], "the upper limb's file"), (["--lower", bench.file], "<FILE>"), ([bench.file, "--lower", "none.toml"], "none.toml")):
            ended = subprocess.run([GIVEN["program"], "bench", "--no-open", *map(str, words)], cwd=bench.folder, capture_output=True, text=True, timeout=20)
            assert ended.returncode == 2 and why in ended.stderr and ended.stdout == "", ended


play(
    as_bow_says,
    weight_drawn,
    whole_or_not_at_all,
    edited_elsewhere,
    faulty,
    glue_and_book,
    not_to_be_made,
    a_series_is_not_stepped_through,
    tries_set_aside,
    by_keyboard_alone,
    shop_says_whose,
    accessible,
    the_same_file_twice,
)
