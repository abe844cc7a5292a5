"""Every step that writes over or deletes something can be taken back where it was made; coming back finds the screen as it was left."""

import json
from datetime import datetime, timezone

import pytest

from tests.browser.conftest import PHONE, frames, until
from tests.browser.test_board import race_day_page
from tests.browser.test_passes import PSI, quantity


@pytest.fixture(scope="module")
def page(chromium, shared_server):
    """One page with a car and a day's passes for all of these."""
    with race_day_page(chromium, shared_server, name="Own car", invented=None) as page:
        yield page


def go(page, server, place):
    page.goto("about:blank")
    page.goto(f"{server.url}/#/{place}")
    page.wait_for_selector("main h1")
    return page


def undo(page):
    page.locator("#undo").get_by_role("button", name="Undo").click()
    page.locator("#undo", has_text="As it was before.").wait_for()


def test_what_was_typed_into_a_figure(page, shared_server):
    go(page, shared_server, "figures/fuel-pressure")
    boost = page.get_by_label("Boost", exact=True)
    boost.fill("21.5")
    page.get_by_role("button", name="Start over").click()
    assert boost.input_value() != "21.5"
    undo(page)
    assert boost.input_value() == "21.5"
    page.reload()
    page.wait_for_selector(".answer-head:not([hidden])")
    assert boost.input_value() == "21.5", "and it is remembered again"
    page.get_by_role("button", name="Start over").click()


def test_what_a_figure_keeps_in_the_car(page, shared_server):
    go(page, shared_server, "figures/fuel-pressure")
    base = page.get_by_label("Base fuel pressure", exact=True)
    before = base.input_value()
    base.fill("8.25")
    page.get_by_role("button", name="Keep in the car").click()
    page.locator("#undo", has_text="Kept in Own car.").wait_for()
    undo(page)
    assert base.input_value() == "8.25", "what was tried stands again"
    page.get_by_role("button", name="Start over").click()
    assert base.input_value() == before, "and the car has what it had"


def test_a_row_of_a_table(page, shared_server):
    go(page, shared_server, "build/pump")
    rows = page.locator("[data-field=curve] tbody tr")
    rows.nth(4).wait_for()
    shown = [one.input_value() for one in rows.locator("input").all()]
    rows.nth(1).get_by_role("button").click()
    until(page, "document.querySelectorAll('[data-field=curve] tbody tr').length === 4")
    undo(page)
    until(page, "document.querySelectorAll('[data-field=curve] tbody tr').length === 5")
    assert [one.input_value() for one in rows.locator("input").all()] == shown


def test_a_value_typed_over_another(page, shared_server):
    go(page, shared_server, "build/regulator")
    base = page.get_by_label("Base fuel pressure", exact=True)
    base.fill("8")
    base.blur()
    page.get_by_role("button", name="Put back base fuel pressure").click()
    until(page, "document.querySelector('.why').hidden")
    assert base.input_value() == "6.5"
    go(page, shared_server, "build/regulator")
    assert base.input_value() == "6.5", "in the log too"


def test_another_car_in_use_and_another_name(page, shared_server):
    go(page, shared_server, "build")
    page.get_by_role("button", name="Copy this car").click()
    until(page, "document.querySelector('.build-name input').value === 'Own car, changed'")
    page.get_by_role("radio", name="Own car", exact=True).check()
    page.locator("#undo", has_text="Own car is now the car in use.").wait_for()
    undo(page)
    until(page, "document.querySelector('.build-name input').value === 'Own car, changed'")
    page.locator(".build-name input").fill("Spare car")
    page.locator(".build-name input").blur()
    page.locator("#undo", has_text="Own car, changed is now called Spare car.").wait_for()
    undo(page)
    until(page, "document.querySelector('.build-name input').value === 'Own car, changed'")
    page.get_by_role("button", name="Remove this car").click()
    until(page, "document.querySelector('.build-name input').value === 'Own car'")


def test_a_car(page, shared_server):
    go(page, shared_server, "build")
    page.get_by_role("button", name="Copy this car").click()
    until(page, "document.querySelector('.build-name input').value === 'Own car, changed'")
    undo(page)
    until(page, "document.querySelector('.build-name input').value === 'Own car'")
    assert page.evaluate("document.activeElement !== document.body"), "the focus is not dropped"
    page.get_by_role("button", name="Remove this car").click()
    page.locator("#undo", has_text="Own car is removed.").wait_for()
    undo(page)
    until(page, "document.querySelector('.build-name input')?.value === 'Own car'")


def test_a_pass_deleted_and_one_filled_from_the_last(page, shared_server):
    go(page, shared_server, "passes/made00005")
    page.locator(".one-pass").get_by_role("button", name="Delete").click()
    page.locator(".one-pass", has_text="This one is deleted.").wait_for()
    undo(page)
    page.locator(".one-pass").get_by_role("button", name="Delete").wait_for()
    go(page, shared_server, "passes/new")
    jets = page.get_by_label("Primary main jets", exact=True)
    page.get_by_role("button", name="Same as last pass").click()
    assert jets.input_value() != ""
    undo(page)
    assert jets.input_value() == ""


def test_a_backup_that_won(page, shared_server, tmp_path):
    now = datetime.now(timezone.utc).strftime("%Y-%m-%dT%H:%M:%S.000Z-0000")
    base = {"id": "made00000", "kind": "build", "fields": {"regulator.base_pressure": [[quantity(9 * PSI, "9", "psi"), now, "maker"]]}}
    more = {"id": "more00000", "kind": "pass", "fields": {"run": [[quantity(7, "7", ""), now, "maker"]]}}
    file = tmp_path / "backup.json"
    file.write_text(json.dumps({"format": 1, "records": [base, more]}))
    go(page, shared_server, "settings")
    page.get_by_label("A backup file").set_input_files(file)
    page.locator("#undo", has_text="The backup is restored.").wait_for()
    undo(page)
    go(page, shared_server, "build/regulator")
    assert page.get_by_label("Base fuel pressure", exact=True).input_value() == "6.5"
    go(page, shared_server, "passes/deleted")
    page.get_by_role("link", name="Run 7").wait_for()


def test_coming_back_finds_the_list_as_it_was(page, shared_server):
    go(page, shared_server, "figures")
    find = page.get_by_label("Find a figure by word")
    find.fill("fuel")
    page.evaluate("window.scrollTo(0, 300)")
    left = page.evaluate("window.scrollY")
    assert left > 200
    page.locator(".index a:visible").last.evaluate("link => link.click()")
    page.wait_for_selector(".calculator")
    page.go_back()
    page.wait_for_selector(".figures")
    assert find.input_value() == "fuel"
    until(page, "(left) => Math.abs(window.scrollY - left) < 2", arg=left)
    page.locator("#bar a", has_text="Build").click()
    page.wait_for_selector(".overview")
    assert page.evaluate("window.scrollY") == 0, "a place opened anew begins at its head"
    go(page, shared_server, "figures")
    find.fill("")


def test_new_pass_and_done_lie_at_the_thumb(page, shared_server):
    """Common practice, no source: one thumb reaches the lower third of a phone."""
    for place, name in [("passes", "New pass"), ("passes/new", "Done")]:
        go(page, shared_server, place)
        box = page.get_by_role("link", name=name, exact=True).bounding_box()
        frames(page)
        assert box["height"] >= 48 and box["width"] >= 48
        assert box["y"] > PHONE["height"] * 2 / 3 and box["y"] + box["height"] <= page.locator("#bar").bounding_box()["y"] + 2


# How far the lowest of the field in focus and its error lies below what is clear of the line and the bar.
UNDER_THE_LINE = """() => {
  const box = document.activeElement.closest(".field, .slider");
  const parts = [document.activeElement, ...box.querySelectorAll(".error:not([hidden])")];
  const clear = Math.min(...["#undo", "#bar"].map((one) => document.querySelector(one).getBoundingClientRect().top));
  return { parts: parts.length, under: Math.max(...parts.map((one) => one.getBoundingClientRect().bottom)) - clear };
}"""


def end_window_at(page, field):
    """Make the window so high that the field ends just over what stands at its foot."""
    page.set_viewport_size({**PHONE, "height": page.viewport_size["height"] + round(page.evaluate(UNDER_THE_LINE)["under"])})
    frames(page)


def test_the_line_covers_neither_the_field_in_focus_nor_what_is_wrong_with_it(page, shared_server):
    """WCAG 2.2, 2.4.11: when the line comes, and when the error does."""
    go(page, shared_server, "build/regulator")
    field = page.get_by_label("Base fuel pressure", exact=True)
    field.focus()
    end_window_at(page, field)
    assert page.evaluate(UNDER_THE_LINE)["under"] > -10, "where the line is about to come"
    page.evaluate("async () => (await wholePage()).m_core_undo.offerUndo('Words that are long enough for more than one line.', () => {})")
    frames(page)
    assert page.evaluate(UNDER_THE_LINE)["under"] <= 0
    end_window_at(page, field)
    field.fill("nonsense")
    frames(page)
    told = page.evaluate(UNDER_THE_LINE)
    assert told["parts"] == 2 and told["under"] <= 0
    field.fill("6.5")
    page.set_viewport_size(PHONE)
