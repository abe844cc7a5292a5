"""Measure a logger's file opened on the slowed phone, and the first opening of a pass that keeps one: rows for `tests.bench`."""

import tempfile
from pathlib import Path

from tests.browser.test_passes import made_pass, put
from tests.invented_recordings import write_long

SIZES = {"5 MB": 5_000_000, "50 MB": 50_000_000}
MOST_MINUTES = 5

TASKS = """window.tasks = [];
new PerformanceObserver((list) => window.tasks.push(...list.getEntries().map((entry) => entry.duration))).observe({ type: "longtask", buffered: true });"""

# From the touch to the answer, and on until the pictures are drawn.
READ = """() => {
  window.tasks.length = 0;
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const until = async (selector) => { while (!document.querySelector(selector)) await frame(); };
  window.read = null;
  (async () => {
    const start = performance.now();
    [...document.querySelectorAll(".pick-columns button.next")].at(-1).click();
    await until(".recording-done .next");
    const took = performance.now() - start;
    await until(".recording-box svg");
    await new Promise((done) => setTimeout(done, 1500));
    window.read = { took, longest: Math.max(0, ...window.tasks) };
  })();
}"""


def recording_rows(slowed_page, context, url):
    """`slowed_page(context)` makes a page that is slowed and blank. The page is kept offline, and its server may be stopped."""
    page = context.new_page()
    page.goto(f"{url}/#/passes")
    page.wait_for_selector("html[data-started]")
    id, *_ = put(page, [made_pass(0)])
    page.close()
    rows = []
    for name, size in SIZES.items():
        rows.extend(read_rows(slowed_page(context), url, id, name, size))
    return [*rows, first_row(slowed_page(context), url, id)]


def read_rows(page, url, id, name, size):
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "invented.csv"
        write_long(file, size)
        page.add_init_script(TASKS)
        page.goto(f"{url}/#/passes/{id}/recording")
        page.wait_for_selector(".recording-screen")
        page.evaluate("localStorage.removeItem('overbowl.recording.columns')")
        page.wait_for_timeout(2000)
        page.evaluate("window.tasks.length = 0")
        page.set_input_files("input[type=file]", file)
        page.wait_for_timeout(3000)  # asking the slowed page would slow it further
        page.evaluate("document.querySelector('[data-at=fuel-tapped-carburettor]').click()")
        page.wait_for_timeout(1000)
        picking = page.evaluate("Math.max(0, ...window.tasks)")
        told, _ = read(page)
        # Looking at the memory stops the page for longer than its own work does: read once more.
        page.get_by_role("button", name="Change the columns").click()
        page.wait_for_timeout(1000)
        held = heap(page)
        _, most = read(page, watch=heap)
        if name == "5 MB":
            page.get_by_role("button", name="Fill the pass and keep the recording").click()
            page.get_by_text("Filled and kept").wait_for()
        page.close()
    return [
        (f"a recording of {name}: read and answered", f"{told['took'] / 1000:.1f} s", "progress shown"),
        (f"a recording of {name}: longest task, opened and picked", in_words(picking), "50 ms"),
        (f"a recording of {name}: longest task, read and drawn", in_words(told["longest"]), "50 ms"),
        (f"a recording of {name}: memory on top of the page's", f"{(most - held) / 1e6:.0f} MB", "bounded"),
    ]


def read(page, watch=lambda page: 0):
    """What the page says of the reading, and the most that was seen meanwhile."""
    page.evaluate(READ)
    most = 0
    for _ in range(MOST_MINUTES * 60):
        page.wait_for_timeout(1000)
        most = max(most, watch(page))
        told = page.evaluate("window.read")
        if told:
            return told, most
    raise TimeoutError("The recording was not read.")


def first_row(page, url, id):
    """From the list of passes, on a page that has shown none yet."""
    page.add_init_script(TASKS)
    page.goto(f"{url}/#/passes")
    page.wait_for_timeout(4000)
    page.evaluate("(id) => { window.tasks.length = 0; location.hash = `#/passes/${id}`; }", id)
    page.wait_for_timeout(5000)
    longest = page.evaluate("document.querySelector('.kept-recording svg') && Math.max(0, ...window.tasks)")
    page.close()
    return ("a pass with a recording, first opened: longest task", in_words(longest), "50 ms")


def heap(page):
    """Bytes held by the page's scripts, typed arrays included."""
    session = page.context.new_cdp_session(page)
    told = session.send("Runtime.getHeapUsage")
    session.detach()
    return told["usedSize"] + told.get("backingStorageSize", 0)


def in_words(longest):
    return f"{longest:.0f} ms" if longest else "under 50 ms"
