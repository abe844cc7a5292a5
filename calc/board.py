"""The race-day board: a pass in another air, and jets for this air against the pass where they were right.

The engine's filling is taken to stay what it is, so power goes with the dry air in each litre of mixture, at the boost that
the car makes in that air.
"""

from calc import air, charge, fuels, jets

JET_SIZE = 0.04  # of jet area, one size; common practice, no source: makers' steps differ
RICHER_FROM = 0.5  # of a size: lean breaks parts, so a larger jet is named earlier
LEANER_FROM = 1.0
SEVERAL_FROM = 1.5


def boost_there(control, boost, here, there, state, blower):
    """The boost that the car makes in another air.

    Inputs: `control`, what the car holds: "gauge" (boost over the air of the day), "ratio" (pressure ratio over the blower, as a
    belt drive without a valve does) or "absolute" pressure; `boost` [Pa gauge] made `here`; `here` and `there`, dicts with `pressure` [Pa
    absolute]; `state` of `charge.state_of_charge` here; `blower` with `inlet_loss`, `cooler_loss` [Pa]. Result: Pa gauge.
    Range: any. Errors: none. Formula: `ratio * (pressure_there - inlet_loss) - cooler_loss - pressure_there`, or
    `boost + pressure_here - pressure_there`. Source: definition of each; that a belt drive keeps its ratio is common practice, no source.

    >>> sea, hill = {"pressure": 101325.0}, {"pressure": 84000.0}
    >>> none = {"inlet_loss": 0.0, "cooler_loss": 0.0}
    >>> [round(boost_there(how, 1e5, sea, hill, {"pressure_ratio": 201325.0 / 101325.0}, none)) for how in ("gauge", "ratio", "absolute")]
    [100000, 82902, 117325]
    """
    if control == "ratio":
        return state["pressure_ratio"] * (there["pressure"] - blower["inlet_loss"]) - blower["cooler_loss"] - there["pressure"]
    if control == "absolute":
        return boost + here["pressure"] - there["pressure"]
    return boost


def dry_share(outside):
    """The share of dry air in moist air, by mass: water vapour burns nothing.

    Inputs: `outside`, a dict of `pressure` [Pa absolute], `temperature` [K], `humidity` (relative). Result: fraction. Range:
    that of `air.humidity_ratio`. Errors: none. Source: definition of the humidity ratio.

    >>> dry_share({"pressure": 101325.0, "temperature": 303.15, "humidity": 0.4})
    0.98946
    """
    return 1.0 / (1.0 + air.humidity_ratio(outside["pressure"], outside["temperature"], outside["humidity"]))


def same_air(inputs):
    """Bring a pass into another air: boost, power, time, speed, and the jets for it.

    Inputs: dict of the pass's air, blower and fuel as `charge.charge_air` has them, with `boost` [Pa gauge], `lambda_target`;
    `control` as `boost_there`; the other air, `pressure_there` [Pa absolute], `temperature_there` [K], `humidity_there`; optional
    `elapsed_time` [s], `speed` [m/s], and `boost_wanted` [Pa gauge], the boost there where it is not left to the control.
    Results: `boost_there`; `power_ratio`, there over here; `elapsed_time_there`, `speed_there`, None where not given; `density`,
    `density_there` at the carburettor; `jet_area_ratio`; `jets` ("leave", "one size larger", "one size smaller"); notes, steps.
    Range: one car, one line, one driver. Errors: ValueError of `charge.state_of_charge`. Formula: power there over here =
    density of the mixture times its dry share, there over here. Source: dry air makes the power; speed goes with the cube root
    of power and time with its inverse (`runs.speed_from_power`, common practice); `jets.jet_area_ratio`.

    >>> asked = {"pressure": 84000.0, "temperature": 303.15, "humidity": 0.3, "boost": 1e5, "control": "gauge", "fuel": "petrol"}
    >>> asked.update({"pressure_there": 101325.0, "temperature_there": 288.15, "humidity_there": 0.0, "lambda_target": 0.8})
    >>> asked.update({"fuel_temperature": 298.15, "elapsed_time": 10.0, "speed": 60.0})
    >>> asked.update({"efficiency": 0.7, "inlet_loss": 0.0, "cooler_loss": 0.0, "effectiveness": 0.0, "evaporated": 0.0})
    >>> told = same_air(asked)
    >>> told["power_ratio"], told["elapsed_time_there"], told["speed_there"], told["jets"]
    (1.2129, 9.3768, 63.988, 'one size larger')
    """
    fuel = fuels.properties(inputs, inputs["fuel_temperature"])
    here = {"pressure": inputs["pressure"], "temperature": inputs["temperature"], "humidity": inputs["humidity"]}
    there = {
        "pressure": inputs["pressure_there"],
        "temperature": inputs["temperature_there"],
        "humidity": inputs["humidity_there"],
    }
    state = charge.state_of_charge(here, inputs, inputs["boost"], fuel, inputs["lambda_target"])
    wanted = inputs.get("boost_wanted")
    boost = boost_there(inputs["control"], inputs["boost"], here, there, state, inputs) if wanted is None else wanted
    state_there = charge.state_of_charge(there, inputs, boost, fuel, inputs["lambda_target"])
    dryer = dry_share(there) / dry_share(here)
    power = state_there["mixture_density"] / state["mixture_density"] * dryer
    root = power ** (1.0 / 3.0)
    area = jets.jet_area_ratio(dryer, fuel["density"], fuel["density"], state["density"], state_there["density"])
    time, speed = inputs.get("elapsed_time"), inputs.get("speed")
    found = {
        "boost_there": boost,
        "power_ratio": power,
        "elapsed_time_there": None if time is None else time / root,
        "speed_there": None if speed is None else speed * root,
        "density": state["density"],
        "density_there": state_there["density"],
        "jet_area_ratio": area,
        "jets": jet_step(area),
    }
    found["notes"] = _notes(found, inputs)
    found["notes"].extend(jet_words({"jet_area_ratio": area})["notes"])
    found["notes"].append("Launch, track and wind are not in it; the filling of the engine is taken to stay what it was.")
    found["steps"] = [
        {"label": "Air at the carburettor on the pass", "value": state["density"], "kind": "density"},
        {"label": "Boost there", "value": boost, "kind": "gauge_pressure"},
        {"label": "Air at the carburettor there", "value": state_there["density"], "kind": "density"},
        {"label": "Dry air by mass, there over here", "value": dryer, "kind": "ratio"},
        {"label": "Power, there over here", "value": power, "kind": "ratio"},
        {"label": "Its cube root: speed, there over here", "value": root, "kind": "ratio"},
    ]
    return found


def jet_step(area_ratio):
    """Leave the jets, or one size.

    Inputs: `area_ratio`, the jet area wanted over the one that was right, above 0. Result: "leave", "one size larger" or "one
    size smaller". Range: any. Errors: none. Source: one size is about 4 percent of area; larger from half a size on, smaller only from
    a whole one; common practice, no source.

    >>> jet_step(1.01), jet_step(1.03), jet_step(0.97), jet_step(0.95)
    ('leave', 'one size larger', 'leave', 'one size smaller')
    """
    sizes = (area_ratio - 1.0) / JET_SIZE
    if sizes >= RICHER_FROM:
        return "one size larger"
    return "one size smaller" if sizes <= -LEANER_FROM else "leave"


def _notes(found, inputs):
    notes = ["In that air the car makes {boost_there} of boost and {power_ratio} times the power."]
    if found["elapsed_time_there"] is not None and found["speed_there"] is not None:
        notes.append("The same pass there: about {elapsed_time_there} at {speed_there}, by the cube-root rule.")
    elif found["elapsed_time_there"] is not None:
        notes.append("The same pass there: about {elapsed_time_there}, by the cube-root rule.")
    elif found["speed_there"] is not None:
        notes.append("The same pass there: about {speed_there} at the line, by the cube-root rule.")
    if inputs["control"] == "ratio" and inputs.get("boost_wanted") is None:
        notes.append("A belt drive without a valve is taken to keep its pressure ratio, so boost goes with the air's pressure.")
    return notes


def jet_words(inputs):
    """The advice on jets in words.

    Inputs: dict of `jet_area_ratio`, as `same_air` told it. Results: `jets` as `jet_step`; notes. Range: any. Errors: none.
    Source: `jet_step`.

    >>> jet_words({"jet_area_ratio": 1.01})["notes"]
    ['Leave the jets: that air wants {jet_area_ratio} times the area, less than is worth a change.']
    """
    step = jet_step(inputs["jet_area_ratio"])
    if step == "leave":
        notes = ["Leave the jets: that air wants {jet_area_ratio} times the area, less than is worth a change."]
    elif abs(inputs["jet_area_ratio"] - 1.0) >= SEVERAL_FROM * JET_SIZE:
        notes = [f"Jets {step}, then run and look at lambda: " + "that air wants {jet_area_ratio} times the area, more than one size."]
    else:
        notes = [f"Jets {step}: " + "that air wants {jet_area_ratio} times the area."]
    if step == "one size smaller":
        notes.append("Smaller is leaner: only where lambda on that pass was on the target, and look at lambda again after one run.")
    return {"jets": step, "notes": notes}
