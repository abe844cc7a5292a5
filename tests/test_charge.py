"""Air under boost and fuel demand: reference cases, CoolProp's real air live, and hand figures."""

import math
import random

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import charge, fuels, network, supply
from tests.builds import car
from tests.reference import agrees, cases

PSI = 6894.757293168361
HP = 745.6998715822702
LB_HP_H = 0.45359237 / (HP * 3600.0)
NONE = {"efficiency": 0.7, "inlet_loss": 0.0, "cooler_loss": 0.0, "effectiveness": 0.0, "coolant_temperature": None, "evaporated": 0.0}
TODAY = {"pressure": 101325.0, "temperature": 293.15, "humidity": 0.4}
PETROL = fuels.properties({"fuel": "petrol"}, 293.15)


def state(boost, **more):
    return charge.state_of_charge(TODAY, {**NONE, **more}, boost, PETROL, 0.8)


@pytest.mark.parametrize("case", cases("07_compression", "outlet_temperature"), ids=lambda case: case["id"])
def test_compression(case):
    told = case["inputs"]
    inlet = told["inlet_temperature_K"]
    hot = charge.outlet_temperature(inlet, told["pressure_ratio"], told["isentropic_efficiency"])
    agrees(hot, case, "outlet_temperature_K")
    agrees(hot, case, "outlet_temperature_real_air_K")
    agrees(hot - inlet, case, "temperature_rise_K")
    today = {"pressure": told["inlet_pressure_Pa"], "temperature": inlet, "humidity": 0.0}
    blower = {**NONE, "efficiency": told["isentropic_efficiency"]}
    full = charge.state_of_charge(today, blower, told["inlet_pressure_Pa"] * (told["pressure_ratio"] - 1.0), PETROL, 0.8)
    agrees(full["density"] / full["outside_density"], case, "density_ratio")


@pytest.mark.parametrize("ratio", [1.2, 1.8, 2.6])
def test_real_air_live(ratio):
    inlet, pressure, efficiency = 293.15, 1e5, 0.7
    start = PropsSI("H", "T", inlet, "P", pressure, "Air")
    ideal = PropsSI("H", "P", ratio * pressure, "S", PropsSI("S", "T", inlet, "P", pressure, "Air"), "Air")
    real = PropsSI("T", "P", ratio * pressure, "H", start + (ideal - start) / efficiency, "Air")
    # Real air's heat capacity rises a little with temperature: up to 0.35 % of absolute temperature.
    assert charge.outlet_temperature(inlet, ratio, efficiency) == pytest.approx(real, rel=3.5e-3)
    # The ideal gas law from there: real air's compressibility moves by less than 1e-3 here.
    ideal_density = PropsSI("D", "T", inlet, "P", pressure, "Air") * ratio * inlet / real
    assert ideal_density == pytest.approx(PropsSI("D", "T", real, "P", ratio * pressure, "Air"), rel=1e-3)


def test_losses_raise_the_ratio_and_a_cooler_lowers_the_heat():
    plain, lossy = state(10 * PSI), state(10 * PSI, inlet_loss=2e3, cooler_loss=5e3)
    assert lossy["pressure_ratio"] == pytest.approx((101325.0 + 10 * PSI + 5e3) / (101325.0 - 2e3))
    assert lossy["charge_temperature"] > plain["charge_temperature"]
    cooled = state(10 * PSI, effectiveness=0.7)
    assert cooled["charge_temperature"] == pytest.approx(0.3 * plain["charge_temperature"] + 0.7 * 293.15)
    iced = state(10 * PSI, effectiveness=0.7, coolant_temperature=275.15)
    assert iced["charge_temperature"] == pytest.approx(0.3 * plain["charge_temperature"] + 0.7 * 275.15)


def test_evaporating_fuel_cools_but_never_freezes():
    # A fifth of the petrol at lambda 0.8: 0.2 * 350 kJ/kg over 11.7 kg of air at 1.005 kJ/(kg K) is 6 K, by hand.
    plain = state(10 * PSI)["charge_temperature"]
    assert plain - state(10 * PSI, evaporated=0.2)["mixture_temperature"] == pytest.approx(6.0, abs=0.1)
    methanol = fuels.properties({"fuel": "methanol"}, 293.15)
    cold = charge.state_of_charge(TODAY, {**NONE, "evaporated": 1.0}, 5 * PSI, methanol, 0.7)
    assert cold["mixture_temperature"] == 273.15


@given(st.floats(0.0, 60.0), st.floats(0.01, 5.0), st.floats(0.4, 0.9), st.floats(0.0, 1.0), st.floats(0.0, 0.5))
@settings(max_examples=200, deadline=None)
def test_more_boost_always_means_more_air(boost, more, efficiency, effectiveness, evaporated):
    given_blower = {"efficiency": efficiency, "effectiveness": effectiveness, "evaporated": evaporated}
    low, high = state(boost * PSI, **given_blower), state((boost + more) * PSI, **given_blower)
    assert high["mixture_density"] > low["mixture_density"]


def asked(**more):
    return {
        **TODAY,
        **NONE,
        "boost": 10 * PSI,
        "lambda_target": 0.8,
        "fuel": "petrol",
        "fuel_temperature": 293.15,
        "demand_from": "both",
        "displacement": 350 * 0.0254**3,
        "speed": 6000 * math.pi / 30.0,
        "volumetric_efficiency": 0.9,
        "power": 500 * HP,
        "consumption": 0.6 * LB_HP_H,
        **more,
    }


def test_engine_air_by_hand():
    # 350 in3 at 6000 rpm and 90 %: 350 * 6000 / 3456 * 0.9 = 547 ft3/min at the density of the charge (trade formula).
    answer = charge.fuel_demand(asked())
    at_charge = answer["air_mass_flow"] / state(10 * PSI)["density"]
    assert at_charge / 0.3048**3 * 60.0 == pytest.approx(350 * 6000 / 3456 * 0.9, rel=1e-3)
    assert answer["air_flow"] * state(10 * PSI)["outside_density"] == pytest.approx(answer["air_mass_flow"])


def test_both_ways_and_the_difference():
    answer = charge.fuel_demand(asked())
    # 500 hp at 0.6 lb/hp h is 300 lb/h by definition.
    assert answer["demand_from_power"] * answer["fuel_density"] * 3600.0 / 0.45359237 == pytest.approx(300.0)
    assert answer["fuel_demand"] == max(answer["demand_from_air"], answer["demand_from_power"])
    assert answer["difference"] == pytest.approx(answer["demand_from_power"] / answer["demand_from_air"] - 1.0)
    assert answer["power_of_air"] == pytest.approx(500 * HP / (1.0 + answer["difference"]))


def test_one_way_alone():
    of_air = charge.fuel_demand(asked(demand_from="air", power=None, consumption=None))
    of_power = charge.fuel_demand(asked(demand_from="power", displacement=None, speed=None, volumetric_efficiency=None))
    assert of_air["demand_from_power"] is None and of_power["demand_from_air"] is None
    assert of_air["fuel_mass_flow"] == pytest.approx(of_air["air_mass_flow"] / (PETROL["stoich"] * 0.8))


@pytest.mark.parametrize(("field", "more"), [("inlet_loss", {"inlet_loss": 2e5}), ("power", {"power": 0.0})])
def test_what_cannot_be_is_said_at_its_field(field, more):
    with pytest.raises(ValueError, match=f"^{field}: "):
        charge.fuel_demand(asked(**more))


def test_charge_air_tells_what_it_found():
    answer = charge.charge_air(asked())
    assert answer["density_ratio"] == pytest.approx(answer["density"] / answer["outside_density"])
    assert any("cooler" in note for note in charge.charge_air(asked(boost=20 * PSI))["notes"])


# Where nobody said whether there is a cooler


def demand(**changes):
    """Fuel demand of the invented car by the figure and by the supply check, [m3/s] both."""
    build = car(**changes)
    inputs = {**build["engine"], **build["charge"], **build["air"], **build["fuel"], "boost": build["boost"]}
    alone = charge.fuel_demand({**inputs, "fuel_temperature": build["fuel"]["temperature"], "temperature": build["air"]["temperature"]})
    checked = network.full_demand(network.prepare_system(build), build["boost"])
    assert alone["charge_temperature"] == pytest.approx(checked["charge_temperature"], rel=1e-12)
    return alone["fuel_demand"], checked["flow"]


def test_the_figure_and_the_check_draw_the_same_fuel():
    """Fifty random builds: one demand, at any boost, from air or power, in any air, with any cooler or none told."""
    draw = random.Random(20260317)
    seen = set()
    for _ in range(50):
        changes = {
            "engine__demand_from": draw.choice(["air", "power", "both"]),
            "engine__displacement": draw.uniform(0.002, 0.009),
            "engine__power": draw.uniform(200e3, 900e3),
            "engine__power_boost": draw.uniform(0.0, 20.0) * PSI,
            "charge__efficiency": draw.uniform(0.5, 0.8),
            "charge__cooler": draw.choice([None, "yes", "no"]),
            "charge__effectiveness": draw.choice([None, 0.0, 0.6]),
            "charge__coolant_temperature": draw.choice([None, 275.0]),
            "charge__evaporated": draw.choice([0.0, 0.2]),
            "fuel__fuel": draw.choice(["petrol", "methanol"]),
            "fuel__temperature": draw.uniform(280.0, 320.0),
            "air__pressure": draw.uniform(80e3, 103e3),
            "air__temperature": draw.uniform(270.0, 310.0),
            "boost": draw.uniform(0.0, 25.0) * PSI,
        }
        alone, checked = demand(**changes)
        assert alone == pytest.approx(checked, rel=1e-12), changes
        seen.add(checked)
    assert len(seen) == 50


@pytest.mark.parametrize("source", ["air", "power", "both"])
@pytest.mark.parametrize("boost", [4.0, 10.0, 20.0])
def test_a_cooler_that_nobody_told_of_counts_as_the_thirstier(source, boost):
    """Air follows the gas law, so a cooler asks for more; a known power asks for less below the boost it was made at."""

    def drawn(**changes):
        return demand(engine__demand_from=source, boost=boost * PSI, **{f"charge__{name}": value for name, value in changes.items()})[0]

    none, usual = drawn(cooler="no", effectiveness=None), drawn(cooler="yes", effectiveness=0.7)
    assert drawn(cooler=None, effectiveness=None) == max(none, usual) and (source == "power" or usual != none)
    assert drawn(cooler=None, effectiveness=0.7) == usual == drawn(effectiveness=0.7), "a typed effectiveness is a cooler"
    assert drawn(cooler=None, effectiveness=0.0) == none == drawn(cooler="no", effectiveness=0.7)
    if source == "air":
        assert drawn(cooler="yes", effectiveness=None) > usual > none, "a cooler that nobody measured counts as a good one"


def test_air_that_nobody_told_of_a_cooler_is_told_hot():
    asked = {"boost": 10 * PSI, "lambda_target": 0.8, "fuel": "petrol", "fuel_temperature": 300.0, **TODAY}
    told = {cooler: charge.charge_air({**asked, **NONE, "cooler": cooler, "effectiveness": None}) for cooler in [None, "yes", "no"]}
    assert told[None]["charge_temperature"] == told["no"]["charge_temperature"] > told["yes"]["charge_temperature"]
    assert "Nobody said whether there is a cooler" in told[None]["notes"][1]
    assert not any("Nobody said" in note for cooler in ["yes", "no"] for note in told[cooler]["notes"])


@pytest.mark.parametrize("fuel", [{"fuel": "petrol"}, {"fuel": "blend", "ethanol": 0.85}, {"fuel": "methanol"}])
def test_fuel_for_a_power_that_nobody_gave_goes_by_the_fuel(fuel):
    """Common practice, no source: 0.55 to 0.65 lb/hp.h of petrol under boost, about 0.85 of E85, 1.2 and more of methanol."""
    usual = {"petrol": (0.55, 0.65), "blend": (0.8, 0.97), "methanol": (1.2, 1.5)}[fuel["fuel"]]
    told = charge.fuel_demand(asked(demand_from="power", consumption=None, power_boost=None, **fuel))
    of_one = charge.fuel_demand(asked(demand_from="power", consumption=LB_HP_H, power_boost=None, **fuel))
    assert usual[0] <= told["fuel_mass_flow"] / of_one["fuel_mass_flow"] <= usual[1]
    build = car(case="full", engine__demand_from="power", fuel__fuel=fuel["fuel"], fuel__ethanol=fuel.get("ethanol"))
    flows = []
    for consumption in (None, LB_HP_H):
        build["engine"]["consumption"] = consumption
        flows.append(supply.supply_point(build)["fuel_demand"])
    assert usual[0] <= flows[0] / flows[1] <= usual[1]
