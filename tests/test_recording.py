"""What a recording says, against what an invented one was made from, and against scipy."""

import json
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal, stats

from calc import recording, supply
from tests import invented_recordings as invented
from tests.builds import PSI, car

BASE = 6 * PSI  # of the invented car, one for one


def card(allowance=0.1):
    build = car(boost=invented.PEAK, regulator__gauge_at="carburettor", pump__allowance=allowance)
    return supply.supply_point(build)["gauge_card"]


def finds(columns, **more):
    lag = recording.regulator_lag(columns)
    late = lag["lag"] if lag["told"] else 0.0
    line = recording.regulator_line({**columns, "lag": late})
    fall = recording.giving_out({**columns, "line": line, "lag": late})
    net = recording.net_over_bowls({**columns, "card": [], "drops": [], **more})
    return net, line, lag, fall


@pytest.mark.parametrize("seed", range(3))
def test_base_ratio_and_lag_are_those_it_was_made_with(seed):
    _, line, lag, fall = finds(invented.recording(seed=seed))
    assert line["base"] == pytest.approx(BASE, abs=500.0)
    assert line["ratio"] == pytest.approx(1.0, abs=0.01)
    assert lag["lag"] == pytest.approx(0.06, abs=0.005)
    assert lag["lag_low"] < 0.06 < lag["lag_high"]
    assert not fall["falls"] and "did not give out" in fall["notes"][0]


def test_a_return_line_that_holds_the_pressure_up_does_not_bend_the_line():
    _, line, _, _ = finds(invented.recording(pumps=2.0))
    assert line["base"] == pytest.approx(BASE, abs=1500.0)
    assert line["ratio"] == pytest.approx(1.0, abs=0.03)
    assert "return line holds it up" in line["notes"][1]


def test_a_pump_that_gives_out_is_found_where_it_does():
    """Where the supply check's own reading, of which the recording is made, leaves the regulator's line by as much."""
    columns = invented.recording(allowance=0.6, noise=100.0)
    _, line, _, fall = finds(columns)
    assert line["ratio"] == pytest.approx(1.0, abs=0.03)
    assert fall["falls"]
    moment = next(
        n / 1000
        for n in range(int(invented.LAUNCH * 1000), 13000)
        if BASE
        + invented.boost_at(n / 1000 - 0.06)
        - invented.reading_at(invented.speed_at(n / 1000), invented.boost_at(n / 1000 - 0.06), 1.0, 0.6)
        > recording.LEAST_FALL
    )
    assert fall["fall_time"] == pytest.approx(moment, abs=0.15)


def test_the_least_and_the_time_under_the_card_are_counted_sample_by_sample():
    columns = invented.recording(allowance=0.6)
    rows = card()
    net, _, _, _ = finds(columns, card=rows)
    under = [i for i, boost in enumerate(columns["boost"]) if boost >= 0.1 * max(columns["boost"])]
    least = min(under, key=lambda i: columns["fuel"][i] - columns["boost"][i])
    assert (net["least_net"], net["least_time"]) == (columns["fuel"][least] - columns["boost"][least], columns["time"][least])
    assert net["least_mixture"] == columns["mixture"][least]
    below = [i for i in under if columns["fuel"][i] < recording.interpolate(rows, columns["boost"][i], "least")]
    assert len(below) > 100
    assert net["under_time"] == pytest.approx(0.01 * len(below), rel=1e-9)
    assert net["under_boost"] == columns["boost"][below[0]]
    assert sum(row["end"] - row["start"] for row in net["under"]) == pytest.approx(net["under_time"])


def test_a_car_with_spare_never_reads_under_its_card():
    net, _, _, _ = finds(invented.recording(), card=card())
    assert net["under_time"] == 0.0 and net["under"] == [] and "never read under" in net["notes"][1]


def test_what_the_feed_loses_is_taken_off_a_gauge_at_the_regulator():
    seen = {"time": [0.0, 0.1], "boost": [50e3, 60e3], "fuel": [90e3, 100e3], "card": []}
    drops = recording.drops_behind(
        [{"boost": 0.0, "expected": 41e3}, {"boost": 60e3, "expected": 101e3}], [{"expected": 40e3}, {"expected": 95e3}]
    )
    assert recording.net_over_bowls({**seen, "drops": drops})["least_net"] == pytest.approx(100e3 - 60e3 - 6e3)


def test_one_sample_alone_is_said_to_be_alone():
    columns = invented.recording(noise=50.0)
    columns["fuel"][900] -= 40e3
    net, _, _, _ = finds(columns)
    assert net["least_time"] == columns["time"][900] and net["alone"]
    assert any("one sample alone" in note for note in net["notes"])


def test_no_boost_is_refused_in_words():
    with pytest.raises(ValueError, match="^boost: There is no boost"):
        recording.net_over_bowls({"time": [0.0, 1.0], "boost": [0.0, -1.0], "fuel": [4e4, 4e4], "card": [], "drops": []})


def test_a_recording_without_boost_to_speak_of_tells_no_line_and_no_lag():
    rng = random.Random(5)
    time = [0.01 * i for i in range(600)]
    seen = {"time": time, "boost": [rng.gauss(0, 300) for _ in time], "fuel": [41e3 + rng.gauss(0, 300) for _ in time], "lag": 0.0}
    assert not recording.regulator_line(seen)["told"]
    lag = recording.regulator_lag(seen)
    assert not lag["told"] and not lag["shorter"]
    told = recording.giving_out({**seen, "line": recording.regulator_line(seen)})
    assert not told["told"] and told["fall_boost"] is None


@pytest.mark.parametrize("lag", [0.0, 0.03, 0.12, 0.3])
def test_the_lag_is_that_of_scipys_correlation(lag):
    """scipy.signal.correlate of the same differences, on the samples' own grid of 10 ms."""
    columns = invented.recording(lag=lag, noise=100.0)
    found = recording.regulator_lag(columns)
    steps = [[b - a for a, b in zip(columns[name], columns[name][5:], strict=False)] for name in ("boost", "fuel")]
    centred = [[value - sum(rates) / len(rates) for value in rates] for rates in steps]
    likes = signal.correlate(centred[1], centred[0])
    best = signal.correlation_lags(len(centred[1]), len(centred[0]))[likes.argmax()]
    assert found["lag"] == pytest.approx(0.01 * best, abs=0.0101)
    assert found["lag"] == pytest.approx(lag, abs=0.006)
    assert found["shorter"] == (lag < 0.01)


def push(at):
    return 1e5 / (1.0 + math.exp(-6.0 * (at - 4.0)))


@pytest.mark.parametrize("lag, told", [(0.55, True), (0.7, False), (-0.1, True), (-0.22, False)])
def test_a_lag_is_looked_for_within_what_a_regulator_does(lag, told):
    time = [0.02 * i for i in range(400)]
    seen = {"time": time, "boost": [push(at) for at in time], "fuel": [40e3 + push(at - lag) for at in time]}
    found = recording.regulator_lag(seen)
    assert found["told"] == told
    assert found["lag"] == (pytest.approx(lag, abs=0.005) if told else None)
    assert told or "do not move alike" in found["notes"][0]


def test_what_is_likely_is_the_tables_95_percent():
    """scipy.stats.chi2, one degree of freedom."""
    assert stats.chi2.ppf(0.95, 1) == pytest.approx(recording.LIKELY, abs=0.005)


def test_the_lags_bounds_hold_it_about_as_often_as_they_say():
    held = 0
    for seed in range(10):
        found = recording.regulator_lag(invented.recording(rate=50.0, lag=0.07, noise=1500.0, seed=100 + seed))
        held += found["told"] and found["lag_low"] <= 0.07 <= found["lag_high"]
    assert held >= 9


def test_the_line_is_scipys_where_all_samples_agree():
    """scipy.stats.theilslopes over the same samples: the whole recording is one line, so none is left out."""
    rng = random.Random(3)
    boost = [1500.0 * i for i in range(60)]
    fuel = [40e3 + 0.97 * b + rng.uniform(-400, 400) for b in boost]
    line = recording.regulator_line({"time": [0.2 * i for i in range(60)], "boost": boost, "fuel": fuel, "lag": 0.0})
    theirs = stats.theilslopes(fuel, boost, method="joint")
    assert line["samples"] == 60
    assert line["ratio"] == pytest.approx(theirs.slope, rel=1e-9)
    assert line["base"] == pytest.approx(theirs.intercept, rel=1e-9)
    assert "less than one for one" in line["notes"][-1]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-1e5, 1e5), min_size=1, max_size=200), st.integers(1, 30))
def test_thinning_keeps_each_buckets_least_and_largest(values, buckets):
    other = [value * value for value in values]
    places = recording.thin([values, other], 0, len(values), buckets)
    assert places == sorted(set(places))
    assert len(places) <= max(buckets * 5, len(values) if len(values) <= buckets else 0)
    if len(values) <= buckets:
        assert places == list(range(len(values)))
        return
    for bucket in range(buckets):
        inside = range(len(values) * bucket // buckets, len(values) * (bucket + 1) // buckets)
        kept = [values[i] for i in inside if i in set(places)]
        assert (min(kept), max(kept)) == (min(values[i] for i in inside), max(values[i] for i in inside))


def test_a_kept_recording_comes_back_within_its_steps():
    columns = invented.recording(noise=800.0)
    places = recording.thin([columns["fuel"], columns["boost"]], 250, 1500, 100)
    packed = recording.pack({"columns": columns, "places": places})
    back = recording.unpack(json.loads(json.dumps(packed)))
    for name, values in back.items():
        step = recording.STEPS[name]
        assert all(abs(value - columns[name][place]) <= 0.5001 * step for value, place in zip(values, places, strict=True)), name
    # Steps that a reader would not see: a millisecond, half a tenth of a kPa.
    for name, near in (("time", 0.001), ("boost", 50.0), ("fuel", 50.0), ("mixture", 0.0005)):
        assert all(abs(value - columns[name][place]) < 1.001 * near for value, place in zip(back[name], places, strict=True)), name
    peak = max(columns["boost"][250:1500])
    assert max(back["boost"]) == pytest.approx(peak, abs=50.0)


def test_the_kept_copy_finds_the_same_least():
    columns = invented.recording(allowance=0.6)
    places = recording.thin([columns["fuel"], columns["boost"]], 0, len(columns["time"]), 160)
    back = recording.unpack(recording.pack({"columns": columns, "places": places}))
    whole, kept = finds(columns)[0], finds(back)[0]
    assert kept["peak_boost"] == pytest.approx(whole["peak_boost"], abs=100.0)
    assert kept["least_net"] == pytest.approx(whole["least_net"], abs=1000.0)


def test_runs_are_parted_and_a_shift_does_not_part_one():
    one = invented.recording()
    time = [*one["time"], *(at + 60.0 for at in one["time"])]
    found = recording.runs_in(time, [*one["boost"], *one["boost"]])
    assert len(found) == 2
    assert found[0]["start"] < invented.LAUNCH < invented.FINISH < found[0]["end"]
    assert found[1]["start"] == pytest.approx(found[0]["start"] + 60.0)


def test_a_run_that_lies_across_the_pieces_is_one():
    """At every place of a piece's end, in the first and in a later one; the moments are those that were put in."""
    time = [0.01 * i for i in range(3 * recording.RUNS_A_PIECE)]
    edge = recording.RUNS_A_PIECE
    boost = [100e3 if abs(i - edge) < 50 else 40e3 if abs(i - 2 * edge) < 50 else 1e3 for i in range(len(time))]
    assert [(run["peak"], run["length"], run["start"]) for run in recording.runs_in(time, boost)] == [
        (100e3, pytest.approx(0.98), pytest.approx(0.01 * (edge - 49) - recording.RUN_EDGE)),
        (40e3, pytest.approx(0.98), pytest.approx(0.01 * (2 * edge - 49) - recording.RUN_EDGE)),
    ]
    assert recording.runs_in(time, [-1.0] * len(time)) == []


def test_teaching_pairs_teach_the_car_what_the_recording_was_made_with():
    """An invented car whose supply line loses twice: the pairs of its recording tell the factor to a car that does not know."""
    build = car(regulator__gauge_at="carburettor")
    truth = car(regulator__gauge_at="carburettor", supply_line__loss_factor=2.0, case="full")
    boost = [invented.PEAK * i / 200 for i in range(1, 201)]
    table = [supply.supply_point({**truth, "boost": b})["gauge_reading"] for b in boost]
    columns = {"time": [0.2 * i for i in range(200)], "boost": boost, "fuel": table, "speed": [truth["engine"]["speed"]] * 200}
    pairs = recording.teaching_pairs(columns)
    assert len(pairs) == recording.MOST_PAIRS
    assert all(a["boost"] < b["boost"] for a, b in zip(pairs, pairs[1:], strict=False))
    taught = supply.learn_from_gauge({"passes": [{"inputs": {**build, "boost": p["boost"]}, "reading": p["reading"]} for p in pairs]})
    assert taught["line_factor"] == pytest.approx(2.0, rel=1e-3)


def test_part_throttle_teaches_nothing():
    columns = invented.recording()
    columns["throttle"] = [0.5] * len(columns["time"])
    assert recording.teaching_pairs(columns) == []


def test_the_manifolds_pressure_shows_what_it_is():
    pull = [invented.boost_at(0.01 * i) for i in range(1600)]
    assert recording.looks([value + invented.AMBIENT for value in pull]) == "absolute"
    assert recording.looks(pull) == "gauge"
    assert recording.looks([35e3, 180e3]) == "either"


def test_a_sensors_wander_is_no_boost():
    columns = {name: values[:300] for name, values in invented.recording().items()}
    assert recording.runs_in(columns["time"], columns["boost"]) == []
    with pytest.raises(ValueError, match="^boost: "):
        recording.net_over_bowls({**columns, "card": [], "drops": []})


def test_an_idling_engine_tells_which_air_it_breathes():
    absolute = [value + invented.AMBIENT for value in invented.recording()["boost"]]
    assert recording.above_air(absolute, invented.AMBIENT) is None
    assert recording.above_air(absolute, invented.AMBIENT - 10e3) == min(absolute)


def test_a_rate_is_the_slope_whatever_the_spacing():
    time = [0.0, 0.02, 0.05, 0.3, 0.31, 0.9]
    assert recording.rates(time, [3.0 * at for at in time]) == pytest.approx([3.0] * 6)
    assert recording.rates([1.0], [5.0]) == [0.0]


def test_a_rate_reaches_a_tenth_of_a_second_either_side():
    found = recording.rates([0.05 * i for i in range(41)], [0.0] * 20 + [1.0] * 21)
    assert [i for i, rate in enumerate(found) if rate != 0.0] == [18, 19, 20, 21] and found[18] == pytest.approx(5.0)


def test_between_samples_a_straight_line():
    time, values = [0.0, 1.0, 3.0], [0.0, 10.0, 30.0]
    for moment in (-1.0, 0.0, 0.5, 1.0, 2.0, 3.0, 4.0):
        assert recording.value_at(time, values, moment) == pytest.approx(10.0 * min(max(moment, 0.0), 3.0))
    assert math.isclose(recording.begins(time, values), 1.0)


def test_where_a_run_begins_and_ends():
    """At 30 percent of the greatest boost; a gap of two and a half seconds belongs to it; a second and a half before and behind."""
    time = [0.0, 10.0, 12.4, 15.0, 30.0]
    found = recording.runs_in(time, [0.0, 30e3, 100e3, 31e3, 29e3])
    assert [(run["start"], run["end"]) for run in found] == [(8.5, pytest.approx(13.9)), (13.5, 16.5)]
    assert [(run["peak"], run["length"]) for run in found] == [(100e3, pytest.approx(2.4)), (31e3, 0.0)]
    assert recording.runs_in([], []) == [] and recording.runs_in([0.0], [0.0]) == []
    assert recording.begins(time, [0.0, 29e3, 30e3, 100e3, 0.0]) == 12.4


def climb(span, samples, pause=1.0):
    """A recording of a regulator that does just what it should while boost creeps up by `span` [Pa]."""
    boost = [span * i / (samples - 1) for i in range(samples)]
    return {"time": [pause * i for i in range(samples)], "boost": boost, "fuel": [41e3 + b for b in boost], "lag": 0.0}


def test_a_line_wants_twenty_steady_samples_over_two_psi_of_boost():
    assert recording.regulator_line(climb(16e3, 20))["told"]
    few = recording.regulator_line(climb(16e3, 19))
    assert not few["told"] and (few["samples"], few["steady"]) == (0, 19) and "never holds still" in few["notes"][0]
    narrow = recording.regulator_line(climb(14e3, 20))
    assert not narrow["told"] and "moves too little" in narrow["notes"][0]


def test_boost_that_moves_faster_than_three_psi_a_second_is_not_steady():
    """Known to come late, the regulator may be asked at three times that."""
    for rate, lag, told in ((19e3, 0.0, True), (21e3, 0.0, False), (59e3, 0.02, True), (61e3, 0.02, False)):
        seen = climb(rate * 5.0, 101, 0.05)
        seen["lag"] = lag
        line = recording.regulator_line(seen)
        assert (line["told"], line["steady_rate"]) == (told, 20e3 if lag == 0.0 else 60e3), rate
        assert not told or line["steady"] == 101


def test_with_the_pump_off_a_sample_tells_nothing():
    seen = climb(50e3, 60)
    seen["fuel"] = [9e3 if i < 10 else fuel for i, fuel in enumerate(seen["fuel"])]
    line = recording.regulator_line(seen)
    assert line["steady"] == 50 and line["from_boost"] == seen["boost"][10]


@pytest.mark.parametrize("off, samples", [(1.4e3, 60), (-1.4e3, 60), (1.6e3, 59), (-1.6e3, 59)])
def test_a_sample_agrees_within_one_and_a_half_kpa(off, samples):
    seen = climb(59e3, 60)
    seen["fuel"][30] += off
    line = recording.regulator_line(seen)
    assert (line["base"], line["ratio"], line["samples"]) == (pytest.approx(41e3), pytest.approx(1.0), samples)


def test_six_samples_held_up_are_told():
    """A return line that holds pressure up shows in samples below the line's first, half a psi over it or more."""
    for held, told in ((6, True), (5, False)):
        seen = climb(59e3, 60)
        seen["fuel"] = [fuel + 5e3 + 500.0 * (held - i) if i < held else fuel for i, fuel in enumerate(seen["fuel"])]
        line = recording.regulator_line(seen)
        assert line["ratio"] == pytest.approx(1.0) and line["from_boost"] == seen["boost"][held]
        assert any("holds it up" in note for note in line["notes"]) == told


@pytest.mark.parametrize("ratio, said", [(0.975, True), (0.985, False)])
def test_less_than_one_for_one_is_said_past_two_percent(ratio, said):
    seen = climb(60e3, 60)
    seen["fuel"] = [41e3 + ratio * b for b in seen["boost"]]
    assert ("less than one for one" in recording.regulator_line(seen)["notes"][-1]) == said


def gave_out(below, samples, pause=0.05, spread=100.0, ratio=1.0):
    """A climb in steps of 0.5 kPa, the fuel so far `below` the line in so many samples of its middle."""
    count = 60
    boost = [60e3 + 500.0 * i for i in range(count)]
    fuel = [41e3 + ratio * b - (below if 30 <= i < 30 + samples else 0.0) for i, b in enumerate(boost)]
    line = {"told": True, "base": 41e3, "ratio": ratio, "spread": spread}
    return recording.giving_out({"time": [pause * i for i in range(count)], "boost": boost, "fuel": fuel, "line": line, "lag": 0.0})


@pytest.mark.parametrize(
    "below, samples, pause, spread, falls",
    [
        (3.6e3, 5, 0.05, 100.0, True),  # half a psi, for long enough
        (3.4e3, 5, 0.05, 100.0, False),
        (6.2e3, 5, 0.05, 2e3, True),  # three spreads
        (5.8e3, 5, 0.05, 2e3, False),
        (9e3, 3, 0.05, 100.0, True),  # a tenth of a second, and three samples
        (9e3, 2, 0.05, 100.0, False),
        (9e3, 2, 0.2, 100.0, False),
        (9e3, 3, 0.04, 100.0, False),
    ],
)
def test_what_counts_as_giving_out(below, samples, pause, spread, falls):
    assert gave_out(below, samples, pause, spread)["falls"] == falls


def test_two_percent_of_the_reading_is_no_fall():
    """At a reading of 260 kPa that is 5.2 kPa, more than half a psi."""
    assert not gave_out(5.1e3, 5, ratio=3.0)["falls"]
    assert gave_out(5.5e3, 5, ratio=3.0)["falls"]


def test_what_is_told_of_giving_out():
    found = gave_out(9e3, 5)
    assert found["fall_boost"] == 75e3 and found["fall_time"] == pytest.approx(1.5) and found["fall_fuel"] == 107e3
    assert found["fall_lasts"] == pytest.approx(0.2) and found["fall_most"] == pytest.approx(9e3)
    assert found["held_boost"] == 89.5e3 and found["samples"] == 60
    assert found["notes"][0].startswith("From {fall_boost} of boost on")


@pytest.mark.parametrize("rate, falls", [(-19e3, True), (-21e3, False)])
def test_a_fall_that_begins_while_boost_goes_is_the_drivers(rate, falls):
    time = [0.02 * i for i in range(100)]
    boost = [100e3 + rate * at for at in time]
    seen = {"time": time, "boost": boost, "fuel": [41e3 + b - (20e3 if at > 1.0 else 0.0) for at, b in zip(time, boost, strict=True)]}
    found = recording.giving_out({**seen, "line": {"told": True, "base": 41e3, "ratio": 1.0, "spread": 100.0}, "lag": 0.0})
    assert found["falls"] == falls


def test_lean_counts_while_the_throttle_is_open_or_half_the_boost_is_there():
    seen = {"time": [0.0, 1.0, 2.0, 3.0], "boost": [10e3, 51e3, 100e3, 49e3], "fuel": [9e4] * 4, "mixture": [1.4, 0.85, 0.8, 1.3]}
    seen.update({"card": [], "drops": []})
    found = recording.net_over_bowls(seen)
    assert (found["leanest"], found["leanest_time"]) == (0.85, 1.0)
    assert any(note.startswith("Lambda was {least_mixture}") for note in found["notes"])
    found = recording.net_over_bowls({**seen, "throttle": [0.89, 0.89, 1.0, 0.9]})
    assert (found["leanest"], found["leanest_time"]) == (1.3, 3.0)
    shut = recording.net_over_bowls({**seen, "boost": [10e3, 51e3, 100e3, 10e3], "throttle": [0.0] * 4})
    assert shut["leanest"] is None and shut["least_mixture"] is not None
    assert not any("Lambda" in note for note in shut["notes"])


def test_a_tenth_of_the_peak_counts_as_under_boost():
    seen = {"time": [0.0, 1.0, 2.0], "boost": [9e3, 11e3, 100e3], "fuel": [10e3, 30e3, 140e3], "drops": []}
    found = recording.net_over_bowls({**seen, "card": [{"boost": 0.0, "least": 35e3}, {"boost": 100e3, "least": 135e3}]})
    assert (found["samples"], found["least_net"], found["least_boost"]) == (2, 19e3, 11e3)
    assert found["under"] == [{"start": 0.5, "end": 1.5, "boost": 11e3}]
    assert (found["under_most"], found["under_longest"], found["under_times"]) == (pytest.approx(16e3), 1.0, 1)


def test_a_spike_is_one_only_where_both_sides_read_well_above():
    for low, beside, alone in ((46.4e3, 50e3, True), (46.6e3, 50e3, False), (40e3, 54e3, True), (44e3, 53e3, False)):
        seen = {"time": [0.0, 1.0, 2.0], "boost": [50e3] * 3, "fuel": [100e3, 50e3 + low, 50e3 + beside], "card": [], "drops": []}
        assert recording.net_over_bowls(seen)["alone"] == alone, (low, beside)


@pytest.mark.parametrize("fuel", [[50e3, 100e3, 100e3], [100e3, 100e3, 50e3]])
def test_the_first_and_the_last_sample_are_not_called_alone(fuel):
    seen = {"time": [0.0, 1.0, 2.0], "boost": [50e3] * 3, "fuel": fuel, "card": [], "drops": []}
    found = recording.net_over_bowls(seen)
    assert found["least_net"] == 0.0 and found["alone"] is False


def test_a_pound_of_boost_is_boost_and_less_is_a_sensors_wander():
    """Common practice, no source."""
    seen = {"time": [0.0, 1.0], "fuel": [50e3, 60e3], "card": [], "drops": []}
    assert recording.net_over_bowls({**seen, "boost": [0.0, 7.1e3]})["peak_boost"] == 7.1e3
    with pytest.raises(ValueError, match="^boost: "):
        recording.net_over_bowls({**seen, "boost": [0.0, 6.9e3]})


@pytest.mark.parametrize("mixture, time", [([0.9, 0.8, 0.7], 0.0), ([0.8, 0.9, 0.7], 1.0), ([0.7, 0.8, 0.9], 2.0)])
def test_the_leanest_sample_is_found_wherever_it_stands(mixture, time):
    seen = {"time": [0.0, 1.0, 2.0], "boost": [50e3] * 3, "fuel": [100e3] * 3, "mixture": mixture, "card": [], "drops": []}
    found = recording.net_over_bowls(seen)
    assert (found["leanest"], found["leanest_time"]) == (0.9, time)


def test_no_fuel_over_the_boost_is_said_first():
    seen = {"time": [0.0, 1.0], "boost": [50e3, 60e3], "fuel": [90e3, 60e3], "card": [], "drops": []}
    assert recording.net_over_bowls(seen)["notes"][0].startswith("The boost beat the fuel")
    assert recording.net_over_bowls({**seen, "fuel": [90e3, 60.1e3]})["notes"][0].startswith("Least over the bowls")


def test_a_manifold_is_told_from_its_least():
    for least, told in ((59e3, "either"), (61e3, "absolute"), (16e3, "either"), (14e3, "gauge")):
        assert recording.looks([200e3, least, 150e3]) == told


def test_the_open_throttle_teaches_from_nine_tenths():
    boost = [1e3 * i for i in range(1, 101)]
    seen = {"time": [0.1 * i for i in range(100)], "boost": boost, "fuel": [41e3 + b for b in boost]}
    assert recording.teaching_pairs({**seen, "throttle": [0.89] * 100}) == []
    assert len(recording.teaching_pairs({**seen, "throttle": [0.9] * 100})) == 8
    assert recording.teaching_pairs({"time": [], "boost": [], "fuel": []}) == []


@pytest.mark.parametrize(("quick_at", "first", "last"), [(50.0, 40.0, 60.0), (3.0, 0.0, 20.0), (98.0, 80.0, 100.0)])
def test_of_a_long_recording_the_moments_around_its_quickest_change_are_compared(quick_at, first, last):
    """As many as are looked at, and none outside the recording."""
    time = [0.1 * i for i in range(1001)]
    boost = [1e5 if at >= quick_at else 0.0 for at in time]
    grid = recording._grid(time, boost, 20.0 / recording.MOST_LAG_STEPS)
    assert len(grid) == pytest.approx(recording.MOST_LAG_STEPS + 1, abs=1)
    assert grid[0] == pytest.approx(first, abs=0.11) and grid[-1] == pytest.approx(last, abs=0.11)


def test_the_moments_compared_reach_the_last_reading():
    assert recording._grid([0.0, 0.5, 1.0], [0.0, 0.0, 0.0], 0.1) == pytest.approx([0.1 * i for i in range(11)])
    assert recording._grid([2.0, 2.5, 2.95], [0.0, 0.0, 0.0], 0.1) == pytest.approx([2.0 + 0.1 * i for i in range(10)])
