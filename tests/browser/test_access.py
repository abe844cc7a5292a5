"""Everyone can read and touch it: axe's rules, contrast 7:1 and targets of 48 px on every screen in both themes.

Sources: WCAG 2.2, success criteria 1.4.6 (contrast, AAA) and 2.5.5 (target size, AAA: 44 px; this project keeps 48).
"""

import json
import urllib.request

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import PHONE, open_context
from webapp.forms import FORMS

SCREENS = ["supply", "figures", "passes", "build", "build/hand", "link", *(f"figures/{name}" for name in FORMS)]

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


# axe's own measure of contrast (4.5:1), the slowest of its rules, is left out: CONTRASTS asks 7:1 of the same text.
RULES = {"resultTypes": ["violations"], "rules": {"color-contrast": {"enabled": False}}}


def violations(page):
    """What axe finds on the page, into which its script is put once."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(Axe().axe_script)
    return page.evaluate("(rules) => axe.run(rules).then((told) => told.violations)", RULES)


@pytest.fixture(scope="module")
def seen(chromium, shared_server):
    """A page that goes from screen to screen."""
    context = open_context(chromium)
    page = context.new_page()
    page.goto(shared_server.url)
    page.wait_for_selector("main h1")
    yield page
    wrong = context.wrong
    context.close()
    assert wrong == [], "errors on the page"


def show(page, screen):
    """Go to a screen, and open it whole."""
    page.evaluate("(screen) => { document.querySelector('main h1').remove(); location.hash = `#/${screen}`; }", screen)
    page.wait_for_selector("main h1")
    unfold(page)


def unfold(page):
    """Open what is folded, and lay out what the browser skips below the window."""
    page.evaluate("""async () => {
      for (const one of document.querySelectorAll("main details")) one.open = true;
      for (const one of document.querySelectorAll(".answer-body, .supply-body > *")) one.style.contentVisibility = "visible";
      for (let frame = 0; frame < 2; frame += 1) await new Promise((done) => requestAnimationFrame(done));
    }""")


@pytest.mark.parametrize("screen", SCREENS)
def test_screen_can_be_read_and_touched(seen, screen):
    seen.emulate_media(color_scheme="light")
    show(seen, screen)
    found = violations(seen)
    assert found == [], json.dumps([[one["id"], one["help"], [node["html"][:200] for node in one["nodes"]]] for one in found], indent=1)
    assert seen.evaluate(SMALL_TARGETS) == []
    assert seen.evaluate(CONTRASTS) == []
    seen.emulate_media(color_scheme="dark")
    assert seen.evaluate(CONTRASTS) == []


# What reaches past the window's edge, but for what scrolls in a frame of its own.
WIDE = """() => document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("main *")]
  .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 && !one.closest(".scroll, .chart-box"))
  .map((one) => one.outerHTML.slice(0, 120)).slice(0, 3).concat("scrolls")"""


@pytest.mark.parametrize("system", ["us", "metric"])
def test_nothing_scrolls_sideways(seen, shared_server, system):
    seen.evaluate("(system) => localStorage.setItem('overbowl.units.system', JSON.stringify(system))", system)
    seen.reload()
    seen.wait_for_selector("main h1")
    wide = []
    for screen in SCREENS:
        show(seen, screen)
        for width in (640, 320):
            seen.set_viewport_size({"width": width, "height": 640})
            wide += [(screen, system, width, found) for found in seen.evaluate(WIDE)]
    seen.set_viewport_size(PHONE)
    assert wide == []


def test_every_form_is_on_a_screen(shared_server):
    with urllib.request.urlopen(f"{shared_server.url}/api/forms") as response:
        told = json.load(response)
    assert [form["name"] for form in told["forms"]] == list(FORMS)


def test_an_answer_is_spoken_once_the_hand_rests_and_an_error_at_once(seen):
    """WCAG 2.2, 4.1.3: said without taking the focus; a status that is busy waits (WAI-ARIA 1.2, aria-busy)."""
    show(seen, "figures/fuel-pressure")
    boost = seen.get_by_label("Boost", exact=True)
    spoken = seen.locator(".answer-words[role=status]:not([aria-busy])")
    spoken.wait_for()
    # Looked at on the page itself: from here it may be at rest before one looks.
    busy = boost.evaluate("""(field) => {
      field.value = "11";
      field.dispatchEvent(new Event("input", { bubbles: true }));
      return document.querySelector(".answer-words[role=status]").ariaBusy;
    }""")
    assert busy == "true"
    spoken.wait_for()
    boost.fill("abc")
    assert seen.locator("[data-field=boost] [role=alert]").inner_text() == "Enter a number."
    boost.fill("11")


def test_no_field_that_is_tabbed_to_lies_under_the_head_or_the_bar(seen):
    """WCAG 2.2, 2.4.11 and 2.4.12: forwards and backwards."""
    show(seen, "figures/pump-check")
    hidden = """() => {
      const { top, bottom } = document.activeElement.getBoundingClientRect();
      const head = document.querySelector(".answer-head").getBoundingClientRect();
      const bar = document.querySelector("#bar").getBoundingClientRect().top;
      if (document.activeElement.closest("#bar, #undo, .answer-head") || bottom - top > bar - head.bottom) return null;
      return top < (head.top <= 0 ? head.bottom : 0) - 1 || bottom > bar + 1 ? document.activeElement.outerHTML.slice(0, 90) : null;
    }"""
    found = []
    for key in ["Tab"] * 34 + ["Shift+Tab"] * 34:
        seen.keyboard.press(key)
        found.append(seen.evaluate(hidden))
    assert [one for one in found if one] == []
