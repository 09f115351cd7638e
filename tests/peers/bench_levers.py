"""Levers, and figures that pull: by pointer and by finger, held against the command line. See `bench_common.py`."""

import pathlib
import re
import subprocess

from bench_common import (
    GIVEN, LBF_N, Bench, at_rest, bow_weight, differing, dragged, expect, field, go, keep, kept_is_what_bow_says, lever, opened, play, settled,
    typed, weight,
)


def thickness_keep_take_back(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        assert "#" not in page.url, page.url
        before = bench.file.read_text()
        other = bench.folder / "other.toml"
        other.write_text(before.replace("thickness = 0.170", "thickness = 0.163"))
        wanted = bow_weight(bench, other)
        typed(page, "lamination[back].thickness", ".163")
        expect(page.locator("#weight-text")).to_have_text(wanted)
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
        typed(page, "outline.tip_beyond_nock", "5/8")
        expect(page.locator("#count")).to_contain_text("1 value differs")
        page.reload()
        settled(page)
        assert not page.faults, page.faults


def millimetres(browser):
    """The other example, in its own units."""
    with Bench("heron") as bench:
        page = opened(browser, bench)
        settled(page)
        assert weight(page) == bow_weight(bench, bench.file)
        before = bench.file.read_text()
        typed(page, "lamination[core one].thickness", "4.36")
        expect(page.locator("#weight-text")).not_to_have_text(bow_weight(bench, bench.file))
        lever(page, "outline.nock_to_nock").locator(".step").last.click()
        lever(page, "lamination[belly].taper.stations[2][1]").locator(".step").first.click()
        kept_is_what_bow_says(page, bench)
        assert [now for _, now in differing(before, bench.file.read_text())] == [
            "nock_to_nock    = 1782",
            "thickness = 4.36",
            'taper     = { stations = [[0, 4.4], [210, 4.3], [480, 3.88], [720, 3.2], [908, 2.8]], between = "smooth" }',
        ]
        assert not page.faults, page.faults


def sized_for_50(bench):
    wish = bench.folder / "wish.toml"
    wish.write_text(bench.file.read_text().replace('"38 lbf"', '"50 lbf"'))
    bench.run("size", str(wish), "--write", "sized.toml")
    return bench.folder / "sized.toml"


def weight_of_50_is_what_size_gives(page, bench):
    sized = sized_for_50(bench)
    wanted = re.search(r"thickness = (\S+)", sized.read_text().split("[[lamination]]")[1]).group(1)
    expect(field(page, "lamination[back].thickness")).to_have_value(wanted)
    expect(page.locator("#weight-text")).to_have_text(bow_weight(bench, sized))
    expect(page.locator("#told")).to_contain_text("thickness")
    assert not page.faults, page.faults


def weight_drawn_by_keys(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        page.locator("#weight-rule").focus()
        page.keyboard.press("Shift+ArrowUp")
        page.keyboard.press("ArrowUp")
        page.keyboard.press("ArrowUp")
        weight_of_50_is_what_size_gives(page, bench)


def draw_the_weight(page, pounds, finger=False):
    rule = page.locator("#weight-rule")
    least, most, now = (float(rule.get_attribute(f"aria-value{name}")) for name in ("min", "max", "now"))
    # The rule's ends stand in from its edges by as much as the mark is wide.
    length = rule.bounding_box()["width"] - 28
    dragged(page, rule.locator(".wish"), ((pounds - now) * length / (most - least), 0), finger)
    expect(rule).to_have_attribute("aria-valuenow", str(pounds))


def weight_drawn_by_pointer(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        place = page.locator("#curves").bounding_box()
        draw_the_weight(page, 50)
        weight_of_50_is_what_size_gives(page, bench)
        # What is said of it moves nothing under the hand.
        assert page.locator("#curves").bounding_box()["y"] == place["y"], (place, page.locator("#curves").bounding_box())


def weight_drawn_by_finger(browser):
    with Bench() as bench:
        page = opened(browser, bench, 390, 844, touch=True)
        settled(page)
        draw_the_weight(page, 50, finger=True)
        weight_of_50_is_what_size_gives(page, bench)


def bow_drawn_by_hand(browser):
    """The nocking point drawn back by pointer and by finger: what is said at each draw is what `bow` says."""
    with Bench() as bench:
        draws = {f"{d['draw_length_mm'] / 25.4:.2f}": d["force_n"] / LBF_N for d in bench.json("bow", str(bench.file))["draws"]}
        for finger, width in ((False, 1280), (True, 390)):
            page = opened(browser, bench, width, 844, touch=finger)
            settled(page)
            said = page.locator(".drawn-to")
            seen = [said.inner_text()]
            for _ in range(3):
                dragged(page, page.locator('.handle[aria-label^="nocking point"] .dot'), (0, width / 60), finger)
                expect(said).not_to_have_text(seen[-1])
                seen.append(said.inner_text())
            for words in seen:
                draw, force = re.fullmatch(r"drawn to ([\d.]+) in: ([\d.]+) lbf", words).groups()
                assert f"{draws[f'{float(draw):.2f}']:.1f}" == force, words
            assert seen[0].startswith("drawn to 28"), seen
            pounds = [float(words.split()[-2]) for words in seen]
            assert pounds == sorted(pounds, reverse=True), seen
            assert not page.faults, page.faults


def outline_drawn_by_hand(browser):
    with Bench() as bench:
        for finger, width, by in ((False, 1280, -10), (True, 390, 12)):
            page = opened(browser, bench, width, 844, touch=finger)
            settled(page)
            before, shown = bench.file.read_text(), weight(page)
            dragged(page, page.locator('.handle[aria-label^="width point 3"] .dot'), (0, by), finger)
            expect(page.locator("#weight-text")).not_to_have_text(shown)
            assert (float(kept_is_what_bow_says(page, bench).split()[0]) > float(shown.split()[0])) == (by < 0)
            [(was, now)] = differing(before, bench.file.read_text())
            # The point itself and no other.
            points = [re.findall(r"\[([\d., ]+)\]", line) for line in (was, now)]
            assert [k for k in range(5) if points[0][k] != points[1][k]] == [2], now
            assert not page.faults, page.faults


def strain_drawn_down(browser):
    """By its curve with pointer and finger, and by the slider: the length or the widths follow, the weight stays the one wanted."""
    for finger, width, follows, key in ((False, 1280, "longer", "outline.nock_to_nock"), (True, 390, "wider", "outline.width[1][1]")):
        with Bench() as bench:
            page = opened(browser, bench, width, 844, touch=finger)
            settled(page)
            hand = page.locator('.handle[aria-label^="strain of the part"]')
            before = int(hand.get_attribute("aria-valuenow"))
            page.locator(f'.ease input[value="{follows}"]').check()
            chart = page.locator(".figure.strain .sheet").bounding_box()
            dragged(page, hand.locator(".dot"), (0, 0.04 * chart["height"]), finger)
            expect(page.locator("#told")).to_contain_text("times")
            at_rest(page)
            now = int(hand.get_attribute("aria-valuenow"))
            assert 70 <= now < before, (before, now)
            assert float(field(page, key).input_value()) > (74 if follows == "longer" else 1.125)
            keep(page)
            hardest = max(row["share_of_breaking"] for row in bench.json("bow", str(bench.file))["strains"])
            # What is written is rounded to what a shop can set.
            assert abs(100 * hardest - now) <= 1.0, (hardest, now)
            # A thousandth of an inch of one lamination is worth 0.28 lbf here, a sixteenth in the outline about as much.
            weighs = bench.json("bow", str(bench.file))["draw_weight_n"] / LBF_N
            assert abs(weighs - 41) < 0.6, weighs
            assert not page.faults, page.faults


def strain_slider(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        slider = page.locator('.ease input[type="range"]')
        before = int(slider.input_value())
        slider.focus()
        for _ in range(4):
            page.keyboard.press("ArrowDown")
        expect(page.locator("#told")).to_contain_text("All length times")
        at_rest(page)
        assert int(slider.input_value()) == before - 4
        assert float(field(page, "outline.nock_to_nock").input_value()) > 74
        # Further than any length goes: it says where it stops, and the bow stays one.
        slider.focus()
        for _ in range(6):
            page.keyboard.press("PageDown")
        expect(page.locator("#told")).to_contain_text("No length within reason")
        at_rest(page)
        # It stays where it got to.
        assert int(slider.input_value()) == before - 4
        assert not page.faults, page.faults


def released_tip_drawn(browser):
    """The tip of the glue-up drawn up and down: what holds it follows, as `glue` says of the kept file."""
    for finger, width in ((False, 1280), (True, 390)):
        with Bench() as bench:
            page = opened(browser, bench, width, 844, touch=finger)
            settled(page)
            go(page, "glue")
            tip = page.locator('.handle[aria-label^="stage 1: tip left"]')
            before = tip.get_attribute("aria-valuetext")
            dragged(page, tip.locator(".dot"), (0, -14), finger)
            expect(tip).not_to_have_attribute("aria-valuetext", before)
            at_rest(page)
            now = float(tip.get_attribute("aria-valuetext").split()[0])
            assert now > float(before.split()[0])
            expect(page.locator(".stage").first).to_contain_text("props brought there")
            keep(page)
            left = bench.json("bow", str(bench.file))["glue_stages"][0]["tip_left_mm"] / 25.4
            assert abs(left - now) < 0.02, (left, now)
            assert "want" in bench.file.read_text().split("[[glue.stage]]")[1]
            assert not page.faults, page.faults


def another_wood(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        shown = weight(page)
        lever(page, "lamination[back].wood").locator("select").select_option("ash, white")
        expect(page.locator("#weight-text")).not_to_have_text(shown)
        kept_is_what_bow_says(page, bench)
        assert 'wood      = "ash, white"' in bench.file.read_text()
        assert not page.faults, page.faults
    # The riser's slices, the nocks and the share that a crowned back fills are levers like others.
    with Bench("heron") as bench:
        page = opened(browser, bench)
        settled(page)
        before = bench.file.read_text()
        lever(page, "riser.across[1][0]").locator("select").select_option("walnut, black")
        lever(page, "riser.across[1][1]").locator(".step").last.click()
        lever(page, "outline.nock.depth").locator(".step").last.click()
        typed(page, "outline.nock.angle", "45")
        lever(page, "lamination[bamboo back].width_share").locator(".step").first.click()
        kept_is_what_bow_says(page, bench)
        assert [now.strip() for _, now in differing(before, bench.file.read_text())] == [
            'nock            = { depth = 3.0, angle = "45 deg" }',
            'across  = [["ash, white", 13], ["walnut, black", 3.5], ["ash, white", 20]]',
            "width_share = 0.91                    # crowned",
        ]
        assert not page.faults, page.faults


def told_at_its_lever(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        # A belly that breaks is told at the belly, not somewhere.
        typed(page, "target.draw_length", "32")
        told = page.locator('details[data-group="lamination[belly]"] .told .notice')
        expect(told.first).to_contain_text("breaking strain")
        expect(page.locator('details[data-group="lamination[belly]"] .count')).to_contain_text("to read")
        assert page.locator("#apart", has_text="breaking strain").count() == 0
        # What makes no bow is told at its lever; the last bow stays in grey, and its weight with it.
        at_rest(page)
        shown = weight(page)
        typed(page, "lamination[core].thickness", "-0.1")
        fault = lever(page, "lamination[core].thickness").locator(".notice.fault")
        expect(fault).to_be_visible()
        assert weight(page) == shown and page.evaluate("document.body.classList.contains('stale')")
        typed(page, "lamination[core].thickness", "a hand's breadth")
        expect(fault).to_contain_text("hand")
        lever(page, "lamination[core].thickness").locator(".was").click()
        expect(fault).to_have_count(0)
        assert not page.evaluate("document.body.classList.contains('stale')")
        assert not page.faults, page.faults


def held_and_solved(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        typed(page, "lamination[core].thickness", "0.22")
        at_rest(page)
        lever(page, "lamination[back].thickness")
        page.get_by_label("hold back as it is").check()
        lever(page, "lamination[core].thickness")
        expect(page.locator("#solve")).to_be_disabled()
        page.get_by_label("hold core as it is").uncheck()
        page.click("#solve")
        expect(page.locator("#told")).to_contain_text("core")
        assert page.locator("#told", has_text="back").count() == 0
        kept_is_what_bow_says(page, bench)
        assert "thickness = 0.170" in bench.file.read_text()
        assert abs(bench.json("bow", str(bench.file))["draw_weight_n"] / LBF_N - 41) < 0.3
        assert not page.faults, page.faults


def stepped_through_a_series(browser):
    """Each weight on the page is the bow that `series` writes; the file stays."""
    with Bench() as bench:
        text = bench.file.read_text()
        bench.file.write_text(text.replace("\n[sizing]", '\n[series]\nbows = ["34 lbf", ["42 lbf", 3], "46 lbf"]\n\n[sizing]', 1))
        before = bench.file.read_text()
        bench.run("series", str(bench.file), "--write", "bows")
        page = opened(browser, bench)
        settled(page)
        row = page.locator("#series button")
        expect(row).to_have_text(["34 lbf", "42 lbf, 3 bows", "46 lbf"])
        for number, weight_of in [(0, "34-lbf"), (2, "46-lbf"), (1, "42-lbf")]:
            row.nth(number).focus()
            page.keyboard.press("Enter")
            expect(page.locator("#weight-text")).to_have_text(bow_weight(bench, bench.folder / "bows" / f"meadow-{weight_of}.toml"))
            expect(row.nth(number)).to_have_attribute("aria-pressed", "true")
            expect(row.nth(number)).to_be_focused()
        page.click("#reset")
        settled(page)
        expect(page.locator("#series [aria-pressed=true]")).to_have_count(0)
        assert bench.file.read_text() == before
        assert not page.faults, page.faults


def speeds(page):
    """The table of arrows once it belongs to what is tried: cells by row."""
    rows = page.locator("#shot:not(.waits) .speeds tbody tr")
    expect(rows).to_have_count(7)
    return [row.locator("th, td").all_inner_texts() for row in rows.all()]


def speeds_are_what_shot_says(browser):
    """Speed, band, efficiency and the string's peak as `shot` prints them for the file so edited, and the gain on the file; no speed, and why."""
    number = lambda millimetres: f"{millimetres / 304.8:.0f}"
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        before = bench.json("shot", str(bench.file))["arrows"]
        assert [row[2] for row in speeds(page)] == [number(arrow["speed_mm_s"]) for arrow in before]
        other = bench.folder / "other.toml"
        other.write_text(bench.file.read_text().replace("thickness = 0.200", "thickness = 0.188"))
        typed(page, "lamination[core].thickness", ".188")
        page.wait_for_selector("#shot:not(.waits) .speeds thead th:nth-child(8)")
        said = bench.json("shot", str(other))
        text = bench.run("shot", str(other))
        for row, now, was in zip(speeds(page), said["arrows"], before):
            assert row[2] == number(now["speed_mm_s"]) and row[3] == " to ".join(map(number, now["speed_band_mm_s"])), row
            assert row[4] == f"{100 * now['efficiency']:.1f} %" and row[6] == f"{now['peak_tension_n'] / LBF_N:.0f}", row
            assert row[7] == f"{(now['speed_mm_s'] - was['speed_mm_s']) / 304.8:+.1f} ft/s", row
            # The very words of the command's own row.
            assert re.search(r"\s+".join(map(re.escape, row[:7])), text), (row, text)
        parts = page.locator("#shot .lighter tbody tr").all()
        assert [row.locator("td").inner_text() for row in parts] == [f"{part['gains_mm_s'] / 304.8:+.1f} ft/s" for part in said["lighter"]]
        expect(page.locator("#shot")).to_contain_text("never let a bow go without an arrow")
        # Kept, the file says it, and there is nothing to gain on it.
        keep(page)
        page.wait_for_selector("#shot:not(.waits) .speeds thead:not(:has(th:nth-child(8)))")
        assert [row[2] for row in speeds(page)] == [number(arrow["speed_mm_s"]) for arrow in said["arrows"]]
        assert not page.faults, page.faults
    recurve = (pathlib.Path(GIVEN["examples"]) / "more" / "curlew.toml").read_text()
    with Bench(edit=lambda _: recurve) as bench:
        page = opened(browser, bench)
        settled(page)
        words = page.locator("#shot .none").inner_text()
        refused = subprocess.run([GIVEN["program"], "shot", str(bench.file)], capture_output=True, text=True)
        assert refused.returncode == 1 and words[1:].rstrip(".") in refused.stderr, (words, refused.stderr)
        assert not page.faults, page.faults


play(
    speeds_are_what_shot_says,
    thickness_keep_take_back,
    millimetres,
    weight_drawn_by_keys,
    weight_drawn_by_pointer,
    weight_drawn_by_finger,
    bow_drawn_by_hand,
    outline_drawn_by_hand,
    strain_drawn_down,
    strain_slider,
    released_tip_drawn,
    another_wood,
    told_at_its_lever,
    held_and_solved,
    stepped_through_a_series,
)
