"""Needle, seat and bowl: reference orifices, the fluids library inside the limits of ISO 5167, and round trips."""

import math

import pytest
from fluids.flow_meter import flow_meter_discharge
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import seats
from tests.reference import agrees, cases

PSI = 6894.757293168361


@pytest.mark.parametrize("case", cases("10_orifice", "simple_orifice"), ids=lambda case: case["id"])
def test_orifice_flow(case):
    told = case["inputs"]
    flow = seats.orifice_flow(told["cd"], told["diameter_m"], told["dp_Pa"], told["density_kg_m3"])
    agrees(flow, case, "flow_m3_s")
    agrees(flow * told["density_kg_m3"], case, "mass_flow_kg_s")
    agrees(flow * 3.6e6, case, "flow_L_h")


@pytest.mark.parametrize("case", cases("10_orifice", "iso5167_inside_limits"), ids=lambda case: case["id"])
def test_a_metering_orifice_of_iso_5167(case):
    told = case["inputs"]
    flow = seats.orifice_flow(case["expected"]["discharge_coefficient"], told["bore_m"], told["dp_Pa"], told["density_kg_m3"])
    # The simple formula leaves out the velocity of approach, below 1e-3 for bores up to a fifth of the pipe.
    agrees(flow * told["density_kg_m3"], case, "mass_flow_kg_s")
    live = flow_meter_discharge(
        D=told["pipe_diameter_m"],
        Do=told["bore_m"],
        P1=5e5,
        P2=5e5 - told["dp_Pa"],
        rho=told["density_kg_m3"],
        C=case["expected"]["discharge_coefficient"],
        expansibility=1.0,
    )
    assert flow * told["density_kg_m3"] == pytest.approx(live, rel=2e-3)


@given(st.floats(0.4, 0.95), st.floats(0.5e-3, 6e-3), st.floats(1e2, 5e5), st.floats(600.0, 1200.0))
@settings(max_examples=200, deadline=None)
def test_flow_pressure_and_diameter_are_inverses(coefficient, diameter, drop, density):
    flow = seats.orifice_flow(coefficient, diameter, drop, density)
    assert seats.orifice_pressure(coefficient, diameter, flow, density) == pytest.approx(drop, rel=1e-12)
    assert seats.orifice_diameter(coefficient, flow, drop, density) == pytest.approx(diameter, rel=1e-12)


def asked(**more):
    return {
        "seats": 2.0,
        "diameter": 0.0028,
        "coefficient": 0.7,
        "fuel_pressure": 16 * PSI,
        "bowl_pressure": 10 * PSI,
        "demand": 6e-5,
        "fuel": "petrol",
        "fuel_temperature": 288.15,
        "margin": 0.2,
        "pressure_margin": PSI,
        **more,
    }


def test_two_seats_pass_twice_what_one_does():
    assert seats.seat_flow(asked())["flow"] == pytest.approx(2.0 * seats.seat_flow(asked(seats=1.0))["flow"], rel=1e-12)


def test_the_size_it_names_passes_demand_and_margin():
    size = seats.seat_flow(asked(diameter=0.001))["diameter_needed"]
    assert seats.seat_flow(asked(diameter=size))["spare_fraction"] == pytest.approx(0.2, rel=1e-9)


def test_the_gauge_it_names_passes_the_demand():
    needed = seats.seat_flow(asked())["gauge_needed"]
    assert seats.seat_flow(asked(fuel_pressure=needed))["spare_fraction"] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("pressure", "state"), [(16.0, "holds"), (12.8, "thin"), (11.0, "short"), (10.0, "short"), (7.0, "short")])
def test_states(pressure, state):
    answer = seats.seat_flow(asked(fuel_pressure=pressure * PSI))
    assert answer["state"] == state
    assert (answer["diameter_needed"] is None) == (pressure <= 11.0), "a psi is to be spare"


def test_a_bowl_that_is_not_fed_enough():
    answer = seats.bowl_feed({"volume": 1.2e-4, "bowls": 2.0, "demand": 9e-5, "supply": 6e-5})
    assert answer["time_to_empty"] == pytest.approx(8.0)
    assert answer["full_bowl_time"] == pytest.approx(2.4e-4 / 9e-5)
    assert answer["sweep"][-1]["left"] == pytest.approx(0.0, abs=1e-15)
    assert answer["state"] == "short"


def test_a_bowl_that_is():
    answer = seats.bowl_feed({"volume": 1.2e-4, "bowls": 1.0, "demand": 6e-5, "supply": 6e-5})
    assert answer["time_to_empty"] is None
    assert answer["state"] == "holds"


@pytest.mark.parametrize("calculator", [seats.seat_flow, seats.bowl_feed])
def test_nothing_asked_for(calculator):
    with pytest.raises(ValueError, match="^demand: "):
        calculator(asked(demand=0.0, volume=1e-4, bowls=1.0, supply=0.0))


@pytest.mark.parametrize(
    "diameter, least, state, said",
    [
        (0.0022, 1.0, "short", "The seats pass {flow} where the engine drinks"),
        (0.0024, 1.0, "thin", "only {spare_fraction}"),
        (0.0026, 3.0, "thin", "only {spare_pressure}"),
        (0.0030, 3.0, "holds", "with {spare_fraction} to spare."),
    ],
)
def test_both_margins_count(diameter, least, state, said):
    answer = seats.seat_flow(asked(diameter=diameter, pressure_margin=least * PSI))
    assert answer["state"] == state and said in answer["notes"][0]


@pytest.mark.parametrize(("margin", "still"), [(0.2, 40e3), (0.5, 50e3), (0.1, 60e3)])
def test_the_size_needed_passes_the_flow_wanted_through_the_lines_before_it(margin, still):
    """A line that loses with the square of flow in series with the seats: solved by hand, the size found put back into it."""
    demand, area = 6e-5, 2.0 * math.pi / 4.0 * 0.0028**2
    per_flow = 4e12  # Pa s2/m6, lost in the line
    per_seat = 745.0 / 2.0 / (0.7 * area) ** 2
    flow = math.sqrt(still / (per_flow + per_seat))
    answer = seats.seat_flow(
        asked(
            fuel_pressure=10 * PSI + still - per_flow * demand**2,
            opening_loss=per_flow * (flow**2 - demand**2),
            margin=margin,
            pressure_margin=0.0,
        )
    )
    assert answer["flow"] == pytest.approx(flow, rel=1e-9)
    wanted = demand * (1.0 + margin)
    left = still - per_flow * wanted**2
    area_needed = wanted / 0.7 / math.sqrt(2.0 * left / answer["density"])
    assert answer["diameter_needed"] == pytest.approx(math.sqrt(area_needed / 2.0 * 4.0 / math.pi), rel=1e-9)
