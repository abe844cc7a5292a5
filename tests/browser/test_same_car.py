"""The same question about the same car has one answer: in Supply, in its figure, and after a bad pass."""

import random

import pytest

from tests.browser.conftest import open_context, ready

BUILDS = 300
PSI = 6894.757293168361

# What a random car changes on the invented example: field, and the texts it may have.
CHANGES = {
    "engine.demand_from": ["air", "power", "both"],
    "engine.displacement": ["302 in³", "355 in³", "8.2 L"],
    "engine.power_boost": ["5 psi", "9 psi", "18 psi"],
    "charge.efficiency": ["55 %", "76 %"],
    "charge.inlet_loss": ["0 psi", "0.6 psi"],
    "charge.cooler_loss": ["0.1 psi", "1 psi"],
    "charge.evaporated": ["0 %", "15 %"],
    "fuel.fuel": ["petrol", "blend", "methanol"],
    "fuel.temperature": ["50 °F", "86 °F", "104 °F"],
    "pump.pumps": ["1", "2"],
    "pump.allowance": ["0 %", "20 %"],
    "pump.inlet_head": ["-0.3 m", "0.4 m"],
    "pump.inlet_drop": ["0.2 psi", "1 psi"],
    "wiring.voltage": ["11.8 V", "13.1 V", "13.9 V"],
    "supply_line.hose": ["dash-6", "dash-8", "dash-10"],
    "supply_line.fittings": ["2", "9"],
    "supply_line.filter_dirt": ["1", "3"],
    "return_line.hose": ["dash-4", "dash-6", "dash-8"],
    "regulator.base_pressure": ["5 psi", "7.5 psi"],
    "feed.layout": ["separate", "tee", "series"],
    "seats.primary_seats": ["1", "2"],
    "seats.secondary_seats": ["0", "1", "2"],
    "seats.primary_diameter": ["0.1 in", "0.12 in", "0.15 in"],
    "seats.secondary_diameter": ["0.1 in", "0.13 in"],
    "vents.share": ["97 %", "100 %"],
    "air.pressure": ["25 inHg", "29.9 inHg"],
    "air.temperature": ["40 °F", "95 °F"],
}

# [what, here, there] of every pair that must be alike, for each car.
COMPARE = """async (cars) => {
  const page = await wholePage();
  const { forms, kinds } = await (await fetch("/api/forms")).json();
  const units = new page.m_core_units.Units(kinds);
  const app = { forms, units };
  const check = forms.find(({ name }) => name === "supply-check");
  const form = (name) => forms.find((told) => told.name === name);
  const step = ({ results }, label) => results.steps.find((one) => one.label === label).value;
  return cars.map(({ texts, boost }) => {
    const build = { id: "", values: page.m_car_sections.fromText(check, { ...check.example_car, ...texts }, units) };
    const numbers = new page.m_figures_frombuild.BuildNumbers(app, build, { boost });
    if (numbers.wrong || !numbers.results.state) return [["no answer", numbers.read.errors, null]];
    const of = (name) => page.m_figures_tried.figureAnswer(app, form(name), numbers, { build });
    const { results: worst, full } = numbers;
    const [seats, floor, demand, charge, pump, pressure, line, hot, bowls] = ["seat-flow", "return-floor", "fuel-demand", "charge-air", "pump-check",
      "fuel-pressure", "line-loss", "hot-fuel", "bowl-feed"].map(of);
    const all = { seats, floor, demand, charge, pump, pressure, line, hot, bowls };
    const wrong = Object.entries(all).filter(([, { errors, example, unknown }]) => errors || example || unknown?.length);
    if (wrong.length) return [["a figure without an answer", JSON.stringify(wrong.map(([name, { errors, example, inputs }]) => [name, errors, example, inputs])), null]];
    const side = worst.least_side;
    const pairs = [
      ["seats: flow needed", seats.inputs.demand, worst.bowl_demand[side]],
      ["return floor", floor.results.return_floor, worst.return_floor],
      ["fuel demand", demand.results.fuel_demand, full.fuel_demand],
      ["charge temperature", charge.results.charge_temperature, full.charge_temperature],
      ["pump: flow needed", pump.results.flow_demand, full.fuel_demand],
      ["pump: most it holds", pressure.inputs.pump_pressure_limit, worst.pump_limit],
      ["pump: pressure", pump.inputs.pressure, full.pump_pressure],
      ["regulator's target", pressure.results.required_pressure, step({ results: full }, "Regulator target: base plus ratio times boost")],
      ["hot fuel", hot.results.vapour_margin, worst.inlet_spare],
      ["hot fuel: state", hot.results.state, worst.inlet_state],
    ];
    // A figure asks for some flow; a pump that is overcome gives none.
    if (full.pump_flow > 1e-6) pairs.push(["line loss", line.results.friction_drop + line.results.fitting_drop + line.results.filter_loss, step({ results: full }, "Supply line and filter")]);
    if (worst.spare_fraction[side] > 0) pairs.push(["seats: spare flow", seats.results.spare_fraction, worst.spare_fraction[side]]);
    // The seats' word is one of several that the check's word is made of.
    if (worst.state === "holds") pairs.push(["seats: state", seats.results.state, "holds"]);
    // So is the pump's, which stands for full throttle: it never says less, nor that it is short where the bowls stay full.
    if (full.state === "holds") pairs.push(["pump: state", pump.results.state, "holds"]);
    if (pump.results.state === "short") pairs.push(["pump: short", full.state, "short"]);
    // Short bowls: Supply tells the pressure with the fuel that really flows, the figure with the fuel that is asked for.
    if (worst.spare_pressure[side] >= 0) pairs.push(["seats: spare", seats.results.spare_pressure, worst.spare_pressure[side]]);
    else pairs.push(["seats: state", seats.results.state, "short"]);
    if (worst.bowl_demand.secondary === null) pairs.push(["bowls last", bowls.results.time_to_empty, worst.time_to_empty]);
    const row = { calculator: "seat-flow", opens: { whole_build: false }, number: 1, set: {} };
    const said = page.m_figures_guide.answerOf(app, "lean-top", row, build, numbers, null);
    pairs.push(["after a bad pass", said.state, seats.results.state]);
    return pairs;
  });
}"""


# Pumps as they are sold: the last two push against the boost, one of them with it on its back.
PUMPS = [
    {"pump.kind": "point", "pump.point_flow": "255 L/h", "pump.point_pressure": "40 psi"},
    {"pump.curve": [["0 psi", "150 gal/h"], ["30 psi", "120 gal/h"]], "pump.pumps": "2", "pump.arrangement": "behind"},
    {
        "pump.kind": "engine",
        "pump.driven_flow": "120 gal/h",
        "pump.driven_speed": "3500 rpm",
        "pump.relief_pressure": "38 psi",
        "pump.drive_ratio": "0.5",
    },
    {"pump.kind": "diaphragm", "pump.free_flow": "110 gal/h", "pump.spring_pressure": "15 psi", "pump.boost_on_top": True},
    {"pump.kind": "diaphragm", "pump.free_flow": "110 gal/h", "pump.spring_pressure": "15 psi", "pump.boost_on_top": False},
]


def random_car(draw):
    names = [name for name in CHANGES if draw.random() < 0.4]
    return {"texts": {name: draw.choice(CHANGES[name]) for name in names}, "boost": PSI * draw.choice([0, 4, 9, 13, 20, 30])}


def alike(here, there):
    return here == there if isinstance(here, str) or here is None or there is None else here == pytest.approx(there, rel=1e-6, abs=1e-9)


def test_supply_its_figures_and_the_guide_say_the_same(chromium, shared_server):
    context = open_context(chromium)
    context.set_default_timeout(120_000)
    page = ready(context.new_page(), f"{shared_server.url}/#/link")
    draw = random.Random(20260101)
    cars = [random_car(draw) for _ in range(BUILDS - len(PUMPS))] + [{"texts": pump, "boost": 5 * PSI} for pump in PUMPS]
    compared = 0
    for start in range(0, BUILDS, 25):
        answers = page.evaluate(COMPARE, cars[start : start + 25])
        for car, pairs in zip(cars[start:], answers, strict=False):
            different = [pair for pair in pairs if not alike(pair[1], pair[2])]
            assert different == [], car
            compared += len(pairs)
    assert compared >= 10 * BUILDS
    context.close()


def load_example(page, server):
    ready(page, f"{server.url}/#/supply")
    page.get_by_role("button", name="Load the invented example car").click()
    page.wait_for_selector(".lead-number")


@pytest.mark.parametrize("name", ["what-it-takes", "through-a-pass", "fuel-swap", "fuel-pressure"])
def test_what_was_typed_wrong_into_the_car_blocks_the_figures_too(page, shared_server, name):
    """A value that was refused is never replaced by an earlier one, or by an example."""
    load_example(page, shared_server)
    page.goto(f"{shared_server.url}/#/build/regulator")
    page.get_by_label("Base fuel pressure", exact=True).fill("nonsense")
    page.goto(f"{shared_server.url}/#/figures/{name}")
    page.get_by_text("Base fuel pressure: Enter a number. Put it right in Build.").wait_for()
    assert page.locator(".answer-head .lead-number").count() == 0


def test_after_a_bad_pass_names_the_field_of_the_car_that_is_wrong(page, shared_server):
    load_example(page, shared_server)
    page.goto(f"{shared_server.url}/#/build/regulator")
    page.get_by_label("Base fuel pressure", exact=True).fill("nonsense")
    page.goto(f"{shared_server.url}/#/figures/after-bad-pass")
    supply = page.locator(".says", has_text="Supply check").first
    supply.get_by_text("Base fuel pressure: Enter a number.").wait_for()


def test_a_figure_counts_todays_air_as_supply_does(page, shared_server):
    """The same car in the same air: what it takes asks what Supply answers."""
    load_example(page, shared_server)
    page.goto(f"{shared_server.url}/#/figures/density-altitude")
    page.get_by_label("Air temperature", exact=True).fill("104")
    page.goto(f"{shared_server.url}/#/figures/what-it-takes")
    page.wait_for_selector("[data-field=air]")
    page.locator("[data-field=air] > summary").click()
    assert page.locator("[data-field=air] [data-field=temperature] input").input_value() == "104"
