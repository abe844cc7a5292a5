"""The pump: curve against scipy and numpy, voltage against a motor's own equations, wiring against the wire tables, demand by hand."""

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from calc import pump
from tests.reference import agrees, cases

PSI = 6894.757293168361
GAL_H = 0.003785411784 / 3600.0
HP = 745.6998715822702
LB_HP_H = 0.45359237 / (HP * 3600.0)
PETROL = 745.0

STREET = [
    [0.0, 110 * GAL_H],
    [5 * PSI, 100 * GAL_H],
    [10 * PSI, 88 * GAL_H],
    [15 * PSI, 70 * GAL_H],
    [20 * PSI, 40 * GAL_H],
    [25 * PSI, 0.0],
]


def asked(**more):
    inputs = {
        "curve": STREET,
        "rated_voltage": 13.5,
        "voltage": 13.5,
        "pumps": 1.0,
        "allowance": 0.0,
        "pressure": 12 * PSI,
        "demand_from": "power",
        "power": 500 * HP,
        "consumption": 0.5 * LB_HP_H,
        "flow": None,
        "fuel": "own",
        "fuel_density": PETROL,
        "margin": 0.2,
    }
    return {**inputs, **more}


@st.composite
def curves(draw, fewest=2):
    count = draw(st.integers(fewest, 12))
    steps = draw(st.lists(st.floats(0.05, 5.0), min_size=count, max_size=count))
    drops = draw(st.lists(st.one_of(st.just(0.0), st.floats(0.001, 5.0)), min_size=count, max_size=count))
    start = draw(st.sampled_from([0.0, 1.0]))
    pressure, flow, points = start, sum(drops) + draw(st.floats(0.1, 3.0)), []
    for step, drop in zip(steps, drops, strict=True):
        points.append([pressure * PSI, flow * GAL_H])
        pressure, flow = pressure + step, max(0.0, flow - drop)
    return points


@given(curves(fewest=4), st.lists(st.floats(0.0, 1.0), min_size=5, max_size=5))
@settings(max_examples=100, deadline=None)
def test_from_four_points_on_the_curve_is_scipys_monotone_cubic(points, where):
    ours = pump.prepared_curve(points)
    theirs = PchipInterpolator([p for p, _ in points], [q for _, q in points])
    low, high = points[0][0], points[-1][0]
    for share in where:
        x = low + share * (high - low)
        # Same formula, other order of sums: only rounding may differ.
        assert pump.curve_value(ours, x) == pytest.approx(float(theirs(x)), rel=1e-9, abs=1e-12 * points[0][1])


@pytest.mark.parametrize("count", [2, 3])
def test_two_or_three_points_are_joined_by_straight_lines(count):
    points = STREET[3 : 3 + count]
    running = pump.running_pump(asked(curve=points), 13.5, "")
    for share in numpy.linspace(0.0, 1.0, 11):
        pressure = points[0][0] + share * (points[-1][0] - points[0][0])
        line = numpy.interp(pressure, [p for p, _ in points], [q for _, q in points])
        assert pump.pump_flow(running, pressure) == pytest.approx(line, rel=1e-12, abs=1e-18)


def test_points_may_come_in_any_order():
    mixed = [STREET[3], STREET[0], STREET[5], STREET[1], STREET[4], STREET[2]]
    assert pump.pump_check(asked(curve=mixed)) == pump.pump_check(asked())


@given(curves(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
@settings(max_examples=100, deadline=None)
def test_flow_never_rises_with_pressure(points, one, other):
    running = pump.running_pump(asked(curve=points), 13.5, "")
    low, high = sorted([one * points[-1][0], other * points[-1][0]])
    assert pump.pump_flow(running, high) <= pump.pump_flow(running, low) * (1.0 + 1e-12) + 1e-18


def test_nothing_is_guessed_outside_the_points():
    running = pump.running_pump(asked(curve=[[5 * PSI, 100 * GAL_H], [10 * PSI, 60 * GAL_H]]), 13.5, "")
    assert pump.pump_flow(running, 0.0) == pytest.approx(100 * GAL_H)
    assert pump.pump_flow(running, 10 * PSI) == pytest.approx(60 * GAL_H)
    assert pump.pump_flow(running, 10 * PSI * (1.0 + 1e-9)) == 0.0
    assert running["limit"] == 10 * PSI


@given(curves(), st.floats(0.0, 1.0))
@settings(max_examples=150, deadline=None)
def test_pressure_of_a_flow_is_the_inverse(points, share):
    running = pump.running_pump(asked(curve=points, allowance=0.1), 12.9, "")
    flow = share * running["most_flow"]
    pressure = pump.pump_pressure(running, flow)
    assert running["knots"][0]["pressure"] <= pressure <= running["limit"]
    assert pump.pump_flow(running, pressure) >= flow * (1.0 - 1e-12)
    # The highest such pressure: a little more and the pump gives less.
    assert pump.pump_flow(running, pressure + 1e-9 * points[-1][0]) <= flow * (1.0 + 1e-12)


def test_flow_goes_with_pumps_and_allowance():
    plain = pump.pump_check(asked())["flow_available"]
    assert pump.pump_check(asked(pumps=2.0))["flow_available"] == pytest.approx(2.0 * plain, rel=1e-12)
    assert pump.pump_check(asked(allowance=0.15))["flow_available"] == pytest.approx(0.85 * plain, rel=1e-12)


def motor_pump_flow(voltage, pressure):
    """A displacement pump on a permanent-magnet motor, by its own equations and invented constants.

    Torque = constant * current, voltage = constant * speed + resistance * current (Fitzgerald, Kingsley and Umans, Electric
    Machinery, from memory); torque = displacement * pressure, flow = displacement * speed - slip * pressure.
    """
    constant, resistance, displacement, slip = 0.02, 0.25, 2.5e-7, 5e-11
    current = displacement * pressure / constant
    speed = (voltage - resistance * current) / constant
    return displacement * speed - slip * pressure


def test_voltage_acts_as_on_a_motor_with_a_displacement_pump():
    most = 12.0 * 2.5e-7 / 0.02 / (0.25 * (2.5e-7 / 0.02) ** 2 + 5e-11)
    curve = [[0.0, motor_pump_flow(12.0, 0.0)], [most, 0.0]]
    for volts in (8.0, 10.5, 12.0):
        running = pump.running_pump(asked(curve=curve, rated_voltage=12.0), volts, "")
        assert running["limit"] == pytest.approx(most * volts / 12.0, rel=1e-9)
        for share in (0.0, 0.3, 0.9):
            pressure = share * running["limit"]
            assert pump.pump_flow(running, pressure) == pytest.approx(motor_pump_flow(volts, pressure), rel=1e-9)


def test_more_than_the_rated_voltage_adds_flow_but_no_pressure():
    running = pump.running_pump(asked(), 15.0, "")
    assert running["limit"] == 25 * PSI
    assert pump.pump_flow(running, 10 * PSI) == pytest.approx(88 * GAL_H * 15.0 / 13.5)


def test_a_second_curve_is_met_at_its_voltage_and_interpolated_between():
    low = [[0.0, 80 * GAL_H], [10 * PSI, 50 * GAL_H], [18 * PSI, 0.0]]
    given_two = {"curve_low": low, "voltage_low": 11.5}
    at = {
        volts: pump.pump_check(asked(voltage=volts, pressure=10 * PSI, **given_two))["flow_available"] for volts in (11.5, 12.5, 13.5, 14.0)
    }
    assert at[11.5] == pytest.approx(50 * GAL_H)
    assert at[13.5] == pytest.approx(88 * GAL_H)
    assert at[12.5] == pytest.approx(69 * GAL_H)
    assert at[14.0] == pytest.approx(88 * GAL_H * 14.0 / 13.5)
    assert pump.pump_check(asked(voltage=12.5, pressure=10 * PSI, **given_two))["pressure_limit"] == pytest.approx(21.5 * PSI)
    # Below both, the lower one shrinks like any curve: at 10 V its point at 10 psi stands at 10 * 10 / 11.5.
    weak = pump.pump_check(asked(voltage=10.0, pressure=10 * PSI * 10.0 / 11.5, **given_two))
    assert weak["flow_available"] == pytest.approx(50 * GAL_H * 10.0 / 11.5)


def test_a_second_curve_that_ends_with_flow_counts_as_none_past_its_end():
    given_two = {"curve_low": [[0.0, 80 * GAL_H], [10 * PSI, 50 * GAL_H]], "voltage_low": 11.5}
    running = pump.running_pump(asked(**given_two), 12.5, "")
    assert pump.pump_flow(running, 10 * PSI) == pytest.approx(69 * GAL_H)
    assert pump.pump_flow(running, 15 * PSI) == pytest.approx(35 * GAL_H)
    # The flows that neither side of the step gives are held up to the step.
    assert pump.pump_pressure(running, 60 * GAL_H) == pytest.approx(10 * PSI)


@given(st.floats(8.0, 16.0), st.floats(8.0, 16.0), st.floats(0.0, 25.0))
@settings(max_examples=100, deadline=None)
def test_more_voltage_never_gives_less_flow(one, other, pressure):
    low, high = sorted([one, other])
    for second in ({}, {"curve_low": [[0.0, 80 * GAL_H], [10 * PSI, 50 * GAL_H], [18 * PSI, 0.0]], "voltage_low": 11.5}):
        weak, strong = (pump.running_pump(asked(**second), volts, "") for volts in (low, high))
        assert pump.pump_flow(weak, pressure * PSI) <= pump.pump_flow(strong, pressure * PSI) * (1.0 + 1e-12) + 1e-18


def test_demand_by_hand():
    # 500 hp at 0.5 lb/hp h is 250 lb/h by definition; at 745 kg/m3 (6.217 lb/gal) that is 40.2 gal/h.
    answer = pump.pump_check(asked())
    assert answer["flow_demand"] / GAL_H == pytest.approx(250.0 / 6.2173, rel=1e-4)
    assert answer["spare_fraction"] == pytest.approx(answer["spare_flow"] / answer["flow_demand"])
    assert answer["power_supported"] == pytest.approx(500 * HP * (1.0 + answer["spare_fraction"]))
    assert answer["working_point"] == {"pressure": 12 * PSI, "flow": answer["flow_available"], "demand": answer["flow_demand"]}
    assert len(answer["curve_points"]) > 40


@pytest.mark.parametrize(("flow", "state"), [(66.0, "holds"), (72.0, "thin"), (90.0, "short")])
def test_the_three_states(flow, state):
    answer = pump.pump_check(asked(demand_from="flow", flow=flow * GAL_H, power=None, consumption=None))
    assert answer["state"] == state
    assert answer["power_supported"] is None


def test_a_pump_that_holds_nine_psi_cannot_feed_ten():
    # Common practice, no source: a pump that holds 7 to 9 psi cannot feed an engine whose carburettor needs more.
    weak = [[0.0, 70 * GAL_H], [7 * PSI, 40 * GAL_H], [9 * PSI, 0.0]]
    answer = pump.pump_check(asked(curve=weak, pressure=16 * PSI))
    assert (answer["state"], answer["flow_available"], answer["spare_fraction"]) == ("short", 0.0, -1.0)


POINT = {"kind": "point", "point_flow": 67.36 * GAL_H, "point_pressure": 40 * PSI}  # 255 L/h at 40 psi
DRIVEN = {
    "kind": "engine",
    "driven_flow": 120 * GAL_H,
    "driven_speed": 400.0,
    "drive_ratio": 0.5,
    "engine_speed": 600.0,
    "relief_pressure": 30 * PSI,
}
DIAPHRAGM = {"kind": "diaphragm", "free_flow": 80 * GAL_H, "spring_pressure": 8 * PSI, "boost_on_top": False}


def flow_of(settings, pressure, voltage=13.5):
    return pump.pump_flow(pump.running_pump(asked(**settings), voltage, "", settings.get("engine_speed")), pressure * PSI) / GAL_H


def test_one_point_is_held_flat_below_it_and_nothing_is_counted_beyond():
    assert [flow_of(POINT, at) for at in (0.0, 20.0, 40.0, 40.001)] == pytest.approx([67.36, 67.36, 67.36, 0.0])
    # It never promises more than the curve that it is a point of (an invented pump, 310 to 210 L/h).
    curve = [[0.0, 310.0], [20.0, 285.0], [40.0, 255.0], [60.0, 210.0]]
    whole = {"curve": [[p * PSI, q / 255.0 * 67.36 * GAL_H] for p, q in curve]}
    for at in range(0, 60, 5):
        for volts in (11.0, 13.5):
            assert flow_of(POINT, at, volts) <= flow_of(whole, at, volts) + 1e-9


def test_a_driven_pump_gives_flow_in_proportion_to_speed_up_to_its_relief_pressure():
    assert flow_of(DRIVEN, 10.0) == pytest.approx(120.0 * 0.5 * 600.0 / 400.0)
    assert flow_of({**DRIVEN, "engine_speed": 300.0}, 30.0) == pytest.approx(45.0)
    assert flow_of(DRIVEN, 30.001) == 0.0
    # No voltage comes into it.
    assert flow_of(DRIVEN, 10.0, 6.0) == flow_of(DRIVEN, 10.0, 16.0)
    with pytest.raises(ValueError, match="^pump.engine_speed: "):
        pump.running_pump(asked(**DRIVEN), 13.5, "pump.", None)


def test_a_diaphragm_holds_its_spring_and_boost_where_that_presses_on_top():
    assert [flow_of(DIAPHRAGM, at) for at in (0.0, 4.0, 8.0, 9.0)] == pytest.approx([80.0, 40.0, 0.0, 0.0])
    plain = pump.pump_check(asked(**DIAPHRAGM, pressure=9 * PSI, boost=6 * PSI))
    lifted = pump.pump_check(asked(**{**DIAPHRAGM, "boost_on_top": True}, pressure=9 * PSI, boost=6 * PSI))
    assert (plain["state"], plain["flow_available"]) == ("short", 0.0)
    assert lifted["flow_available"] / GAL_H == pytest.approx(80.0 * (1.0 - 3.0 / 8.0))
    assert lifted["pressure_limit"] == pytest.approx(14 * PSI)
    assert lifted["curve_points"][-1] == {"pressure": pytest.approx(14 * PSI), "flow": pytest.approx(0.0, abs=1e-18)}


def test_side_by_side_flows_add_and_behind_one_another_pressures_do():
    side, behind = {"pumps": 2.0, "arrangement": "side"}, {"pumps": 2.0, "arrangement": "behind"}
    for known in ({"curve": STREET}, POINT, DRIVEN):
        for at in (0.0, 5.0, 12.0, 20.0):
            assert flow_of({**known, **side}, at) == pytest.approx(2.0 * flow_of(known, at))
            assert flow_of({**known, **behind}, 2.0 * at) == pytest.approx(flow_of(known, at))
    # A diaphragm's spring sets the pressure whatever comes in from the one before.
    assert flow_of({**DIAPHRAGM, **behind}, 9.0) == 0.0


@pytest.mark.parametrize("settings", [{"curve": STREET, "curve_low": STREET[:3], "voltage_low": 11.0}, POINT, DRIVEN, DIAPHRAGM])
def test_a_stretched_pump_gives_the_factors_back(settings):
    plain = pump.running_pump(asked(**settings), 13.5, "", 600.0)
    more = pump.running_pump({**asked(**settings), **pump.stretched(settings, 1.25, 1.5)}, 13.5, "", 600.0)
    assert more["limit"] == pytest.approx(1.25 * plain["limit"])
    assert pump.pump_flow(more, 1.25 * 6 * PSI) == pytest.approx(1.5 * pump.pump_flow(plain, 6 * PSI))


@pytest.mark.parametrize(
    ("settings", "first", "last"),
    [
        ({**POINT, "pressure": 41 * PSI}, "{pressure} is past the one point that is known of this pump", "One point is known"),
        ({**POINT, "pressure": 39 * PSI, "voltage": 12.0}, "At {voltage} the pump holds no more than", "One point is known"),
        ({**DRIVEN, "pressure": 31 * PSI}, "{pressure} is past the relief pressure of the pump", "Flow goes with engine speed"),
        ({**DIAPHRAGM, "pressure": 9 * PSI}, "{pressure} is more than the pump's spring holds", "A straight line joins free flow"),
    ],
)
def test_what_is_said_of_each_kind(settings, first, last):
    notes = pump.pump_check(asked(**settings))["notes"]
    assert notes[0].startswith(first)
    assert notes[-1].startswith(last)
    inside = pump.pump_check(asked(**{**settings, "pressure": 6 * PSI, "voltage": 13.5}))["notes"]
    assert not inside[0].startswith(first)


# The first sentence on both sides of each border.
@pytest.mark.parametrize(
    ("more", "first"),
    [
        ({"pressure": 25 * PSI}, "The pump gives"),
        ({"pressure": 25 * PSI * 1.000001}, "{pressure} is past the last point of your curve; add a point if the pump goes further."),
        ({"pressure": 25 * PSI, "voltage": 13.0}, "At {voltage} the pump holds no more than {pressure_limit}"),
        ({"margin": 0.0, "pressure": 10 * PSI, "demand_from": "flow", "flow": 88 * GAL_H * 1.001}, "The pump gives"),
        (
            {"margin": 0.001, "pressure": 10 * PSI, "demand_from": "flow", "flow": 88 * GAL_H},
            "The pump covers the demand of {flow_demand} with only",
        ),
        (
            {"margin": 0.0, "pressure": 10 * PSI, "demand_from": "flow", "flow": 88 * GAL_H * 0.999},
            "The pump covers the demand of {flow_demand} with {spare_fraction}",
        ),
    ],
)
def test_the_first_sentence(more, first):
    assert pump.pump_check(asked(**more))["notes"][0].startswith(first)


def test_what_else_is_said():
    notes = pump.pump_check(asked(curve=STREET[1:4], pressure=4 * PSI))["notes"]
    assert "The pressure lies below the first point of the curve; that point's flow is used." in notes
    assert notes[-1].startswith("Straight lines join so few points.")
    between = 0.5 * (STREET[1][0] + STREET[2][0])
    assert not any("first point" in note for note in pump.pump_check(asked(curve=STREET[1:4], pressure=between))["notes"])
    assert "At this pressure it feeds up to {power_supported} with nothing spare." in notes
    notes = pump.pump_check(asked(pressure=5 * PSI))["notes"]
    assert not any("first point" in note or "Straight lines" in note for note in notes)
    assert notes[-1].startswith("The pump holds at most {pressure_limit}, where its curve ends")
    assert not any("feeds up to" in note for note in pump.pump_check(asked(demand_from="flow", flow=1e-5, consumption=None))["notes"])


@pytest.mark.parametrize(
    ("field", "more"),
    [
        ("curve", {"curve": [[0.0, 1e-4]]}),
        ("curve", {"curve": [[i * PSI, 1e-4] for i in range(13)]}),
        ("curve", {"curve": [[0.0, 1e-4], [1e5, 1.1e-4]]}),
        ("curve", {"curve": [[1e5, 1e-4], [1e5, 0.9e-4]]}),
        ("curve", {"curve": [[0.0, 0.0], [1e5, 0.0]]}),
        ("curve_low", {"curve_low": [[0.0, 1e-3], [1e5, 0.0]], "voltage_low": 11.0}),
        ("curve_low", {"curve_low": [[0.0, 1e-5], [9e5, 0.0]], "voltage_low": 11.0}),
        ("voltage_low", {"curve_low": [[0.0, 1e-5], [1e5, 0.0]], "voltage_low": 14.0}),
        ("power", {"power": 0.0}),
        ("consumption", {"consumption": 0.0}),
        ("flow", {"demand_from": "flow", "flow": 0.0}),
    ],
)
def test_what_cannot_be_is_said_at_its_field(field, more):
    with pytest.raises(ValueError, match=f"^{field}: [A-Z].*\\.$"):
        pump.pump_check(asked(**more))


@pytest.mark.parametrize("case", cases("11_copper_wire", "resistance_20C"), ids=lambda case: case["id"])
def test_wire_at_20_degrees(case):
    gauge = case["inputs"]["awg"]
    agrees(pump.wire_diameter(gauge), case, "diameter_m")
    agrees(3.141592653589793 / 4.0 * pump.wire_diameter(gauge) ** 2, case, "area_m2")
    agrees(pump.wire_resistance(gauge, 293.15), case, "resistance_ohm_per_m")


@pytest.mark.parametrize("case", cases("11_copper_wire", "resistance_hot"), ids=lambda case: case["id"])
def test_wire_hot_and_cold(case):
    agrees(pump.wire_resistance(case["inputs"]["awg"], case["inputs"]["temperature_K"]), case, "resistance_ohm_per_m")


WIRING = {
    "supply_voltage": 13.8,
    "current": 15.0,
    "gauge": 12.0,
    "length": 5.0,
    "wire_temperature": 313.15,
    "connection_resistance": 0.02,
    "rated_voltage": 13.5,
}


def test_wiring_is_ohms_law_there_and_back():
    answer = pump.pump_wiring(WIRING)
    # 5.2108 mohm/m at 20 degC (reference table), 0.393 % a kelvin, ten metres, and the connections.
    assert answer["resistance"] == pytest.approx(10 * 0.0052108 * (1 + 0.00393 * 20) + 0.02, rel=1e-4)
    assert answer["voltage"] == pytest.approx(13.8 - 15.0 * answer["resistance"])
    assert answer["heat"] == pytest.approx(15.0 * answer["voltage_drop"])
    assert answer["drop_fraction"] == pytest.approx(1.0 - answer["voltage"] / 13.8)
    assert answer["flow_factor"] == pytest.approx(answer["voltage"] / 13.5)
    assert [row["gauge"] for row in answer["gauges"]] == [4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]
    assert [row["voltage"] for row in answer["gauges"]] == sorted((row["voltage"] for row in answer["gauges"]), reverse=True)


@pytest.mark.parametrize(
    ("more", "said", "unsaid"),
    [
        ({"gauge": 12.0}, ["is under 3 %", "the pump's curve shrinks"], ["no more pressure"]),
        ({"gauge": 0.0, "connection_resistance": 0.001, "rated_voltage": 13.5}, ["no more pressure"], ["under 3 %", "shrinks"]),
    ],
)
def test_what_the_wiring_says(more, said, unsaid):
    notes = " ".join(pump.pump_wiring({**WIRING, **more})["notes"])
    assert all(words in notes for words in said)
    assert not any(words in notes for words in unsaid)


def test_a_hopeless_wire_is_refused():
    with pytest.raises(ValueError, match="^gauge: "):
        pump.pump_wiring({**WIRING, "gauge": 24.0, "length": 10.0})


@pytest.mark.parametrize("points", [[[-1.0, 1e-4], [4e5, 0.0]], [[0.0, 1e-4], [4e5, -1e-6]]])
def test_a_curve_with_anything_negative_is_refused(points):
    with pytest.raises(ValueError, match="must not be negative"):
        pump.check_curve(points, "curve")


def test_what_a_power_takes_of_a_fuel_of_ones_own_is_asked_for():
    asked = {"demand_from": "power", "power": 3e5, "pressure": 1e5, "curve": [[0.0, 1e-4], [3e5, 0.0]], "rated_voltage": 13.5}
    own = {"fuel": "own", "fuel_density": 750.0, "fuel_temperature": 300.0, "pumps": 1.0, "allowance": 0.0, "voltage": 13.5, "margin": 0.2}
    with pytest.raises(ValueError, match="^consumption: "):
        pump.pump_check({**asked, **own})
