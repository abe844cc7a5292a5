"""A pass in another air: against a run integrated by scipy, air by CoolProp, and what holding boost means."""

import pytest
from CoolProp.HumidAirProp import HAPropsSI
from scipy.integrate import solve_ivp

from calc import board, charge, runs
from webapp.forms import FORMS

PSI, INHG = 6894.757293168361, 3386.389


def asked(**more):
    return FORMS["same-air"]().load({"boost": 14 * PSI, "elapsed_time": 9.95, "speed": 61.7, **more})


def dry_air(pressure, temperature, humidity):
    """Dry air in a cubic metre of moist air [kg]: one over CoolProp's volume a kg of dry air (its humid air: ASHRAE RP-1485)."""
    return 1.0 / HAPropsSI("Vda", "T", temperature, "P", pressure, "R", humidity)


def run_of(power, mass=1450.0):
    """Time and speed over a quarter mile of a car that puts a constant power on the road, integrated from a crawl."""

    def past(t, y):
        return y[0] - runs.QUARTER_MILE

    past.terminal = True
    told = solve_ivp(lambda t, y: [y[1], power / (mass * y[1])], (0.0, 100.0), [0.0, 0.05], events=past, rtol=1e-9, atol=1e-9)
    return told.t[-1], told.y[1][-1]


@pytest.mark.parametrize("here, there", [((84e3, 304.0, 0.2), (101325.0, 288.15, 0.0)), ((100.5e3, 308.0, 0.6), (101.9e3, 281.0, 0.4))])
def test_without_boost_power_goes_with_dry_air(here, there):
    """Against CoolProp's humid air. No boost, no blower's heat: the charge is the outside air."""
    air = dict(zip(("pressure", "temperature", "humidity"), here, strict=True))
    other = dict(zip(("pressure_there", "temperature_there", "humidity_there"), there, strict=True))
    told = board.same_air(asked(boost=0.0, **air, **other))
    # Two equations of state: a few parts in ten thousand apart.
    assert told["power_ratio"] == pytest.approx(dry_air(*there) / dry_air(*here), rel=6e-4)


def test_time_and_speed_follow_as_in_a_run_integrated_step_by_step():
    told = board.same_air(asked(pressure=84e3, temperature=304.0))
    time, speed = run_of(300e3)
    time_there, speed_there = run_of(300e3 * told["power_ratio"])
    assert told["elapsed_time_there"] / 9.95 == pytest.approx(time_there / time, rel=1e-4)
    assert told["speed_there"] / 61.7 == pytest.approx(speed_there / speed, rel=1e-4)
    assert told["power_ratio"] > 1.1


def test_a_belt_drive_loses_boost_on_a_hill_where_a_valve_holds_it():
    """Definitions: the ratio of absolute pressures, the difference to the air of the day, the absolute pressure itself."""
    hill = {"pressure_there": 84e3, "temperature_there": 293.15}
    held = {how: board.same_air(asked(control=how, **hill)) for how in ("gauge", "ratio", "absolute")}
    assert held["gauge"]["boost_there"] == pytest.approx(14 * PSI)
    assert (held["ratio"]["boost_there"] + 84e3) / 84e3 == pytest.approx((14 * PSI + 101325.0) / 101325.0)
    assert held["absolute"]["boost_there"] + 84e3 == pytest.approx(14 * PSI + 101325.0)
    assert held["ratio"]["power_ratio"] < held["gauge"]["power_ratio"] < held["absolute"]["power_ratio"]
    assert asked(blower="turbo")["control"] == "gauge" and asked(blower="roots")["control"] == "ratio"
    lossy = board.same_air(asked(control="ratio", inlet_loss=2e3, cooler_loss=5e3, **hill))
    assert (84e3 + lossy["boost_there"] + 5e3) / (84e3 - 2e3) == pytest.approx((101325.0 + 14 * PSI + 5e3) / (101325.0 - 2e3))


def test_there_and_back_is_nothing():
    there = board.same_air(asked(pressure=90e3, temperature=300.0, humidity=0.4))
    back = board.same_air(
        asked(
            boost=there["boost_there"],
            pressure=101325.0,
            temperature=288.15,
            humidity=0.0,
            pressure_there=90e3,
            temperature_there=300.0,
            humidity_there=0.4,
            elapsed_time=there["elapsed_time_there"],
        )
    )
    assert back["elapsed_time_there"] == pytest.approx(9.95)
    assert there["jet_area_ratio"] * back["jet_area_ratio"] == pytest.approx(1.0)


def test_jets_are_left_in_like_air_and_a_size_larger_in_dense_air():
    """A jet passes as the root of its signal: area goes with the root of the density at the carburettor (two orifices)."""
    like = board.same_air(asked(temperature=288.15, humidity=0.0))
    assert like["jets"] == "leave" and like["jet_area_ratio"] == pytest.approx(1.0, abs=1e-9)
    dense = board.same_air(asked(boost=0.0, pressure=84e3, temperature=304.0, humidity=0.0))
    assert dense["jets"] == "one size larger"
    assert dense["jet_area_ratio"] == pytest.approx((dry_air(101325.0, 288.15, 0.0) / dry_air(84e3, 304.0, 0.0)) ** 0.5, rel=1e-3)
    thin = board.same_air(asked(boost=0.0, temperature=288.15, humidity=0.0, pressure_there=84e3, temperature_there=304.0))
    assert thin["jets"] == "one size smaller" and any("leaner" in note for note in thin["notes"])
    turned_up = board.same_air(asked(temperature=288.15, humidity=0.0, boost_wanted=20 * PSI))
    assert turned_up["jets"] == "one size larger" and turned_up["boost_there"] == 20 * PSI


def test_the_heat_of_the_blower_is_in_the_density():
    told = board.same_air(asked(temperature=288.15, humidity=0.0, efficiency=0.6, effectiveness=0.0, pressure_there=90e3))
    for pressure, name in ((101325.0, "density"), (90e3, "density_there")):
        hot = charge.outlet_temperature(288.15, (pressure + 14 * PSI) / pressure, 0.6)
        assert told[name] == pytest.approx((pressure + 14 * PSI) / (287.05 * hot), rel=1e-3)
