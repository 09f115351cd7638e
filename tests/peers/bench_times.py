"""Speed of the bench in Chromium, printed: moves answered and painted, the first page, memory, and what an idle page costs.

Nothing is asserted. See `bench_common.py` for the input; `moves` and `questions` say how many of each.
"""

import http.client
import json
import os
import pathlib
import time

from playwright.sync_api import sync_playwright

from bench_common import FLAGS, GIVEN, Bench, opened, settled

# Draws a lever to and fro, a move after the other: from the hand's event until the weight that it gives is on the screen.
MOVES = """async ([key, moves]) => {
    const slider = document.querySelector(`.lever[data-key="${key}"] input[type=range]`);
    const file = Number(slider.value);
    const step = Number(slider.dataset.step);
    const weight = document.getElementById("weight-text");
    const painted = () => new Promise((done) => requestAnimationFrame(() => {
        const after = new MessageChannel();
        after.port1.onmessage = () => done(performance.now());
        after.port2.postMessage(0);
    }));
    const answered = [];
    new PerformanceObserver((list) => {
        for (const entry of list.getEntries()) if (entry.name.endsWith("/look")) answered.push(entry.responseEnd - entry.startTime);
    }).observe({ type: "resource" });
    const shown = [];
    for (let k = 1; k <= moves; k += 1) {
        const changed = new Promise((done) => new MutationObserver((_, seen) => { seen.disconnect(); done(); })
            .observe(weight, { childList: true, characterData: true, subtree: true }));
        await painted();
        const start = performance.now();
        slider.value = String(file + step * (20 - Math.abs((k % 80) - 40)));
        slider.dispatchEvent(new Event("input"));
        await changed;
        shown.push((await painted()) - start);
    }
    await new Promise((done) => setTimeout(done, 500));
    return [answered, shown];
}"""

# When the first weight was painted, in ms since the page was asked for.
FIRST = """window.first = null;
    new MutationObserver((_, seen) => {
        if (!document.getElementById("weight-text")?.textContent) return;
        seen.disconnect();
        requestAnimationFrame(() => requestAnimationFrame(() => (window.first = performance.now())));
    }).observe(document, { childList: true, characterData: true, subtree: true });
"""


def rested(page):
    """What a browser does for itself when it starts and opens an empty tab is over."""
    page.add_init_script(FIRST)
    page.wait_for_timeout(4000)


def hundredths(values):
    values = sorted(values)
    at = lambda share: values[min(len(values) - 1, int(share * len(values)))]
    return f"{at(0.50):6.1f} {at(0.95):6.1f} {values[-1]:6.1f} ms"


def memory_mb(pid):
    status = pathlib.Path(f"/proc/{pid}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def core_s(pid):
    ticks = pathlib.Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[11:13]
    return sum(map(int, ticks)) / os.sysconf("SC_CLK_TCK")


def asked(bench, key, base, unit, questions):
    """So many looks, one after the other, without a browser."""
    host, token = bench.address.removeprefix("http://").split("/#")
    link = http.client.HTTPConnection(host)
    given = {"Origin": f"http://{host}", "Taperwright-Token": token, "Content-Type": "application/json"}
    start = time.monotonic()
    for k in range(questions):
        value = f"{base * (1 + 2e-5 * (k % 7919 - 4000)):.6f} {unit}"
        link.request("POST", "/look", json.dumps({"changes": [{"key": key, "value": value}]}), given)
        answer = link.getresponse()
        answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{key} = {value}: {answer.status}")
    return (time.monotonic() - start) / questions


def figures(browser, example, key, base, unit):
    print(f"{example}: {GIVEN['moves']} moves of {key}")
    start = time.monotonic()
    with Bench(example) as bench:
        told = 1000 * (time.monotonic() - start)
        page = opened(browser, bench, prepared=rested)
        page.wait_for_selector("#weight-text:not(:empty)")
        while (shown := page.evaluate("window.first")) is None:
            page.wait_for_timeout(50)
        print(f"  first page: address after {told:.0f} ms, bow on the screen {shown:.0f} ms after it is asked for (together wanted 300)")
        settled(page)
        page.evaluate("sessionStorage.setItem('taperwright-open', JSON.stringify({}))")
        answered, shown = page.evaluate(MOVES, [key, GIVEN["moves"]])
        print("                  50     95    100 in 100")
        print(f"  answered    {hundredths(answered)}")
        print(f"  and painted {hundredths(shown)} (wanted 33 at 95, 100 at most)")
        page.wait_for_timeout(3000)
        requests, before = [], core_s(bench.child.pid)
        page.on("request", lambda request: requests.append(request.url))
        page.wait_for_timeout(10_000)
        share = (core_s(bench.child.pid) - before) / 10
        print(f"  an idle page: {len(requests)} requests in 10 s, {100 * share:.1f} % of a core (wanted 0, and less than 0.5)")
        page.context.close()
        first = memory_mb(bench.child.pid)
        each = asked(bench, key, base, unit, GIVEN["questions"])
        print(
            f"  memory: {first:.1f} MB, after {GIVEN['questions']} moves more {memory_mb(bench.child.pid):.1f} MB (wanted 40); "
            f"{1000 * each:.1f} ms a move without a browser"
        )


with sync_playwright() as playwright:
    chromium = playwright.chromium.launch(executable_path=GIVEN["chromium"], args=FLAGS)
    figures(chromium, "meadow", "lamination[back].thickness", 0.17, "in")
    figures(chromium, "heron", "lamination[core one].thickness", 4.2, "mm")
    chromium.close()
