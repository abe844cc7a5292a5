"""A screen that was left leaves nothing behind: neither elements nor listeners, however often it is opened."""

import pytest

from tests.browser.test_board import race_day_page

VISITS = 10
SCREENS = ["figures/after-bad-pass/pass/made00005", "passes/made00005"]
# Each is left only when it is all there.
VISIT = """async ([place, count]) => {
  const rest = (time) => new Promise((done) => setTimeout(done, time));
  for (let n = 0; n < count; n += 1) {
    location.hash = `#/${place}`;
    await rest(120);
    location.hash = "#/figures";
    await rest(20);
  }
  await rest(500);
}"""


@pytest.fixture(scope="module")
def counted(chromium, shared_server):
    """A phone with a race day, and the way to count what its page holds."""
    with race_day_page(chromium, shared_server) as page:
        page.reload()
        page.wait_for_selector("main h1")
        session = page.context.new_cdp_session(page)
        session.send("Performance.enable")

        def count():
            for _ in range(2):
                session.send("HeapProfiler.collectGarbage")
            told = {metric["name"]: metric["value"] for metric in session.send("Performance.getMetrics")["metrics"]}
            return told["Nodes"], told["JSEventListeners"]

        yield page, count


@pytest.mark.parametrize("place", SCREENS)
def test_nothing_stays_behind(counted, place):
    page, count = counted
    page.evaluate(VISIT, [place, 3])
    nodes, listeners = count()
    page.evaluate(VISIT, [place, VISITS])
    more, others = count()
    assert more - nodes < VISITS and others - listeners < VISITS, "less than one a visit"
