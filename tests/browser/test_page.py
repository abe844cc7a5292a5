"""The page as a user drives it: type, choose, make mistakes, change units."""

import re

import pytest

from tests.browser.conftest import ready, until


def open_figure(page, server, name):
    page.goto(f"{server.url}/#/figures/{name}")
    page.wait_for_selector(".answer-head:not([hidden])")


def lead(page):
    return page.locator(".lead-number").inner_text()


def wait_for_lead(page, text):
    until(page, "(text) => document.querySelector('.lead-number').innerText === text", arg=text)


def test_six_psi_base_and_twenty_psi_boost_need_twenty_six(page, shared_server):
    """Common practice, no source: a psi for every psi."""
    open_figure(page, shared_server, "fuel-pressure")
    page.get_by_label("Base fuel pressure", exact=True).fill("6")
    page.get_by_label("Boost", exact=True).fill("20")
    page.get_by_label("Pump pressure limit", exact=True).fill("30")
    wait_for_lead(page, "26.0")
    assert page.locator(".state").is_hidden(), "without a flow there is no verdict"
    page.get_by_label("Pump pressure limit", exact=True).fill("25")
    until(page, "document.querySelector('.state').innerText === 'short'")


def test_a_wrong_field_keeps_the_last_answer_marked_as_old(page, shared_server):
    open_figure(page, shared_server, "fuel-pressure")
    page.get_by_label("Boost", exact=True).fill("20")
    wait_for_lead(page, "26.0")
    for wrong, sentence in [
        ("", "Enter a number."),
        ("abc", "Enter a number."),
        ("99", "must lie between"),
        ("20 °C", "is not a unit of"),
        ("NaN", "Enter a number."),
    ]:
        page.get_by_label("Boost", exact=True).fill(wrong)
        page.wait_for_selector(".old-mark:not([hidden])")
        field = page.locator("[data-field=boost]")
        assert sentence in field.locator(".error").inner_text()
        assert page.get_by_label("Boost", exact=True).get_attribute("aria-invalid") == "true"
        assert lead(page) == "26.0", "the last good answer is not replaced"
    page.get_by_label("Boost", exact=True).fill("10")
    page.wait_for_selector(".old-mark", state="hidden")
    wait_for_lead(page, "16.0")


def test_an_error_of_the_calculation_stands_at_its_field(page, shared_server):
    open_figure(page, shared_server, "spark-plan")
    page.locator("[data-field=plan] label", has_text="Mechanical curve").first.click()
    page.get_by_label("All in by", exact=True).first.fill("800")
    page.wait_for_selector(".old-mark:not([hidden])")
    assert "must end at a higher engine speed" in page.locator("[data-field=advance_ends] .error").first.inner_text()


def test_a_pump_under_the_base_pressure_is_short_and_no_error(page, shared_server):
    open_figure(page, shared_server, "fuel-pressure")
    for label, value in {"Base fuel pressure": "6", "Boost": "10", "Pump pressure limit": "4"}.items():
        page.get_by_label(label, exact=True).fill(value)
    page.locator(".state", has_text="short").wait_for()
    assert "cannot hold even the base pressure" in page.locator("main").inner_text()
    assert page.locator(".old-mark").is_hidden() and page.locator("[data-field=pump_pressure_limit] .error").is_hidden()


def test_units_change_the_shown_number_and_nothing_else(page, shared_server):
    open_figure(page, shared_server, "fuel-pressure")
    page.get_by_label("Boost", exact=True).fill("18")
    wait_for_lead(page, "24.0")
    page.get_by_label("Unit of Boost").select_option("kPa")
    wait_for_lead(page, "165")
    assert page.get_by_label("Boost", exact=True).input_value() == "124.1"
    page.reload()
    page.wait_for_selector(".answer-head:not([hidden])")
    wait_for_lead(page, "165")
    page.get_by_label("Unit of Boost").select_option("psi")
    wait_for_lead(page, "24.0")
    assert page.get_by_label("Boost", exact=True).input_value() == "18", "what was typed comes back as typed"


def test_a_unit_may_be_typed_and_a_comma_too(page, shared_server):
    open_figure(page, shared_server, "fuel-pressure")
    page.get_by_label("Boost", exact=True).fill("1,5 bar")
    wait_for_lead(page, "27.8")


def test_metric_for_everything(page, shared_server):
    ready(page, f"{shared_server.url}/#/link")
    page.get_by_label("Metric").check()
    open_figure(page, shared_server, "density-altitude")
    assert page.locator(".lead-unit").inner_text() == "m"
    assert page.get_by_label("Unit of Air temperature").input_value() == "°C"


def test_todays_air_is_taken_over_into_the_jet_change(page, shared_server):
    open_figure(page, shared_server, "density-altitude")
    page.get_by_label("Air temperature", exact=True).fill("95")
    until(page, "JSON.parse(localStorage['overbowl.form.density-altitude']).temperature?.text === '95'")
    density = page.evaluate("JSON.parse(localStorage['overbowl.answer.density-altitude']).density")
    open_figure(page, shared_server, "jet-change")
    page.locator("[data-field=air_density_to] .take").click()
    until(page, "(density) => JSON.parse(localStorage['overbowl.form.jet-change']).air_density_to?.si === density", arg=density)


def test_a_pump_curve_of_twelve_points_is_entered_and_kept(page, shared_server):
    open_figure(page, shared_server, "pump-check")
    table = page.locator("[data-field=curve]")
    while table.get_by_role("button", name="Add a row").is_visible():
        table.get_by_role("button", name="Add a row").click()
    assert table.locator("tbody tr").count() == 12
    for number in range(12):
        table.get_by_label(f"row {number + 1}").nth(0).fill(str(5 * number))
        table.get_by_label(f"row {number + 1}").nth(1).fill(str(140 - 10 * number))
    page.wait_for_selector(".old-mark", state="hidden")
    page.reload()
    page.wait_for_selector(".answer-head:not([hidden])")
    assert page.locator("[data-field=curve] tbody tr").count() == 12
    assert page.locator("[data-field=curve]").get_by_label("row 12").nth(1).input_value() == "30"
    table.get_by_label("row 5").nth(1).fill("150")
    page.wait_for_selector(".old-mark:not([hidden])")
    assert page.locator("[data-field=curve] .error").inner_text()


def test_the_working_and_the_source_unfold(page, shared_server):
    open_figure(page, shared_server, "fuel-pressure")
    page.get_by_text("The working").click()
    page.locator(".steps tr").nth(3).wait_for()
    assert "Method:" in page.locator(".source").inner_text()


def test_a_picture_has_words(page, shared_server):
    open_figure(page, shared_server, "fuel-pressure")
    words = page.locator(".chart svg[role=img]").first.get_attribute("aria-label")
    assert "ceiling is at 15.0" in words


def test_find_a_figure_by_word(page, shared_server):
    ready(page, f"{shared_server.url}/#/figures")
    page.get_by_label("Find a figure by word").fill("humidity")
    assert page.locator(".index a:visible").count() >= 1
    page.get_by_label("Find a figure by word").fill("xyzzy")
    assert page.get_by_text("No figure by that word.").is_visible()


def test_what_cannot_load_says_so(context, shared_server):
    page = context.new_page()
    page.route("**/forms.json", lambda route: route.fulfill(status=500, body="{}"))
    page.goto(shared_server.url)
    page.get_by_role("heading", name="Overbowl did not start").wait_for()
    page.unroute("**/forms.json")
    page.get_by_role("button", name="Try again").click()
    page.wait_for_selector("html[data-started]")


def test_forms_that_fail_once_on_the_way_are_asked_for_again(page, shared_server):
    """A radio that drops one answer keeps nobody from the page."""
    dropped = []

    def drop(route):
        dropped.append(route.request.url)
        route.abort("connectionreset")

    page.route("**/forms.json", drop, times=1)
    ready(page, shared_server.url)
    assert len(dropped) == 1


def test_a_page_whose_script_did_not_come_offers_to_try_again(page, shared_server):
    page.route(re.compile("/page-[0-9a-f]{12}.js$"), lambda route: route.abort())
    page.goto(shared_server.url)
    again = page.get_by_role("link", name="Try again")
    again.wait_for()
    page.unroute_all()
    again.click()
    page.wait_for_selector("html[data-started]")


def test_start_over_brings_back_the_starting_values(page, shared_server):
    open_figure(page, shared_server, "fuel-pressure")
    page.get_by_label("Boost", exact=True).fill("33")
    page.get_by_role("button", name="Start over").click()
    wait_for_lead(page, "16.0")


@pytest.mark.parametrize("name", ["supply", "figures", "passes", "build", "settings"])
def test_each_place_opens_by_its_address_and_from_the_bar(page, shared_server, name):
    ready(page, f"{shared_server.url}/")
    page.locator("#bar").get_by_text(name.title(), exact=True).click()
    until(page, f"document.querySelector('#bar [aria-current]').innerText === '{name.title()}'")
    assert page.locator("h1").count() == 1
