"""Measure the budgets and print them beside what was measured: python -m tests.bench

Nothing here fails: budgets are looked at, not asserted. The phone is stood in for by headless Chromium with the
processor slowed fourfold.
"""

import statistics
import tempfile
import time
from pathlib import Path

from tests.bench_log import log_rows
from tests.browser.conftest import ARGUMENTS, PHONE, Server, find_chromium, ready_offline
from webapp import assets
from webapp.forms import FORMS

SLOWED = 4
KEYS = 12
WIDTH = 62

# Typing into a field: from the key's event to the frame that shows the new answer, and the longest task meanwhile.
TYPE = """async ([selector, texts]) => {
  const input = document.querySelector(selector);
  const tasks = [];
  const observer = new PerformanceObserver((list) => tasks.push(...list.getEntries().map((entry) => entry.duration)));
  observer.observe({ entryTypes: ["longtask"] });
  const times = [];
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  for (const text of texts) {
    await frame();
    const start = performance.now();
    input.value = text;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    await frame();
    await new Promise((done) => { const channel = new MessageChannel(); channel.port1.onmessage = done; channel.port2.postMessage(0); });
    times.push(performance.now() - start);
    await new Promise((done) => setTimeout(done, 120));
  }
  await new Promise((done) => setTimeout(done, 100));
  observer.disconnect();
  return { times, longest: Math.max(0, ...tasks) };
}"""

SHOWN = ".answer-head:not([hidden]) .lead-number, .answer-head:not([hidden]) .state:not([hidden])"


def main():
    print(f"{'what':{WIDTH}}  {'measured':>24}  budget")
    show(fetched_rows())
    show(server_rows())
    if find_chromium():
        show(phone_rows())
    else:
        print("No Chromium: the phone's rows are left out.")
    show(log_rows())


def show(rows):
    for what, measured, budget in rows:
        print(f"{what:{WIDTH}}  {measured:>24}  {budget}", flush=True)


def fetched_rows():
    files = assets.all_assets()
    sizes = {path: min(len(asset.packed), len(asset.body)) for path, asset in files.items()}
    first = sum(size for path, size in sizes.items() if path != "/pack")
    return [
        ("bytes the page loads, gzipped", f"{first / 1000:.1f} kB", "120 kB"),
        ("bytes the worker fetches once more to keep it all", f"{sizes['/pack'] / 1000:.1f} kB", ""),
        ("  of these calc.js", f"{len(files['/calc.js'].packed) / 1000:.1f} kB", ""),
        ("  of these the forms", f"{len(files['/api/forms'].packed) / 1000:.1f} kB", ""),
    ]


def server_rows():
    with tempfile.TemporaryDirectory() as folder:
        started = time.perf_counter()
        server = Server(Path(folder) / "log.json").start()
        took = time.perf_counter() - started
        status = Path(f"/proc/{server.process.pid}/status")
        memory = next(int(line.split()[1]) / 1000 for line in status.read_text().splitlines() if line.startswith("VmRSS")) if status.exists() else None
        server.stop()
    return [
        ("server start to first answer", f"{took:.2f} s", "1.0 s"),
        ("server memory", f"{memory:.0f} MB" if memory else "not measured", "80 MB"),
    ]


def phone_rows():
    from playwright.sync_api import sync_playwright
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        server = Server(Path(folder) / "log.json").start()
        context = playwright.chromium.launch_persistent_context(
            str(Path(folder) / "profile"), executable_path=find_chromium(), args=ARGUMENTS, viewport=PHONE)
        page = context.new_page()
        ready_offline(page, server.url)
        server.stop()
        try:
            return [open_row(context, server.url), *key_rows(context, server.url)]
        finally:
            context.close()


def slowed_page(context):
    page = context.new_page()
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    return page


def open_row(context, url):
    """From the navigation's start to the frame after the answer is there, on a fresh page with no server."""
    times = []
    for _ in range(5):
        page = slowed_page(context)
        page.goto(f"{url}/#/figures/fuel-pressure", wait_until="commit")
        page.wait_for_selector(SHOWN)
        times.append(page.evaluate("performance.getEntriesByName('answer shown')[0]?.startTime ?? performance.now()"))
        page.close()
    return ("cold offline open to a shown answer, 4x slower", f"{statistics.median(times):.0f} ms", "500 ms")


def key_rows(context, url):
    rows, longest = [], 0.0
    for name in FORMS:
        if name == "supply-check":
            continue
        page = slowed_page(context)
        page.goto(f"{url}/#/figures/{name}")
        page.wait_for_selector(".inputs .field", state="attached")
        field = page.evaluate("[...document.querySelectorAll('.inputs .row input')].find((one) => one.checkVisibility())?.id")
        if not field:
            page.close()
            continue
        start = page.evaluate("(id) => document.getElementById(id).value", field)
        texts = [start, f"{start}0"[:-1] or "1"] * (KEYS // 2)
        told = page.evaluate(TYPE, [f"[id='{field}']", texts])
        longest = max(longest, told["longest"])
        rows.append((statistics.median(told["times"]), max(told["times"]), name))
        page.close()
    middle, worst, name = max(rows)
    return [
        (f"key press to new answer, slowest figure ({name})", f"{middle:.1f} ms (worst {worst:.1f})", "32 ms"),
        ("longest task while typing", f"{longest:.0f} ms" if longest else "under 50 ms", "50 ms"),
    ]




if __name__ == "__main__":
    main()
