"""Text at twice its size on a phone: nothing is cut off and nothing scrolls sideways (WCAG 2.2, 1.4.4 and 1.4.10)."""

import pytest

from tests.browser.conftest import frames
from tests.browser.test_board import race_day_page

PLACES = [
    "supply",
    "figures",
    "figures/pump-check",
    "figures/spark-plan",
    "passes",
    "passes/made00005",
    "passes/made00005/jot",
    "build",
    "build/pump",
    "settings",
]
# Out of the window, or cut inside a box of its own; what scrolls by itself, and a picture, may be wider.
LOST = """() => [...document.querySelectorAll("body *")].filter((one) => {
  const box = one.getBoundingClientRect();
  if (!box.width || !box.height || one.closest(".scroll, .chart-box, svg, .spoken")) return false;
  const cut = getComputedStyle(one).overflowX !== "visible" && one.scrollWidth > one.clientWidth + 1 && !one.matches(".small, .jot-where");
  return box.right > innerWidth + 2 || cut;
}).map((one) => `${one.tagName}.${one.className} ${(one.value ?? one.innerText ?? "").slice(0, 30)}`)"""


@pytest.fixture(scope="module")
def page(chromium, shared_server):
    with race_day_page(chromium, shared_server) as page:
        yield page


@pytest.mark.parametrize("place", PLACES)
def test_nothing_is_lost_at_twice_the_size(page, shared_server, place):
    page.goto("about:blank")
    page.goto(f"{shared_server.url}/#/{place}")
    page.wait_for_selector("main h1")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    frames(page, 6)
    assert page.evaluate(LOST) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    tops = page.evaluate(
        "[...document.querySelectorAll('#bar a')].map((one) => one.getBoundingClientRect()).map(({ left, right, top, bottom }) => [left, right, top, bottom])"
    )
    assert all(a[1] <= b[0] + 1 or a[3] <= b[2] + 1 for a, b in zip(tops, tops[1:], strict=False)), "names do not lie over each other"
