"""How sure the ceiling is, as the page shows it: band, spare, what to measure next, what was measured, and the same numbers as the
server's. One page for all of it."""

import pytest

from calc import sure
from tests.browser.conftest import open_context, ready, until
from tests.browser.test_passes import PSI, made_pass, put, quantity
from tests.browser.test_supply import example, type_boost
from tests.test_sure import DECLARED, DRAWN
from webapp.forms import gate
from webapp.forms.supply import INVENTED_CAR

CURRENT = """async () => {
  const { openLog } = (await import("/page.js")).m_log_log;
  const log = await openLog({ triggers: false });
  const [build] = log.list("build");
  log.close();
  return build.values;
}"""


@pytest.fixture(scope="module")
def phone(chromium, shared_server):
    context = open_context(chromium)
    page = context.new_page()
    ready(page, f"{shared_server.url}/#/supply")
    page.get_by_role("button", name="Load the invented example car").click()
    page.wait_for_selector(".give-or-take:not([hidden])")
    yield page
    assert context.wrong == [], "errors on the page"
    context.close()


def words(page, selector):
    return page.locator(selector).inner_text().replace("\u00a0", " ")


def go(page, server, place, selector):
    page.goto(f"{server.url}/#/{place}")
    page.wait_for_selector(selector)


def lower_end(page):
    """What Build says of the ceiling's low end."""
    return float(words(page, ".measure-next p").split("now ")[1].split(" ")[0])


@pytest.mark.parametrize("name", DRAWN)
def test_page_and_server_are_equally_sure(phone, name):
    build, assumed, measured = DRAWN[name]
    sources = sure.spreads_of(DECLARED, build, assumed, dict.fromkeys(measured, 0.0))
    theirs = phone.evaluate(
        "async ([inputs, sources]) => (await import('/page.js')).m_core_compute.plain('sure', 'how_sure', inputs, sources)",
        [build, sources],
    )
    ours = sure.how_sure(build, sources)
    for key, value in ours.items():
        if isinstance(value, float):
            assert theirs[key] == pytest.approx(value, rel=1e-8), key
    assert [row["name"] for row in theirs["measure"]] == [row["name"] for row in ours["measure"]]


def test_supply_tells_the_band_at_slider_and_chart_and_the_spares_give_or_take(phone, shared_server):
    go(phone, shared_server, "supply", ".give-or-take:not([hidden])")
    assert "The ceiling lies between" in words(phone, ".give-or-take") and "Least spare at a seat" in words(phone, ".give-or-take")
    band = phone.locator(".ceiling-band")
    assert band.is_visible()
    low, high = (float(band.evaluate(f"(band) => getComputedStyle(band).getPropertyValue('--{end}')")) for end in ("from", "to"))
    ends = phone.evaluate(
        "() => [...document.querySelectorAll('.ceiling-mark')].map((mark) => Number(mark.style.getPropertyValue('--at')))"
    )
    assert 0.0 < low < ends[0] < high <= 1.0
    phone.locator(".supply-body .chart").first.scroll_into_view_if_needed()
    phone.wait_for_selector(".supply-body .chart .reach")
    assert "19 times in 20" in words(phone, ".supply-body .chart .legend")
    # Another boost: the spare's line goes, and comes back for it once the page rests.
    phone.get_by_role("button", name="More boost").click()
    until(phone, "document.querySelector('.give-or-take').textContent.includes('spare')")


def test_what_to_measure_next_stands_first_and_measuring_it_counts(phone, shared_server):
    go(phone, shared_server, "build", ".measure-next")
    until(phone, "document.querySelectorAll('.measure-next li').length === 3")
    assert phone.locator(".measure-next").bounding_box()["y"] < phone.locator(".sections").bounding_box()["y"]
    before = lower_end(phone)
    go(phone, shared_server, "build/seats", ".build [data-field=primary_diameter]")
    for field in ("primary_diameter", "secondary_diameter"):
        mark = phone.locator(f"[data-field={field}] .measured-mark")
        assert mark.inner_text() == "Mark as measured"
        mark.click()
        until(phone, f"document.querySelector('[data-field={field}] .measured-mark').textContent === 'Measured: take back'")
    assert phone.locator("[data-field=coefficient] .measured-mark").is_hidden(), "what nobody gave was not measured"
    go(phone, shared_server, "build", ".measure-next")
    until(phone, f"Number(/now ([0-9.]+)/.exec(document.querySelector('.measure-next p').textContent)[1]) > {before}")


def test_the_garage_test_is_taken_over_as_measured_with_its_spread(phone, shared_server):
    go(phone, shared_server, "figures/garage-test", ".calculator")
    assert phone.locator(".take-over").is_hidden(), "nothing was read yet"
    for table, rows in (("pumped", [["6", "3", "30"], ["20", "2.6", "30"]]), ("followed", [["0", "6.5"], ["5", "11.4"], ["10", "16.6"]])):
        box = phone.locator(f"[data-field={table}]")
        for _ in range(len(rows) - 1):
            if box.locator("tbody tr").count() < len(rows):
                box.get_by_role("button", name="Add a row").click()
        for n, row in enumerate(rows):
            for i, text in enumerate(row):
                box.locator("tbody tr").nth(n).locator("input[type=text]").nth(i).fill(text)
    phone.locator(".take-over button").wait_for()
    assert "give or take" in words(phone, ".take-over li:has-text('Base fuel pressure')")
    box = phone.locator("[data-field=pumped]")
    pressure = box.locator("tbody tr").nth(1).locator("input[type=text]").first
    pressure.fill("6")
    phone.locator(".take-over").wait_for(state="hidden")  # two readings at one pressure: what was told before is another car's
    box.get_by_role("button", name="Remove this row").nth(1).click()
    # 0.5 of 30 s and one percent of the can, of one reading: a share of the flow.
    flow = phone.locator(".take-over li:has-text('Flow on the box')")
    flow.wait_for()
    assert flow.inner_text().replace("\u00a0", " ").endswith(f"give or take {200 * (0.5**2 / 30.0**2 + 0.01**2) ** 0.5:.1f}%")
    box.get_by_role("button", name="Add a row").click()
    for i, text in enumerate(["20", "2.6", "30"]):
        box.locator("tbody tr").nth(1).locator("input[type=text]").nth(i).fill(text)
    phone.locator(".take-over button").click()
    until(phone, "document.body.textContent.includes('Written to Example car as measured')")
    values = phone.evaluate(CURRENT)
    assert values["regulator.follows"] == "yes" and values["pump.kind"] == "curve" and values["pump.allowance"]["si"] == 0.0
    for name in ("regulator.base_pressure", "regulator.ratio", "pump.curve", "pump.allowance"):
        mark = values[f"measured.{name}"]
        assert mark["value"] == values[name] and mark["half"] >= 0.0, name
    assert values["measured.pump.curve"]["half"] == pytest.approx(2.0 * (0.5**2 / 30.0**2 + 0.01**2) ** 0.5)
    go(phone, shared_server, "build/regulator", ".build [data-field=base_pressure]")
    assert phone.locator("[data-field=base_pressure] .measured-mark").inner_text() == "Measured: take back"


def reading_with_losses(factor, boost):
    """What the gauge at the carburettor of the example car would read [Pa] at a boost [psi], were the losses so many times as large."""
    line = {**INVENTED_CAR["supply_line"], "loss_factor": factor}
    regulator = {**INVENTED_CAR["regulator"], "gauge_at": "carburettor"}
    car = {**INVENTED_CAR, "supply_line": line, "regulator": regulator, "boost": f"{boost} psi", "case": "full"}
    return gate.answer("supply-check", car)["results"]["gauge_reading"]


# The low end of the ceiling, as last worked out.
KNOWN = "(Object.values(JSON.parse(localStorage['overbowl.supply.how-sure'] ?? '{}'))[0]?.told.ceiling_low ?? null)"


def test_what_the_gauge_of_the_passes_teaches_is_taken_over_as_measured_and_makes_the_ceiling_surer(phone, shared_server):
    build = phone.evaluate("""async () => {
      const { openLog } = (await import("/page.js")).m_log_log; const log = await openLog({ triggers: false }); await log.loaded;
      const { id } = log.list("build")[0];
      await log.save(id, "build", { "regulator.gauge_at": "carburettor", "supply_line.loss_factor": null });
      log.close(); return id;
    }""")
    readings = [(psi, reading_with_losses(1.3, psi)) for psi in (8, 9, 10, 11)]
    told = [
        {"boost": quantity(psi * PSI, str(psi), "psi"), "fuel_pressure": quantity(si, f"{si / PSI:.3f}", "psi")} for psi, si in readings
    ]
    put(phone, [made_pass(n, build=build, **values) for n, values in enumerate(told)])
    phone.goto("about:blank")
    go(phone, shared_server, "passes/gauge", ".lesson .next")
    before = phone.evaluate(KNOWN)
    phone.get_by_role("button", name="Use it in Example car: line loss").click()
    until(phone, "document.body.textContent.includes('Taken over into Example car')")
    values = phone.evaluate(CURRENT)
    mark = values["measured.supply_line.loss_factor"]
    assert mark["value"] == values["supply_line.loss_factor"] and mark["half"] > 0.0
    go(phone, shared_server, "build", ".measure-next")
    until(phone, f"{KNOWN} !== null && {KNOWN} !== {before}")
    surer = phone.evaluate(KNOWN)
    go(phone, shared_server, "build/supply_line", ".build [data-field=loss_factor]")
    back = phone.locator("[data-field=loss_factor] .measured-mark")
    assert back.inner_text() == "Measured: take back"
    back.click()
    until(phone, "document.querySelector('[data-field=loss_factor] .measured-mark').textContent === 'Mark as measured'")
    go(phone, shared_server, "build", ".measure-next")
    until(phone, f"{KNOWN} !== {surer}")
    assert phone.evaluate(KNOWN) < surer, "typed, its line loss may be further off"


def test_where_only_doubt_makes_the_car_thin_every_screen_says_so(page, server):
    example(page, server)
    until(page, f"{KNOWN} !== null")
    low = page.evaluate(KNOWN) / PSI
    type_boost(page, f"{low + 0.5:.1f}")
    until(page, "document.querySelector('.state strong').textContent === 'thin'")
    assert "may be off" in words(page, ".first-note")
    go(page, server, "figures/pump-check", ".calculator .state strong")
    assert words(page, ".state strong") == "holds", "the pump by itself does"
    until(page, "document.querySelector('.first-note').textContent.endsWith('In Supply this car is thin.')")
    go(page, server, "figures/after-bad-pass", ".checks .says")
    until(page, "[...document.querySelectorAll('.says')].some((one) => one.textContent.startsWith('Supply') && one.querySelector('.thin'))")
    go(page, server, "build", ".overview")
    page.get_by_role("button", name="Copy this car").click()
    go(page, server, "build/compare", ".side-by-side")
    until(page, "document.querySelectorAll('.side-by-side .state-word.thin').length === 2")
