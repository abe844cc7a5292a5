"""Everyone can read and touch it: axe's rules, contrast 7:1 and targets of 48 px on every screen in both themes.

Sources: WCAG 2.2, success criteria 1.4.6 (contrast, AAA) and 2.5.5 (target size, AAA: 44 px; this project keeps 48).
"""

import json
import urllib.request

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import open_context
from webapp.forms import FORMS

SCREENS = ["supply", "figures", "passes", "build", "link", *(f"figures/{name}" for name in FORMS)]

# Text and its background, found by walking up to the first painted one. Colours as the browser computed them.
CONTRASTS = """() => {
  const channel = (c) => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
  const numbers = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const luminance = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const behind = (element) => {
    for (; element; element = element.parentElement) {
      const colour = numbers(getComputedStyle(element).backgroundColor);
      if (colour.length === 3 || colour[3] === 1) return colour;
    }
    return [255, 255, 255];
  };
  const poor = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || !element.checkVisibility() || element.closest("noscript, [disabled]")) continue;
    const style = getComputedStyle(element);
    const ink = numbers(element instanceof SVGElement ? style.fill : style.color);
    const [light, dark] = [luminance(ink), luminance(behind(element))].sort((a, b) => b - a);
    const ratio = (light + 0.05) / (dark + 0.05);
    if (ratio < 7) poor.push([element.tagName, element.className.toString(), walker.currentNode.textContent.trim().slice(0, 30), ratio.toFixed(2)]);
    if (parseFloat(style.fontSize) < (element instanceof SVGElement ? 16 : 18)) poor.push([element.tagName, "small", walker.currentNode.textContent.trim().slice(0, 30), style.fontSize]);
  }
  return poor;
}"""

# Everything that is touched. A radio or tick box counts with its label.
SMALL_TARGETS = """() => [...document.querySelectorAll("a, button, input, select, textarea, summary")].filter((element) => element.checkVisibility()).map((element) => {
  const touched = ["radio", "checkbox"].includes(element.type) ? element.closest("label") : element;
  const { width, height } = touched.getBoundingClientRect();
  return [element.tagName, element.getAttribute("aria-label") ?? element.textContent.slice(0, 30), width, height];
}).filter(([, , width, height]) => width < 47.5 || height < 47.5)"""


@pytest.fixture(scope="module", params=["light", "dark"])
def themed(request, chromium, shared_server):
    context = open_context(chromium, color_scheme=request.param)
    yield context.new_page()
    context.close()


def show(page, server, screen):
    page.goto("about:blank")
    page.goto(f"{server.url}/#/{screen}")
    page.wait_for_selector("html[data-started]")
    page.wait_for_selector("main h1")


def unfold(page):
    """Open what is folded, and lay out what the browser skips below the screen."""
    page.evaluate("""() => {
      for (const one of document.querySelectorAll("main details")) one.open = true;
      for (const one of document.querySelectorAll(".answer-body, .supply-body > *")) one.style.contentVisibility = "visible";
    }""")
    page.wait_for_timeout(50)


@pytest.mark.parametrize("screen", SCREENS)
def test_screen_can_be_read_and_touched(themed, shared_server, screen):
    show(themed, shared_server, screen)
    unfold(themed)
    found = Axe().run(themed).response["violations"]
    assert found == [], json.dumps([[one["id"], one["help"], [node["html"][:200] for node in one["nodes"]]] for one in found], indent=1)
    assert themed.evaluate(CONTRASTS) == []
    assert themed.evaluate(SMALL_TARGETS) == []


@pytest.mark.parametrize("width", [320, 640])
def test_nothing_scrolls_sideways(chromium, shared_server, width):
    context = open_context(chromium, viewport={"width": width, "height": 640})
    page = context.new_page()
    wide = []
    for system in ("us", "metric"):
        page.goto(shared_server.url)
        page.evaluate("(system) => localStorage.setItem('overbowl.units.system', JSON.stringify(system))", system)
        show(page, shared_server, SCREENS[-1])
        for screen in SCREENS:
            page.evaluate("(screen) => { document.querySelector('main h1').remove(); location.hash = `#/${screen}`; }", screen)
            page.wait_for_selector("main h1")
            unfold(page)
            if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
                wide.append(
                    (
                        screen,
                        system,
                        page.evaluate("""[...document.querySelectorAll("main *")]
                  .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 && !one.closest(".scroll, .chart-box"))
                  .map((one) => one.outerHTML.slice(0, 120)).slice(0, 3)"""),
                    )
                )
    context.close()
    assert wide == []


def test_every_form_is_on_a_screen(shared_server):
    with urllib.request.urlopen(f"{shared_server.url}/api/forms") as response:
        told = json.load(response)
    assert [form["name"] for form in told["forms"]] == list(FORMS)
