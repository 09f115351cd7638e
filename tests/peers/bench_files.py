"""The build file, as it changes, goes, or cannot be written: nothing is lost, and all is said. See `bench_common.py`."""

import re
import statistics
import subprocess
import time

from bench_common import (
    GIVEN, Bench, as_nobody, at_rest, bow_weight, differing, expect, field, keep, lever, only_small_files, opened, play, settled, typed,
    weight,
)


def edited_elsewhere(browser):
    """An edit from outside shows within a second on every page; what is tried stays."""
    with Bench() as bench:
        page, second = opened(browser, bench), opened(browser, bench)
        settled(page)
        settled(second)
        typed(page, "lamination[back].thickness", "0.16")
        expect(page.locator("#count")).to_contain_text("1 value")
        text, took = bench.file.read_text(), []
        for k in range(5):
            bench.file.write_text(text.replace('Meadow flatbow"', f'Meadow {k}"'))
            start = time.monotonic()
            expect(page.locator("#title")).to_have_text(f"Meadow {k}")
            took.append(time.monotonic() - start)
            expect(second.locator("#title")).to_have_text(f"Meadow {k}")
        print("seen after", " ".join(f"{1000 * each:.0f}" for each in took), "ms")
        assert statistics.median(took) <= 1.0, took
        expect(page.locator("#count")).to_contain_text("1 value")
        assert field(page, "lamination[back].thickness").input_value() == "0.16"
        assert not page.faults + second.faults


def faulty(browser):
    """What makes no bow is shown at its line; the last bow stays in grey, and comes back with the file."""
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        sound, shown = bench.file.read_text(), weight(page)
        bench.file.write_text(sound.replace('"38 lbf"', '"38 lbs of force"'))
        expect(page.locator("#file-faults")).to_contain_text("line 8")
        expect(page.locator("#file-faults code.line")).to_contain_text("38 lbs of force")
        assert page.evaluate("document.body.classList.contains('stale')")
        assert weight(page) == shown
        bench.file.write_text(sound)
        expect(page.locator("#file-faults .fault")).to_have_count(0)
        assert not page.evaluate("document.body.classList.contains('stale')")
        assert not page.faults, page.faults


def faulty_from_the_start(browser):
    with Bench(edit=lambda text: text.replace("thickness = 0.170", "thickness = none")) as bench:
        page = opened(browser, bench)
        expect(page.locator("#file-faults")).to_contain_text("as soon as they are mended")
        expect(page.locator("#file-faults code.line")).to_contain_text("none")
        bench.file.write_text(bench.file.read_text().replace("thickness = none", "thickness = 0.170"))
        settled(page)
        assert weight(page) == bow_weight(bench, bench.file)
        assert not page.faults, page.faults


def vanished(browser):
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        sound, shown = bench.file.read_text(), weight(page)
        bench.file.unlink()
        expect(page.locator("#file-faults")).to_contain_text("what is on the bench is the last that was read")
        # The page is alive, and a keep that cannot be is said and loses nothing.
        typed(page, "lamination[back].thickness", "0.16")
        expect(page.locator("#weight-text")).not_to_have_text(shown)
        page.click("#keep")
        page.click("#keep-write")
        expect(page.locator("#said")).to_contain_text("othing was written")
        assert not bench.file.exists()
        expect(page.locator("#count")).to_contain_text("1 value differs")
        bench.file.write_text(sound)
        expect(page.locator("#file-faults .fault")).to_have_count(0)
        keep(page)
        assert [now for _, now in differing(sound, bench.file.read_text())] == ["thickness = 0.16"]
        assert not page.faults, page.faults


def two_pages(browser):
    """Both keep: the one that comes later is asked, with both versions before it."""
    with Bench() as bench:
        page, second = opened(browser, bench), opened(browser, bench)
        settled(page)
        settled(second)
        typed(page, "lamination[back].thickness", "0.163")
        typed(second, "lamination[back].thickness", "0.181")
        at_rest(second)
        second.click("#keep")
        expect(second.locator("#keep-lines")).to_contain_text("0.170")
        keep(page)
        second.click("#keep-write")
        expect(second.locator("#keep-title")).to_have_text("The file was changed meanwhile")
        row = second.locator("#keep-lines tbody tr")
        expect(row).to_have_count(1)
        expect(row.locator(".was")).to_contain_text("0.163")
        expect(row.locator(".now")).to_contain_text("0.181")
        assert "thickness = 0.163" in bench.file.read_text()
        # Not now: nothing happens, and the try is still there.
        second.click("#keep-not")
        assert "thickness = 0.163" in bench.file.read_text()
        keep(second)
        assert "thickness = 0.181" in bench.file.read_text()
        expect(field(page, "lamination[back].thickness")).to_have_value("0.181")
        # A keep of the other page may be taken back here, too.
        page.click("#take-back")
        expect(page.locator("#said")).to_contain_text("Taken back")
        assert "thickness = 0.163" in bench.file.read_text()
        assert not page.faults + second.faults


def changed_at_the_last_moment(browser):
    """Written from outside while the dialog stands open: the lines that were shown are not what would be written over."""
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        typed(page, "lamination[back].thickness", "0.16")
        at_rest(page)
        page.click("#keep")
        expect(page.locator("#keep-write")).to_be_visible()
        later = bench.file.read_text().replace("thickness = 0.170", "thickness = 0.175") + "# one more word\n"
        bench.file.write_text(later)
        expect(field(page, "lamination[back].thickness").locator("xpath=ancestor::div[1]").locator(".was")).to_contain_text("0.175")
        page.click("#keep-write")
        expect(page.locator("#keep-title")).to_have_text("The file was changed meanwhile")
        assert bench.file.read_text() == later
        page.click("#keep-write")
        expect(page.locator("#said")).to_contain_text("Kept")
        assert bench.file.read_text() == later.replace("thickness = 0.175", "thickness = 0.16")
        # The same value written outside and tried here: there is nothing to write.
        typed(page, "lamination[core].thickness", "0.205")
        at_rest(page)
        page.click("#keep")
        expect(page.locator("#keep-write")).to_be_visible()
        now = bench.file.read_text().replace("thickness = 0.200", "thickness = 0.205")
        bench.file.write_text(now)
        page.click("#keep-write")
        expect(page.locator("#said")).to_contain_text("already")
        expect(page.locator("#count")).to_have_text("as the file says")
        assert bench.file.read_text() == now
        assert not page.faults, page.faults


def a_lamination_put_before(browser):
    """What was tried on a lamination stays on it when another is put before it, and is not carried to that one."""
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        typed(page, "lamination[core].thickness", "0.21")
        at_rest(page)
        veil = '[[lamination]]\nname = "veil"\nwood = "maple, sugar"\nthickness = 0.05\ntaper = 0.0\npieces = "halves"\nstage = 2\n\n'
        text = bench.file.read_text().replace("[[lamination]]", veil + "[[lamination]]", 1)
        bench.file.write_text(text)
        expect(page.locator('details[data-group="lamination[veil]"]')).to_be_attached()
        at_rest(page)
        assert field(page, "lamination[core].thickness").input_value() == "0.21"
        assert field(page, "lamination[veil].thickness").input_value() == "0.05"
        keep(page)
        assert bench.file.read_text() == text.replace("thickness = 0.200", "thickness = 0.21")
        # One that is called otherwise now has no tries, and that is said.
        typed(page, "lamination[veil].thickness", "0.06")
        at_rest(page)
        bench.file.write_text(bench.file.read_text().replace('"veil"', '"net"'))
        expect(page.locator("#said")).to_contain_text("no longer has")
        expect(page.locator("#count")).to_have_text("as the file says")
        assert not page.faults, page.faults


def refused_by_the_disk(bench, browser):
    page = opened(browser, bench)
    settled(page)
    before = bench.file.read_bytes()
    typed(page, "lamination[back].thickness", "0.16")
    at_rest(page)
    page.click("#keep")
    page.click("#keep-write")
    expect(page.locator("#said")).to_contain_text("Nothing was written: ")
    assert bench.file.read_bytes() == before
    assert [path.name for path in bench.folder.iterdir()] == ["meadow.toml"], "something is left of what was tried"
    expect(page.locator("#count")).to_contain_text("1 value differs")
    # Other questions are answered as before.
    lever(page, "lamination[core].thickness").locator(".step").last.click()
    expect(page.locator("#count")).to_contain_text("2 values differ")
    page.click('#places [data-place="book"]')
    page.click("#make")
    expect(page.locator("#said")).to_contain_text("othing was written")
    assert not page.faults, page.faults


def read_only_folder(browser):
    with Bench(before=as_nobody, prepared=lambda folder: folder.chmod(0o555)) as bench:
        refused_by_the_disk(bench, browser)


def full_disk(browser):
    with Bench(before=only_small_files) as bench:
        refused_by_the_disk(bench, browser)


def busy_port(browser):
    with Bench() as bench:
        port = re.search(r":(\d+)/", bench.address).group(1)
        words = [GIVEN["program"], "bench", "--no-open", "--port", port, str(bench.file)]
        ended = subprocess.run(words, cwd=bench.folder, capture_output=True, text=True, timeout=20)
        assert ended.returncode == 2, ended
        assert f"port {port} is taken" in ended.stderr and "help: leave --port out" in ended.stderr, ended.stderr
        assert ended.stdout == ""


def ended_and_begun_again(browser):
    """The program ends: the page says so and keeps what is tried."""
    with Bench() as bench:
        page = opened(browser, bench)
        settled(page)
        typed(page, "lamination[back].thickness", "0.16")
        at_rest(page)
        bench.child.kill()
        expect(page.locator("#link")).to_contain_text("The program was ended")
        assert field(page, "lamination[back].thickness").input_value() == "0.16"
        assert not page.faults, page.faults


def first_minute(browser):
    with Bench(None) as bench:
        page = opened(browser, bench)
        # A wish that is none is said at the question.
        page.fill("#begin-weight", "strong")
        page.keyboard.press("Enter")
        expect(page.locator("#begin-told")).to_contain_text("not a number")
        page.fill("#begin-weight", "40")
        page.keyboard.press("Enter")
        settled(page)
        (bench.folder / "taken.toml").write_text("# mine\n")
        page.fill("#file-name", "taken")
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("taken.toml")
        assert (bench.folder / "taken.toml").read_text() == "# mine\n"
        page.fill("#file-name", "first bow")
        page.keyboard.press("Enter")
        expect(page.locator("#file")).to_have_text("first-bow.toml")
        bench.run("check", "first-bow.toml")
        assert not page.faults, page.faults


def an_example_to_begin_with(browser):
    with Bench(None) as bench:
        page = opened(browser, bench)
        page.click('#begin button[data-example="heron"]')
        settled(page)
        expect(page.locator("#title")).to_have_text("Heron longbow")
        page.fill("#file-name", "../../heron mine.toml")
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("Kept as")
        [made] = bench.folder.glob("*.toml")
        assert weight(page) == bow_weight(bench, made)
        assert not page.faults, page.faults


play(
    edited_elsewhere,
    faulty,
    faulty_from_the_start,
    vanished,
    two_pages,
    changed_at_the_last_moment,
    a_lamination_put_before,
    read_only_folder,
    full_disk,
    busy_port,
    ended_and_begun_again,
    first_minute,
    an_example_to_begin_with,
)
