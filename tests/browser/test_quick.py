"""The three-minute car as a thumb finds it: from an empty phone to a verdict, counting the taps."""

import pytest

from tests.browser.conftest import ready, until

MOST_TAPS = 25
SMALLEST = 48  # CSS pixels


class Thumb:
    """Touches controls and counts: a touch is one tap, typing a number into a field one, choosing from a list two (open, pick)."""

    def __init__(self, page):
        self.page, self.taps = page, 0

    def question(self, title, field, which=0):
        return self.page.locator(f".quick section[aria-label='{title}'] [data-field={field}]").nth(which)

    def touch(self, target):
        self.taps += 1
        target.click()

    def write(self, title, field, text):
        self.taps += 1
        self.question(title, field).locator("input[type=text]").fill(text)

    def pick(self, title, field, word, which=0):
        self.taps += 2
        self.question(title, field, which).locator("select").select_option(word)

    def choose(self, title, field, label):
        self.touch(self.question(title, field).locator(".option", has_text=label))


def too_small(page):
    return page.evaluate(
        """(smallest) => [...document.querySelectorAll('.quick button, .quick a, .quick select, .quick input[type=text], .quick .option')]
          .filter((target) => target.offsetParent && (target.offsetHeight < smallest || target.offsetWidth < smallest))
          .map((target) => target.outerHTML.slice(0, 80))""",
        SMALLEST,
    )


def answer_all(thumb):
    thumb.write("Engine", "displacement", "355")
    thumb.write("Engine", "speed", "6200")
    thumb.pick("Fuel", "fuel", "petrol")
    pump = "Pump, as it is sold"
    thumb.pick(pump, "kind", "point")
    thumb.write(pump, "point_flow", "255 L/h")
    thumb.write(pump, "point_pressure", "40")
    thumb.pick("Lines", "hose", "dash-8", 0)
    thumb.pick("Lines", "hose", "dash-6", 1)
    thumb.choose("Lines", "layout", "one to each side")
    thumb.pick("Lines", "hose", "dash-6", 2)
    seats = "Seats and base pressure"
    thumb.write(seats, "primary_diameter", "0.11")
    thumb.write(seats, "secondary_diameter", "0.11")
    thumb.write(seats, "base_pressure", "6.5")
    thumb.choose(seats, "follows", "Yes")
    thumb.choose("Blower and cooler", "blower", "Roots type")
    thumb.choose("Blower and cooler", "cooler", "No")


@pytest.fixture
def thumb(page, server):
    ready(page, server.url)
    page.wait_for_selector(".start button")
    thumb = Thumb(page)
    thumb.touch(page.get_by_role("button", name="Three-minute car"))
    page.wait_for_selector(".quick")
    return thumb


def test_from_an_empty_phone_to_a_verdict_in_few_taps(page, thumb):
    assert "Still needed for a verdict: engine size, engine speed, fuel, pump" in page.locator(".quick .needed").inner_text()
    assert too_small(page) == []
    answer_all(thumb)
    until(page, "document.querySelector('.quick .needed').textContent === 'That is enough for a first verdict.'")
    thumb.touch(page.get_by_role("link", name="Run the supply check"))
    page.wait_for_selector(".supply-check .state")
    until(page, "/^(holds|thin|short)$/.test(document.querySelector('.supply-check .state').innerText.trim())")
    assert thumb.taps <= MOST_TAPS, thumb.taps


def test_the_answers_are_the_fields_of_the_car(page, thumb):
    seats = "Seats and base pressure"
    assert thumb.question(seats, "ratio").is_visible()
    thumb.choose(seats, "follows", "No, it is fixed")
    until(page, "!document.querySelector('.quick [data-field=ratio]').offsetParent")
    thumb.choose("Blower and cooler", "blower", "Turbo")
    thumb.choose("Blower and cooler", "cooler", "Yes")
    thumb.write("Seats and base pressure", "base_pressure", "7")
    page.locator(".quick a", has_text="Charge air").click()
    page.wait_for_selector(".build [data-field=efficiency]")
    # The kind of blower and the cooler say what is assumed, until a number is typed.
    assumed = [
        page.locator(f"[data-field={name}] input[type=text]").get_attribute("placeholder") for name in ("efficiency", "effectiveness")
    ]
    assert assumed == ["78", "75"]
    page.locator("[data-field=cooler] .option", has_text="No").click()
    assert page.locator("[data-field=effectiveness]").is_hidden()
    page.goto(page.url.replace("charge", "regulator"))
    page.wait_for_selector(".build [data-field=base_pressure]")
    assert page.locator("[data-field=base_pressure] input[type=text]").input_value() == "7"


def test_fittings_are_counted_where_one_wants_to(page, thumb):
    page.goto(page.url.replace("quick", "supply_line"))
    counts, known = page.locator("[data-field=elbows_90]"), page.locator("[data-field=fittings]")
    page.wait_for_selector(".build [data-field=fittings]")
    assert counts.is_hidden() and known.is_visible()
    page.locator("[data-field=fittings_from] .option", has_text="I count them").click()
    assert counts.is_visible() and known.is_hidden()
