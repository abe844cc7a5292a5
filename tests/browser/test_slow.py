"""A calculator that takes long: worked out in pieces once nothing was typed, the same as in one go, and given up by a new key press."""

import json

import pytest

from tests.browser.conftest import ready, until
from tests.builds import PSI, a_pass
from webapp.forms import FORMS

IN_PIECES = """async ([name, inputs]) => {
  const { run, runInPieces } = (await wholePage()).m_core_compute;
  const { forms } = await (await fetch("/api/forms")).json();
  const form = forms.find((told) => told.name === name);
  const pieces = await new Promise((done) => runInPieces(form, inputs, done));
  return JSON.stringify([run(form, inputs), pieces]);
}"""

SLOW = sorted(name for name, form in FORMS.items() if "slow" in form.about)


@pytest.fixture
def slow_page(page, shared_server):
    return ready(page, f"{shared_server.url}/#/figures/through-a-pass")


def test_in_pieces_and_in_one_go_are_the_same(slow_page):
    for changes in ({}, {"end_boost": 22 * PSI, "pump__allowance": 0.5}, {"shifts": [[3.0, 1.0], [2.0, 1.0]]}):
        whole, pieces = json.loads(slow_page.evaluate(IN_PIECES, ["through-a-pass", a_pass(**changes)]))
        assert whole == pieces
        assert ("errors" in whole) == ("shifts" in changes)


def test_every_slow_form_is_done_in_pieces_that_end(slow_page):
    told = slow_page.evaluate(
        "async () => (await (await fetch('/api/forms')).json()).forms.filter((form) => form.slow).map((form) => form.name)"
    )
    assert sorted(told) == SLOW


def test_while_it_works_the_page_says_so_and_the_last_key_press_counts(slow_page):
    # A form that nothing was typed in has an answer too, or says what is not known yet; either way its first sentence comes.
    until(slow_page, "document.querySelector('.first-note')?.textContent")
    boost = slow_page.locator("[data-field=end_boost] input")
    for text in ("12", "14", "abc"):
        boost.fill(text)
    assert "Working it out" not in slow_page.inner_text(".old-mark")
    assert "fix the marked field" in slow_page.inner_text(".old-mark")
    # Looked at on the page itself: from here it may be done before one looks.
    told = boost.evaluate("""(field) => {
      field.value = "16";
      field.dispatchEvent(new Event("input", { bubbles: true }));
      return document.querySelector(".old-mark").textContent;
    }""")
    assert "Working it out" in told
    until(slow_page, "!document.querySelector('.old-mark').textContent")
    picture = slow_page.locator("figure.chart svg[role=img]")
    assert picture.count() <= 2


def test_the_changes_of_an_answer_that_is_old_are_struck_too(page, shared_server):
    ready(page, f"{shared_server.url}/#/figures/fuel-swap")
    cell = page.locator(".open-tables:visible td").last
    cell.wait_for()
    line = "(cell) => getComputedStyle(cell).textDecorationLine"
    assert cell.evaluate(line) == "none"
    page.locator("[data-field=lambda_to] input").fill("x")
    page.locator(".old-mark", has_text="fix the marked field").wait_for()
    assert cell.evaluate(line) == "line-through"
