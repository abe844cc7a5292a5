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
    assert not recording.regulator_lag(seen)["told"]
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


def test_a_rate_is_the_slope_whatever_the_spacing():
    time = [0.0, 0.02, 0.05, 0.3, 0.31, 0.9]
    assert recording.rates(time, [3.0 * at for at in time]) == pytest.approx([3.0] * 6)
    assert recording.rates([1.0], [5.0]) == [0.0]


def test_between_samples_a_straight_line():
    time, values = [0.0, 1.0, 3.0], [0.0, 10.0, 30.0]
    for moment in (-1.0, 0.0, 0.5, 1.0, 2.0, 3.0, 4.0):
        assert recording.value_at(time, values, moment) == pytest.approx(10.0 * min(max(moment, 0.0), 3.0))
    assert math.isclose(recording.begins(time, values), 1.0)
