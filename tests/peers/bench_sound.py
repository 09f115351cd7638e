"""What is wrong with how a page of the bench looks, by the accessibility checker and by measuring it. See `bench_common.py`."""

from axe_playwright_python.sync_playwright import Axe
from bench_common import drawn

WIDTHS = ((390, 844), (1280, 900), (2560, 1300))


def themes(page):
    """The machine's theme, light and then dark, on a page that is open: each once its colours have come to rest."""
    for theme in ("light", "dark"):
        page.emulate_media(color_scheme=theme)
        colours_at_rest(page)
        yield theme


def colours_at_rest(page):
    """What was just changed is drawn, and no colour is on its way to another: on a busy machine that takes longer than the style says."""
    drawn(page)
    # Not by their promises: those of buttons inside a group that is closed are never kept.
    for _ in range(200):
        if not page.evaluate("document.getAnimations().some((moving) => moving.playState === 'running')"):
            return
        page.wait_for_timeout(50)
    raise AssertionError("colours do not come to rest")


def sound_in_both_themes(page, what):
    for theme in themes(page):
        sound(page, f"{what} {theme}")


def sound(page, what):
    """Nothing for the checker to find, nothing wider than the screen, no letters over letters."""
    colours_at_rest(page)
    found = Axe().run(page)
    assert found.violations_count == 0, f"{what}\n{found.generate_report()[:1500]}"
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{what} is wider than its screen"
    # A picture's words stay inside it, and clear of one another.
    clipped = page.evaluate(
        """() => [...document.querySelectorAll('figure')].filter((figure) => figure.checkVisibility()).flatMap((figure) => {
            const frame = figure.getBoundingClientRect();
            const words = [...figure.querySelectorAll('svg text')].map((text) => [text.textContent, text.getBoundingClientRect()]);
            const out = words.filter(([, box]) => box.left < frame.left - 1 || box.right > frame.right + 1).map(([words]) => words);
            const over = words.flatMap(([a, one], k) => words.slice(k + 1).filter(([, two]) =>
                Math.min(one.right, two.right) - Math.max(one.left, two.left) > 2 &&
                Math.min(one.bottom, two.bottom) - Math.max(one.top, two.top) > 0.35 * one.height).map(([b]) => `${a} over ${b}`));
            return [...out, ...over];
        })"""
    )
    assert not clipped, f"{what}: {clipped}"
