"""How sure the ceiling is: against a drawn distribution, a general library, and the spreads' own table."""

import random

import pytest
from uncertainties import ufloat, wrap

from calc import cases, sure
from tests.builds import car
from webapp.forms import FORMS, gate, spreads
from webapp.forms.supply import INVENTED_CAR

PSI = 6894.757293168361
CHECK = FORMS["supply-check"]
DECLARED = spreads.described(CHECK)
DRAWS = 600

# What nobody measures: choices of the user, and what only says how the rest is meant.
NOT_IN_DOUBT = {"limits.flow", "limits.pressure", "limits.inlet_pressure", "limits.needle_pressure", "limits.card_step", "pump.voltage_low"}


def names_of(kinds):
    return {
        f"{name}.{inner}"
        for name, section in CHECK().fields.items()
        if section.type == "section"
        for inner, field in section.form().fields.items()
        if field.type in kinds
    }


def test_every_quantity_of_a_car_has_a_spread_or_is_not_in_doubt():
    declared = {f"{told['section']}.{told['field']}" for told in DECLARED}
    assert declared == set(spreads.SPREADS)
    assert names_of(["quantity", "table"]) - declared == NOT_IN_DOUBT
    hoses = {name for name in names_of(["choice"]) if name.endswith("hose")}
    assert hoses <= declared


def test_measured_is_closer_than_given_and_given_than_assumed():
    for name, spread in spreads.SPREADS.items():
        assert 0.0 < spread["measured"] < spread["given"] <= spread["assumed"], name
        assert spread["source"], name
        # Two sentences, so that they fit at the field.
        assert spread["how"] == "" or spread["how"].count(". ") == 1 or spread["how"].count(": ") + spread["how"].count(". ") <= 2, name


def sources(*names, inputs=None, assumed=(), measured=()):
    wanted = [told for told in DECLARED if f"{told['section']}.{told['field']}" in names]
    return sure.spreads_of(wanted, inputs or car(), list(assumed), dict.fromkeys(measured, 0.0))


def test_the_spread_follows_how_the_value_is_known():
    halves = [
        sources("regulator.base_pressure", **how)[0]["half"]
        for how in ({"measured": ["regulator.base_pressure"]}, {}, {"assumed": ["regulator.base_pressure"]})
    ]
    assert halves == sorted(halves) and len(set(halves)) == 3
    own = sure.spreads_of([told for told in DECLARED if told["field"] == "loss_factor"], car(), [], {"supply_line.loss_factor": 0.08})
    assert (own[0]["known"], own[0]["half"], own[0]["best"]) == ("measured", 0.08, 0.05)


def test_readings_that_agree_do_not_make_a_gauge_better_than_it_is():
    told = [told for told in DECLARED if told["field"] == "base_pressure"]
    assert sure.spreads_of(told, car(), [], {"regulator.base_pressure": 1.0})[0]["half"] == told[0]["measured"]


def test_both_seats_move_together_when_one_drill_made_them():
    both = sources("seats.primary_diameter", "seats.secondary_diameter")
    assert [part["field"] for part in both[0]["parts"]] == ["primary_diameter", "secondary_diameter"]
    assert len(both) == 1
    seats = sure.shifted(car(), both[0], 1.0)["seats"]
    assert seats["primary_diameter"] == seats["secondary_diameter"] == pytest.approx(0.0028 + both[0]["half"])
    # Measured one by one they are known apart.
    assert len(sources("seats.primary_diameter", "seats.secondary_diameter", measured=["seats.primary_diameter"])) == 2


def test_a_hose_moves_by_its_bore_and_a_curve_by_its_flow():
    hose = sources("supply_line.hose")[0]
    line = sure.shifted(car(), hose, -1.0)["supply_line"]
    assert (line["hose"], line["diameter"]) == ("own", pytest.approx(0.438 * 0.0254 * (1.0 - hose["half"])))
    curve = sources("pump.curve")[0]
    assert sure.shifted(car(), curve, 1.0)["pump"]["curve"][1] == [70e3, pytest.approx(1.35e-4 * (1.0 + curve["half"]))]
    assert sources("supply_line.hose", inputs=car(supply_line__hose="own", supply_line__diameter=0.01)) == []


def test_small_spreads_agree_with_a_general_library():
    """The `uncertainties` library's own numerical derivatives, for a ceiling that one smooth limit sets."""

    def ceiling(volts, filling, base):
        build = car(wiring__voltage=volts, engine__volumetric_efficiency=filling, regulator__base_pressure=base)
        return cases.ceiling(cases.prepare_cases(build)[0])

    known = sources("wiring.voltage", "engine.volumetric_efficiency", "regulator.base_pressure")
    halves = {"wiring.voltage": 0.01, "engine.volumetric_efficiency": 0.0045, "regulator.base_pressure": 50.0}
    for source in known:
        source["half"] = halves[source["name"]]
        source["relative"] = False
    told = sure.how_sure(car(), known)
    values = [ufloat(13.0, 0.005), ufloat(0.9, 0.00225), ufloat(6 * PSI, 25.0)]
    theirs = wrap(ceiling)(*values)
    assert told["give_or_take"] == pytest.approx(2.0 * theirs.s, rel=0.01)
    assert told["ceiling_low"] == pytest.approx(theirs.n - 2.0 * theirs.s, rel=1e-3)


def pumped_by(kind, **settings):
    """The invented car with another kind of pump."""
    build = car()
    build["pump"] |= {"curve": None, "kind": kind} | settings
    return build


ONE_POINT = {"point_flow": 1.35e-4, "point_pressure": 170e3, "allowance": 0.05}
DRIVEN = {
    "driven_flow": 1.8e-4,
    "driven_speed": 377.0,
    "drive_ratio": 0.5,
    "relief_pressure": 200e3,
    "engine_speed": None,
    "idle_speed": 84.0,
}
BIG_SEATS = {"seats__primary_diameter": 0.0032, "seats__secondary_diameter": 0.0032}
RAIL = {
    "feed__layout": "series",
    "feed__length": 0.3,
    "feed__common_hose": "dash-6",
    "charge__effectiveness": 0.6,
    "charge__cooler_loss": 3e3,
}
TAKEN = ["seats.primary_diameter", "seats.coefficient", "pump.curve", "regulator.base_pressure", "wiring.voltage", "supply_line.length"]

DRAWN = {
    "a curve": (car(), ["seats.coefficient", "supply_line.fittings"], ["wiring.voltage"]),
    "one point": (pumped_by("point", **ONE_POINT), [], []),
    "driven": (pumped_by("engine", **DRIVEN), ["seats.coefficient"], []),
    "dead-head": (car(regulator__kind="dead-head", **BIG_SEATS), ["pump.allowance"], []),
    "rail, cooler": (car(**RAIL), ["charge.effectiveness"], []),
    "much measured": (car(**BIG_SEATS), [], TAKEN),
}


def missed(prepared, boost):
    return cases.least_headroom([trial for trial in prepared if trial["case"] != "hot"], boost) < 0.0


@pytest.mark.parametrize("name", DRAWN)
def test_the_lower_end_is_that_of_a_drawn_distribution(name):
    """Monte Carlo by JCGM 101:2008 with fewer draws than its 10^4, so that the suite stays quick.

    The ceiling of a draw need not be looked for: it lies below a boost where that boost misses a margin. So the lower end is at
    most 6 % above the boost that 2.5 % of the draws do not reach, and at most 10 % below it.
    """
    build, assumed, measured = DRAWN[name]
    known = sure.spreads_of(DECLARED, build, assumed, dict.fromkeys(measured, 0.0))
    low = sure.how_sure(build, known)["ceiling_low"]
    rng = random.Random(1)
    below = over = 0
    for _ in range(DRAWS):
        drawn = build
        for source in known:
            drawn = sure.shifted(drawn, source, rng.gauss(0.0, 1.0) / 2.0)
        prepared = cases.prepare_cases(drawn)
        below += missed(prepared, low / 1.06)
        over += missed(prepared, low / 0.9)
    assert below <= 0.025 * DRAWS <= over


def test_measuring_lifts_the_lower_end_by_the_gain_told():
    build = car()
    assumed = ["seats.coefficient"]
    told = sure.how_sure(build, sure.spreads_of(DECLARED, build, assumed, {}))
    best = told["measure"][0]
    after = sure.how_sure(build, sure.spreads_of(DECLARED, build, [name for name in assumed if name != best["name"]], {best["name"]: 0.0}))
    assert after["ceiling_low"] - told["ceiling_low"] == pytest.approx(best["gain"], rel=0.35)
    assert [row["gain"] for row in told["measure"]] == sorted((row["gain"] for row in told["measure"]), reverse=True)
    assert sum(row["share"] for row in told["sources"]) == pytest.approx(1.0)


FIRM = {"ceiling_low": 9 * PSI, "ceiling_high": 12 * PSI, "inlet_low": 1e3, "give_or_take": 1.5 * PSI}


@pytest.mark.parametrize(
    ("state", "boost", "told", "judged", "first"),
    [
        ("holds", 9 * PSI, FIRM, "holds", "Known."),
        ("holds", 9.001 * PSI, FIRM, "thin", "By your numbers the bowls stay full at {boost} of boost"),
        (
            "holds",
            9 * PSI,
            {**FIRM, "inlet_low": -1.0},
            "thin",
            "By your numbers the bowls stay full, but they may be off by enough for the fuel",
        ),
        ("thin", 20 * PSI, FIRM, "thin", "Known."),
        ("short", 20 * PSI, FIRM, "short", "Known."),
        ("holds", 50 * PSI, {**FIRM, "ceiling_low": None}, "holds", "Known."),
    ],
)
def test_a_loose_holds_is_thin_and_says_why(state, boost, told, judged, first):
    assert sure.judged(state, boost, told) == judged
    notes = sure.notes(state, boost, told, ["Known.", "More."])
    assert notes[0].startswith(first)
    assert notes[1] == "More."


@pytest.mark.parametrize(
    ("more", "last"),
    [
        ({}, "The ceiling is good to {give_or_take}, up or down."),
        ({"give_or_take": None}, "The ceiling lies between {ceiling_low} and {ceiling_high}."),
        ({"give_or_take": None, "ceiling_high": None}, "The ceiling may be as low as {ceiling_low}."),
    ],
)
def test_how_the_ends_are_said(more, last):
    assert sure.notes("holds", 0.0, {**FIRM, **more}, ["Known."])[-1] == last
    none = {**FIRM, "give_or_take": None, "ceiling_low": None, "ceiling_high": None}
    assert sure.notes("holds", 0.0, none, ["Known."]) == ["Known."]
    nothing = {**none, "ceiling_low": 0.0, "ceiling_high": 0.0}
    assert sure.notes("short", 1e4, nothing, ["Known."]) == ["Known."]


def test_the_server_tells_it_with_every_check_and_counts_what_was_measured():
    loose = gate.answer("supply-check", INVENTED_CAR)["results"]
    firm = gate.answer("supply-check", INVENTED_CAR | {"measured": "seats.primary_diameter seats.secondary_diameter"})["results"]
    assert firm["ceiling_low"] > loose["ceiling_low"]
    assert loose["ceiling_low"] < loose["boost_ceiling"] < loose["ceiling_high"]
    assert {row["name"]: row["known"] for row in firm["sources"]}["seats.primary_diameter"] == "measured"


def test_a_row_of_the_card_says_no_more_than_the_headline_would():
    told = {"ceiling_low": 9e4, "ceiling_high": 1.1e5, "inlet_low": 1e3, "give_or_take": 1e4}
    rows = [
        {"boost": boost, "least": 1e5, "expected": 1.2e5, "state": state}
        for boost, state in ((8e4, "holds"), (1e5, "holds"), (1.2e5, "short"))
    ]
    answer = sure.joined({"state": "holds", "notes": ["The bowls stay full."], "gauge_card": rows}, 8e4, told)
    assert [row["state"] for row in answer["gauge_card"]] == ["holds", "thin", "short"]


def test_a_quantity_is_never_moved_below_nothing():
    section = {"flow": 2.0}
    sure._shift(section, {"field": "flow", "low": 0.0, "high": 9.0}, {"half": 1.5, "relative": True}, -1.0)
    assert section["flow"] == 0.0


def test_a_fuel_for_the_power_that_nobody_gave_is_in_doubt():
    build = car(engine__demand_from="power", engine__consumption=None)
    known = {"spreads": DECLARED, "assumed": [], "measured": {}}
    planned = sure.begin({**build, **known})["planned"]
    found = next(source for source in planned["sources"] if source["name"] == "engine.consumption")
    assert (found["known"], found["half"]) == ("assumed", 0.12)
