"""Jets: the fuel swap against the orifice formula, drills against the published tables, vents against the square root."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import jets
from tests.reference import agrees, cases

PSI = 6894.757293168361


def asked(**more):
    inputs = {
        "fuel_from": "petrol",
        "fuel_to": "petrol",
        "ethanol_from": None,
        "ethanol_to": None,
        "stoich_from": None,
        "stoich_to": None,
        "fuel_density_from": None,
        "fuel_density_to": None,
        "lambda_from": 0.8,
        "lambda_to": 0.8,
        "air_density_from": 1.2,
        "air_density_to": 1.2,
        "diameter": 0.0018,
    }
    return {**inputs, **more}


@pytest.mark.parametrize("case", cases("10_orifice", "jet_area_fuel_swap"), ids=lambda case: case["id"])
def test_fuel_swap_agrees_with_the_orifice_formula(case):
    told = case["inputs"]
    answer = jets.jet_change(
        asked(
            fuel_from="own",
            stoich_from=told["afr_from"],
            fuel_density_from=told["density_from_kg_m3"],
            fuel_to="own",
            stoich_to=told["afr_to"],
            fuel_density_to=told["density_to_kg_m3"],
        )
    )
    agrees(answer["mass_flow_ratio"], case, "mass_flow_ratio")
    agrees(answer["area_ratio"], case, "area_ratio")
    agrees(answer["diameter_to"] / 0.0018, case, "diameter_ratio")


NAMED = {
    "gasoline_CH1.87": {"fuel": "petrol"},
    "methanol": {"fuel": "methanol"},
    "ethanol": {"fuel": "blend", "ethanol": 1.0},
    "E10": {"fuel": "blend", "ethanol": 0.10},
    "E85": {"fuel": "blend", "ethanol": 0.85},
    "E98": {"fuel": "blend", "ethanol": 0.98},
}


@pytest.mark.parametrize("case", cases("10_orifice", "jet_area_fuel_swap"), ids=lambda case: case["id"])
def test_named_fuels_lie_where_the_reference_puts_them(case):
    # The reference counts air a little differently (0.07 percent in the ratio) and rounds densities elsewhere.
    one, other = NAMED[case["inputs"]["from"]], NAMED[case["inputs"]["to"]]
    answer = jets.jet_change(
        asked(fuel_from=one["fuel"], ethanol_from=one.get("ethanol"), fuel_to=other["fuel"], ethanol_to=other.get("ethanol"))
    )
    assert answer["area_ratio"] == pytest.approx(case["expected"]["area_ratio"], rel=2e-3)


@pytest.mark.parametrize("case", cases("14_number_drills", "number_to_diameter"), ids=lambda case: case["id"])
def test_number_drills_agree_with_the_standard(case):
    agrees(jets.number_drill(case["inputs"]["drill_number"]), case, "diameter_m")


@pytest.mark.parametrize("case", cases("14_number_drills", "nearest_drill"), ids=lambda case: case["id"])
def test_nearest_number_drill(case):
    diameter = case["inputs"]["diameter_m"]
    nearest = jets.nearest_number_drill(diameter)
    agrees(nearest["number"], case, "drill_number")
    agrees(nearest["diameter"], case, "drill_diameter_m")
    above = jets.drills_around(diameter, jets.number_drills())["above"]
    assert above["name"] == f"#{case['expected']['smallest_not_below']:.0f}"


def test_number_drills_fall_in_size_as_the_number_rises():
    sizes = [jets.number_drill(number) for number in range(1, 81)]
    assert all(larger > smaller for larger, smaller in zip(sizes, sizes[1:], strict=False))


@pytest.mark.parametrize("number", [0, 81, 1.5, -3])
def test_there_is_no_such_number_drill(number):
    with pytest.raises(ValueError, match="number: "):
        jets.number_drill(number)


def test_metric_drills_step_as_the_series_does():
    """BS 328 as described in public texts: hundredths 0, 2, 5, 8 of each tenth; then twentieths; then tenths of a millimetre."""
    names = [drill["name"] for drill in jets.metric_drills()]
    for there in ["0.20 mm", "0.42 mm", "0.98 mm", "1.05 mm", "2.95 mm", "3.00 mm", "3.10 mm", "10.00 mm"]:
        assert there in names
    for absent in ["0.15 mm", "0.41 mm", "1.02 mm", "3.05 mm"]:
        assert absent not in names


def test_exact_size_is_the_drill_on_both_sides():
    answer = jets.jet_change(asked(diameter=jets.number_drill(50)))
    assert answer["drill_below"] == answer["drill_above"] == {"name": "#50", "diameter": 0.001778, "area_error": 0.0}


def test_outside_the_tables_one_side_is_open():
    too_small = jets.jet_change(asked(diameter=0.0001))
    assert too_small["drill_below"] is None and too_small["drill_above"]["name"] == "0.20 mm"
    too_large = jets.jet_change(asked(diameter=0.02))
    assert too_large["drill_above"] is None and too_large["drill_below"]["name"] == "10.00 mm"
    assert any("outside the drill tables" in note for note in too_large["notes"])


def test_ethanol_wants_a_third_to_a_half_more_volume_and_methanol_twice():
    """Common practice, no source: E85 a third to a half more fuel by volume than petrol at the same lambda, methanol about twice."""
    ethanol = jets.jet_change(asked(fuel_to="blend", ethanol_to=0.85))["volume_flow_ratio"]
    methanol = jets.jet_change(asked(fuel_to="methanol"))["volume_flow_ratio"]
    assert 1.33 <= ethanol <= 1.5
    assert 1.9 <= methanol <= 2.3


def test_boost_leans_a_jetting_by_the_root_of_density():
    assert jets.jet_change(asked(air_density_to=2.4))["area_ratio"] == pytest.approx(math.sqrt(2.0), rel=1e-12)
    assert jets.jet_change(asked(air_density_to=2.4))["volume_flow_ratio"] == pytest.approx(1.0, rel=1e-12)
    assert jets.jet_change(asked(air_density_to=2.4))["demand_ratio"] == pytest.approx(2.0, rel=1e-12)


def test_richer_target_takes_area_in_proportion():
    assert jets.jet_change(asked(lambda_from=0.9, lambda_to=0.75))["area_ratio"] == pytest.approx(1.2, rel=1e-12)


def test_own_fuel_without_its_numbers_says_so():
    with pytest.raises(ValueError, match="stoich"):
        jets.jet_change(asked(fuel_to="own"))


fuels_ = st.one_of(
    st.tuples(st.sampled_from(["petrol", "methanol"]), st.none(), st.none(), st.none()),
    st.tuples(st.just("blend"), st.floats(0.0, 1.0), st.none(), st.none()),
    st.tuples(st.just("own"), st.none(), st.floats(4.0, 18.0), st.floats(600.0, 1200.0)),
)
lambdas = st.floats(0.5, 1.5)
densities = st.floats(0.6, 6.0)


@st.composite
def changes(draw):
    inputs = asked(diameter=draw(st.floats(0.0003, 0.006)))
    for side in ["from", "to"]:
        fuel, ethanol, stoich, density = draw(fuels_)
        inputs.update(
            {
                f"fuel_{side}": fuel,
                f"ethanol_{side}": ethanol,
                f"stoich_{side}": stoich,
                f"fuel_density_{side}": density,
                f"lambda_{side}": draw(lambdas),
                f"air_density_{side}": draw(densities),
            }
        )
    return inputs


def turned_round(inputs):
    swapped = dict(inputs)
    for key in ["fuel", "ethanol", "stoich", "fuel_density", "lambda", "air_density"]:
        swapped[f"{key}_from"], swapped[f"{key}_to"] = inputs[f"{key}_to"], inputs[f"{key}_from"]
    return swapped


@settings(max_examples=60, deadline=None)
@given(changes())
def test_there_and_back_is_where_it_began(inputs):
    there = jets.jet_change(inputs)
    back = jets.jet_change({**turned_round(inputs), "diameter": there["diameter_to"]})
    assert back["diameter_to"] == pytest.approx(inputs["diameter"], rel=1e-9)
    for key in ["area_ratio", "mass_flow_ratio", "volume_flow_ratio", "demand_ratio"]:
        assert there[key] * back[key] == pytest.approx(1.0, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(changes())
def test_drills_enclose_the_size(inputs):
    answer = jets.jet_change(inputs)
    below, above = answer["drill_below"], answer["drill_above"]
    wanted = answer["diameter_to"]
    if below is not None:
        assert below["diameter"] <= wanted * (1 + 1e-9) and below["area_error"] <= 0.0
        assert not any(below["diameter"] < drill["diameter"] < wanted * (1 - 1e-9) for drill in jets.all_drills())
    if above is not None:
        assert above["diameter"] >= wanted * (1 - 1e-9) and above["area_error"] >= 0.0
        assert not any(wanted * (1 + 1e-9) < drill["diameter"] < above["diameter"] for drill in jets.all_drills())
        assert above["area_error"] == pytest.approx((above["diameter"] / wanted) ** 2 - 1.0, abs=1e-8)


def vents(**more):
    inputs = {
        "boost": 10 * PSI,
        "shortfall_given": "share",
        "bowl_share": 1.0,
        "shortfall": None,
        "signal_given": "pressure",
        "signal": 0.8 * PSI,
        "lambda_now": 0.75,
        "air_mass_flow": None,
        "air_density": None,
        "venturi_diameter": None,
        "venturis": None,
        "booster_gain": None,
    }
    return {**inputs, **more}


def test_right_vents_change_nothing():
    answer = jets.vent_shortfall(vents())
    assert (answer["state"], answer["lambda_to"], answer["fuel_ratio"], answer["boost_no_fuel"]) == ("holds", 0.75, 1.0, None)


def test_two_percent_of_the_boost_is_a_quarter_of_the_signal():
    """0.2 psi missing of 0.8 psi: the root of three quarters of the fuel (square-root law of the orifice)."""
    answer = jets.vent_shortfall(vents(bowl_share=0.98))
    assert answer["fuel_ratio"] == pytest.approx(math.sqrt(0.75), rel=1e-9)
    assert answer["lambda_to"] == pytest.approx(0.75 / math.sqrt(0.75), rel=1e-9)
    assert answer["state"] == "short"
    assert answer["boost_no_fuel"] == pytest.approx(40 * PSI, rel=1e-9)


def test_no_signal_left_means_no_fuel():
    answer = jets.vent_shortfall(vents(shortfall_given="pressure", shortfall=0.8 * PSI))
    assert (answer["state"], answer["fuel_ratio"], answer["lambda_to"]) == ("short", 0.0, None)


def test_ram_into_the_vents_runs_rich():
    answer = jets.vent_shortfall(vents(bowl_share=1.02))
    assert answer["lambda_to"] < 0.75 and answer["state"] == "thin"


def test_signal_from_the_air_is_bernoulli():
    answer = jets.vent_shortfall(
        vents(signal_given="air", air_mass_flow=0.5, air_density=1.25, venturi_diameter=0.04, venturis=4.0, booster_gain=2.0)
    )
    speed = 0.5 / 1.25 / (4 * math.pi * 0.02**2)
    assert answer["metering_signal"] == pytest.approx(2.0 * 0.5 * 1.25 * speed**2, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0, 60 * PSI), st.floats(0.5, 1.2), st.floats(0.5, 1.2), st.floats(100.0, 20000.0))
def test_more_missing_is_never_richer(boost, one, other, signal):
    low, high = min(one, other), max(one, other)
    short = jets.vent_shortfall(vents(boost=boost, bowl_share=low, signal=signal))
    full = jets.vent_shortfall(vents(boost=boost, bowl_share=high, signal=signal))
    assert short["fuel_ratio"] <= full["fuel_ratio"]


def boosted(**more):
    inputs = {
        "lambda_from": 0.85,
        "lambda_to": 0.78,
        "boost": 8 * PSI,
        "ambient_pressure": 101325.0,
        "ambient_temperature": 288.15,
        "efficiency": 0.65,
        "effectiveness": 0.0,
        "coolant_temperature": None,
        "diameter": 0.00185,
        "enrichment": None,
    }
    return {**inputs, **more}


def test_boost_leans_by_the_root_of_density_worked_by_hand():
    """Ideal gas and isentropic compression, k = 1.4 (textbook); the mixture by the square root of the orifice."""
    answer = jets.mixture_at_boost(boosted())
    pressure_ratio = (101325 + 8 * PSI) / 101325
    temperature_ratio = 1 + (pressure_ratio ** (0.4 / 1.4) - 1) / 0.65
    assert answer["density_ratio"] == pytest.approx(pressure_ratio / temperature_ratio, rel=1e-9)
    assert answer["lambda_at_boost"] == pytest.approx(0.85 * math.sqrt(pressure_ratio / temperature_ratio), rel=1e-9)
    assert answer["state"] == "short"


def test_perfect_cooler_leaves_the_pressure_ratio():
    answer = jets.mixture_at_boost(boosted(effectiveness=1.0))
    assert answer["density_ratio"] == pytest.approx((101325 + 8 * PSI) / 101325, rel=1e-12)


def test_no_boost_changes_nothing():
    answer = jets.mixture_at_boost(boosted(boost=0.0, lambda_to=0.85))
    assert (answer["lambda_at_boost"], answer["area_ratio"], answer["state"]) == (0.85, 1.0, "holds")
    assert answer["enrichment_to"] == 0.0 and answer["drill_below"] is None


@settings(max_examples=60, deadline=None)
@given(st.floats(0.6, 1.2), st.floats(0.6, 1.2), st.floats(0, 60 * PSI), st.floats(0, 1), st.floats(0.3e-3, 3e-3), st.floats(0, 2e-3))
def test_enrichment_makes_up_the_area(lambda_from, lambda_to, boost, effectiveness, main, open_now):
    answer = jets.mixture_at_boost(
        boosted(lambda_from=lambda_from, lambda_to=lambda_to, boost=boost, effectiveness=effectiveness, diameter=main, enrichment=open_now)
    )
    area_now, area_then = main**2 + open_now**2, main**2 + answer["enrichment_to"] ** 2
    if answer["enrichment_to"] > 0:
        assert area_then / area_now == pytest.approx(answer["area_ratio"], rel=1e-9)
    else:
        assert answer["area_ratio"] * area_now <= main**2 * (1 + 1e-9)
    assert answer["area_ratio"] * lambda_to == pytest.approx(answer["lambda_at_boost"], rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.6, 0.9), st.floats(0.6, 0.9), st.floats(0, 60 * PSI), st.floats(0, 1))
def test_boost_ceiling_put_back_gives_the_target(lambda_from, lambda_to, boost, effectiveness):
    asked_ = boosted(lambda_from=lambda_from, lambda_to=lambda_to, boost=boost, effectiveness=effectiveness)
    ceiling = jets.mixture_at_boost(asked_)["boost_ceiling"]
    if ceiling is None:
        assert jets.mixture_at_boost(asked_)["sweep"][-1]["lambda"] <= lambda_to
    elif ceiling == 0.0:
        assert lambda_from >= lambda_to * (1 - 1e-12)
    else:
        assert jets.mixture_at_boost({**asked_, "boost": ceiling})["lambda_at_boost"] == pytest.approx(lambda_to, rel=1e-9)


def sheet(**more):
    inputs = {
        **{key: value for key, value in asked().items() if key[:6] in ("fuel_f", "fuel_t", "ethano", "stoich")},
        "fuel_density_from": None,
        "fuel_density_to": None,
        "lambda_cruise_from": 0.95,
        "lambda_cruise_to": 0.95,
        "lambda_load_from": 0.8,
        "lambda_load_to": 0.8,
        "air_density_from": 1.2,
        "air_density_to": 1.2,
        "load_density_from": 1.2,
        "load_density_to": 1.2,
        **{name: None for name, _ in jets.CIRCUITS},
        "main_primary": 0.0018,
        "enrichment_primary": 0.0014,
    }
    return {**inputs, **more}


def rows_of(inputs):
    return {row["circuit"]: row for row in jets.carburettor_sheet(inputs)["sheet"]}


def test_sheet_without_a_change_is_the_sheet():
    inputs = sheet(**{name: 0.0015 for name, _ in jets.CIRCUITS})
    rows = rows_of(inputs)
    assert len(rows) == len(jets.CIRCUITS)
    for row in rows.values():
        assert row["new"] == pytest.approx(row["now"], rel=1e-12)


def test_sheet_for_another_fuel_follows_the_jet_change():
    one = jets.jet_change(asked(fuel_to="blend", ethanol_to=0.85))
    inputs = sheet(fuel_to="blend", ethanol_to=0.85, idle_primary=0.0008, squirter_primary=0.0008, main_bleed=0.001)
    rows = rows_of(inputs)
    for circuit in ["Main jet, primary", "Enrichment, primary", "Idle feed, primary", "Squirter, primary"]:
        assert rows[circuit]["area_ratio"] == pytest.approx(one["area_ratio"], rel=1e-9)
    assert rows["Main air bleed"]["area_ratio"] == 1.0
    assert jets.carburettor_sheet(inputs)["volume_flow_ratio"] == pytest.approx(one["volume_flow_ratio"], rel=1e-12)


def test_boost_is_carried_by_the_enrichment_or_else_by_the_main():
    rows = rows_of(sheet(load_density_to=1.8, main_secondary=0.002, idle_primary=0.0008, squirter_primary=0.0008))
    assert rows["Main jet, primary"]["area_ratio"] == pytest.approx(1.0, rel=1e-12)
    assert rows["Main jet, secondary"]["area_ratio"] == pytest.approx(math.sqrt(1.5), rel=1e-9)
    total = (rows["Main jet, primary"]["new"] ** 2 + rows["Enrichment, primary"]["new"] ** 2) / (0.0018**2 + 0.0014**2)
    assert total == pytest.approx(math.sqrt(1.5), rel=1e-9)
    assert rows["Idle feed, primary"]["area_ratio"] == rows["Squirter, primary"]["area_ratio"] == pytest.approx(1.0)


def test_thinner_outside_air_leaves_the_squirter():
    rows = rows_of(sheet(air_density_to=1.0, idle_primary=0.0008, squirter_primary=0.0008))
    assert rows["Idle feed, primary"]["area_ratio"] == pytest.approx(math.sqrt(1.0 / 1.2), rel=1e-9)
    assert rows["Squirter, primary"]["area_ratio"] == pytest.approx(1.0, rel=1e-12)


def test_enrichment_with_nothing_left_to_do_says_so():
    answer = jets.carburettor_sheet(sheet(lambda_load_to=1.3))
    assert answer["sheet"][1]["new"] == 0.0 and answer["sheet"][1]["below"] is None
    assert any("nothing left to do" in note for note in answer["notes"])


@pytest.mark.parametrize(
    "change, field",
    [({"main_primary": None, "enrichment_primary": None}, "main_primary"), ({"enrichment_secondary": 0.001}, "main_secondary")],
)
def test_sheet_that_lacks_a_size_says_which(change, field):
    with pytest.raises(ValueError, match=f"^{field}: "):
        jets.carburettor_sheet(sheet(**change))


def test_idle_comes_last_in_the_order_of_work():
    """Common practice, no source."""
    assert any("idle screws last" in note for note in jets.carburettor_sheet(sheet())["notes"])


def test_the_chart_of_a_shortfall_begins_with_all_the_fuel_and_falls():
    rows = jets._shortfall_sweep(4000.0, 500.0)
    assert [row["missing"] for row in rows[:: len(rows) - 1]] == [0.0, 2000.0]
    assert rows[0]["fuel_ratio"] == 1.0 and rows[-1]["fuel_ratio"] == pytest.approx(0.5**0.5)
    assert all(a["fuel_ratio"] > b["fuel_ratio"] for a, b in zip(rows, rows[1:], strict=False))
