"""Around a run: cube-root rules, gearing, lines through points against scipy, and what the gauge teaches."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from calc import runs
from tests.reference import agrees, cases

HP, LB, MPH, RPM, INCH = 745.6998715822702, 0.45359237, 0.44704, math.pi / 30.0, 0.0254


def slip(**more):
    inputs = {
        "mass": 3000 * LB,
        "trap_speed": 120 * MPH,
        "elapsed_time": None,
        "track": "quarter",
        "speed_share": runs.SPEED_SHARE,
        "time_share": runs.TIME_SHARE,
        "correction": 1.0,
        "power": 400 * HP,
    }
    return {**inputs, **more}


@pytest.mark.parametrize("pounds, mph", [(3000, 120), (3500, 100), (2400, 150), (1800, 90)])
def test_trap_rule_of_the_trade(pounds, mph):
    """Common practice, no source (from memory): hp = lb * (mph / 234)^3 over a quarter mile."""
    answer = runs.trap_power(slip(mass=pounds * LB, trap_speed=mph * MPH))
    assert answer["power"] / HP == pytest.approx(pounds * (mph / 234) ** 3, rel=1e-4)  # the share is kept to five digits


@pytest.mark.parametrize("pounds, hp", [(3000, 400), (3500, 250), (2400, 900)])
def test_time_rule_of_the_trade(pounds, hp):
    """Common practice, no source (from memory): time = 5.825 s * (lb / hp)^(1/3) over a quarter mile."""
    answer = runs.et_from_power(slip(mass=pounds * LB, power=hp * HP))
    assert answer["elapsed_time"] == pytest.approx(5.825 * (pounds / hp) ** (1 / 3), rel=1e-4)


def test_eighth_mile_stands_to_the_quarter_as_the_trade_reckons():
    """Common practice, no source: quarter over eighth is about 1.25 in speed, and 1.55 to 1.6 in time."""
    quarter, eighth = runs.et_from_power(slip()), runs.et_from_power(slip(track="eighth"))
    assert quarter["trap_speed"] / eighth["trap_speed"] == pytest.approx(1.25, abs=0.02)
    assert 1.55 <= quarter["elapsed_time"] / eighth["elapsed_time"] <= 1.6


def test_ideal_run_is_newtons():
    """With nothing lost, the constant-power run from rest: integrate v dv = P/m dt by hand (kinetic energy = power * time)."""
    mass, power, distance = 1000.0, 300e3, 300.0
    time = runs.time_from_power(mass, power, distance, 1.0)
    speed = runs.speed_from_power(mass, power, distance, 1.0)
    assert 0.5 * mass * speed**2 == pytest.approx(power * time, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.floats(100, 5000), st.floats(1e4, 4e6), st.sampled_from(["quarter", "eighth", "other"]), st.floats(0.7, 1.5))
def test_slip_turns_back_into_the_power(mass, power, track, correction):
    there = runs.et_from_power(slip(mass=mass, power=power, track=track, distance=300.0, correction=correction))
    back = runs.trap_power(
        slip(
            mass=mass,
            trap_speed=there["trap_speed"],
            elapsed_time=there["elapsed_time"],
            track=track,
            distance=300.0,
            correction=correction,
        )
    )
    assert back["power_corrected"] == pytest.approx(power, rel=1e-9)
    assert back["power_from_time_corrected"] == pytest.approx(power, rel=1e-9)
    assert back["launch_gap"] == pytest.approx(0.0, abs=1e-9)


def test_a_time_that_cannot_be():
    with pytest.raises(ValueError, match="elapsed_time: "):
        runs.trap_power(slip(elapsed_time=7.0))


def gear(**more):
    inputs = {
        "find": "speed",
        "engine_speed": 7000 * RPM,
        "speed": None,
        "gear_ratio": 1.0,
        "final_drive": 3.7,
        "tyre_diameter": 28 * INCH,
        "slip": 0.0,
        "gears": None,
    }
    return {**inputs, **more}


def test_gearing_rule_of_the_trade():
    """Common practice, no source: mph = rpm * tyre inches / (gear * axle * 336)."""
    answer = runs.gearing(gear())
    assert answer["speed"] / MPH == pytest.approx(7000 * 28 / (3.7 * 336), rel=3e-3)  # 336 is rounded from 336.1


@settings(max_examples=60, deadline=None)
@given(st.floats(50, 1500), st.floats(0.3, 6), st.floats(1, 8), st.floats(0.3, 1.2), st.floats(0, 0.4))
def test_each_of_four_comes_back(engine_speed, ratio, final, tyre, slip_):
    known = gear(engine_speed=engine_speed, gear_ratio=ratio, final_drive=final, tyre_diameter=tyre, slip=slip_)
    speed = runs.gearing(known)["speed"]
    for find, key in [("engine-speed", "engine_speed"), ("final-drive", "final_drive"), ("tyre", "tyre_diameter")]:
        asked = {**known, "speed": speed, "find": find, key: None}
        assert runs.gearing(asked)[key] == pytest.approx(known[key], rel=1e-12)


def test_shift_drops_by_the_step_between_gears():
    rows = runs.gearing(gear(gears=[[2.5], [1.5], [1.0]]))["gear_table"]
    assert [row["after_shift"] for row in rows] == [None, pytest.approx(4200 * RPM), pytest.approx(7000 * RPM / 1.5)]


@pytest.mark.parametrize("case", cases("13_regression", "ols"), ids=lambda case: case["id"])
def test_least_squares(case):
    line = runs.ordinary_line(case["inputs"]["x"], case["inputs"]["y"])
    for key in ["slope", "intercept", "residual_sd", "r_squared"]:
        agrees(line[key], case, key)


@pytest.mark.parametrize("case", cases("13_regression", "ols_prediction_interval"), ids=lambda case: case["id"])
def test_prediction_band(case):
    told = case["inputs"]
    answer = runs.predict(runs.ordinary_line(told["x"], told["y"]), told["x0"], told["confidence"])
    for key in ["prediction", "lower", "upper", "half_width", "t_quantile"]:
        agrees(answer[key], case, key)


@pytest.mark.parametrize("case", cases("13_regression", "theil_sen"), ids=lambda case: case["id"])
def test_robust_line(case):
    line = runs.theil_sen_line(case["inputs"]["x"], case["inputs"]["y"], 0.95)
    for key in ["slope", "intercept_median_separate", "intercept_joint"]:
        agrees(line[key], case, key)
    agrees(line["slope_low"], case, "slope_low_95")
    agrees(line["slope_high"], case, "slope_high_95")


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 10, 31, 100, 1001, 4998])
@pytest.mark.parametrize("confidence", [0.1, 0.5, 0.9, 0.95, 0.99, 0.999])
def test_students_t_is_scipys(freedom, confidence):
    assert runs.student_t_quantile(confidence, freedom) == pytest.approx(stats.t.ppf(0.5 + confidence / 2, freedom), rel=1e-9)


@pytest.mark.parametrize("confidence", [0.01, 0.5, 0.9, 0.95, 0.99, 0.9999])
def test_normal_is_scipys(confidence):
    assert runs.normal_quantile(confidence) == pytest.approx(stats.norm.ppf(0.5 + confidence / 2), rel=1e-9)


# Logged figures: few digits, so that equal values happen.
figures = st.integers(-400, 400).map(lambda n: n / 4)


@pytest.mark.filterwarnings("ignore:invalid value encountered in sqrt:RuntimeWarning")
@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(figures, figures), min_size=3, max_size=30), st.sampled_from([0.8, 0.9, 0.95]))
def test_lines_are_scipys(points, confidence):
    x, y = [float(a) for a, _ in points], [float(b) for _, b in points]
    assume(max(x) > min(x))
    line, theirs = runs.ordinary_line(x, y), stats.linregress(x, y)
    assert line["slope"] == pytest.approx(theirs.slope, rel=1e-9, abs=1e-9)
    assert line["intercept"] == pytest.approx(theirs.intercept, rel=1e-9, abs=1e-7)
    robust, theirs = runs.theil_sen_line(x, y, confidence), stats.theilslopes(y, x, confidence)
    assert robust["slope"] == pytest.approx(theirs.slope, rel=1e-9, abs=1e-12)
    assert robust["intercept_median_separate"] == pytest.approx(theirs.intercept, rel=1e-9, abs=1e-9)
    assert robust["slope_low"] <= robust["slope"] <= robust["slope_high"]
    # Ranks are rounded; the bound is scipy's or the slope of a neighbouring pair.
    slopes = sorted(
        (b2 - b1) / (a2 - a1) for i, (a1, b1) in enumerate(zip(x, y, strict=True)) for a2, b2 in zip(x[:i], y[:i], strict=True) if a1 != a2
    )
    for mine, scipys in [(robust["slope_low"], theirs.low_slope), (robust["slope_high"], theirs.high_slope)]:
        near = [slopes[max(0, i - 1) : i + 2] for i, slope in enumerate(slopes) if slope == pytest.approx(scipys, rel=1e-12, abs=1e-12)]
        # With next to nothing but ties, scipy takes the root of a negative variance and has no bounds.
        assert math.isnan(scipys) or any(mine == pytest.approx(slope, rel=1e-9, abs=1e-9) for group in near for slope in group)


def test_two_points_make_a_line_that_nothing_is_off_of():
    line = runs.ordinary_line([1.0, 3.0], [2.0, 6.0])
    assert (line["slope"], line["intercept"], line["residual_sd"], line["count"]) == (2.0, 0.0, None, 2)


@pytest.mark.parametrize("slope, words", [(2.0, "It rises"), (-2.0, "It falls"), (0.0, "No clear trend")])
def test_trend_says_which_way_it_goes_where_the_bounds_leave_no_doubt(slope, words):
    x = [float(i) for i in range(10)]
    answer = runs.trend({"x": x, "y": [slope * value + 0.1 * (-1) ** i for i, value in enumerate(x)]})
    assert answer["notes"][0].startswith(words) and len(answer["notes"]) == 1
    few = runs.trend({"x": x[:7], "y": [slope * value for value in x[:7]]})
    assert few["notes"][-1].startswith("Few points")


def test_trend_marks_the_odd_one_out_and_shrugs_it_off():
    x = [float(i) for i in range(10)]
    y = [2.0 * value + 0.1 * (-1) ** i for i, value in enumerate(x)]
    y[4] = 40.0
    answer = runs.trend({"x": x, "y": y})
    assert answer["outliers"] == [4]
    assert answer["robust_slope"] == pytest.approx(2.0, abs=0.1)
    assert answer["enough"] and answer["notes"][0].startswith("It rises")
    assert len(answer["band"]) == 21 and all(row["lower"] < row["fit"] < row["upper"] for row in answer["band"])


@pytest.mark.parametrize(
    "x, y, words", [([], [], "Too few points"), ([1.0, 2.0], [1.0, 2.0], "Too few points"), ([2.0, 2.0, 2.0], [1.0, 2.0, 3.0], "No trend")]
)
def test_trend_says_when_there_is_none(x, y, words):
    answer = runs.trend({"x": x, "y": y})
    assert not answer["enough"] and answer["slope"] is None and answer["band"] == [] and answer["notes"][0].startswith(words)


def test_trend_of_unequal_lists_is_refused():
    with pytest.raises(ValueError, match="y: "):
        runs.trend({"x": [1.0], "y": []})


def test_trend_of_a_long_log_does_without_all_pairs():
    x = [float(i) for i in range(700)]
    answer = runs.trend({"x": x, "y": [3.0 * value for value in x]})
    assert answer["slope"] == pytest.approx(3.0) and answer["robust_slope"] is None


@pytest.mark.parametrize(
    "call",
    [
        lambda: runs.ordinary_line([1.0, 1.0], [1.0, 2.0]),
        lambda: runs.theil_sen_line([1.0], [1.0], 0.95),
        lambda: runs.theil_sen_line([float(i) for i in range(601)], [0.0] * 601, 0.95),
        lambda: runs.student_t_quantile(0.95, 0),
    ],
)
def test_points_that_make_no_line(call):
    with pytest.raises(ValueError):
        call()


@settings(max_examples=60, deadline=None)
@given(st.floats(0.2, 5), st.floats(0.3, 1.2), st.lists(st.floats(500, 50000), min_size=3, max_size=20))
def test_gauge_teaches_the_factors_that_made_the_readings(line, pump, losses):
    held = [{"short": False, "no_loss": 150e3, "loss": loss, "reading": 150e3 - line * loss} for loss in losses]
    short = [{"short": True, "curve_flow": 1e-9 * loss, "flow": pump * 1e-9 * loss} for loss in losses]
    answer = runs.gauge_learning({"rows": held + short})
    assert answer["line_factor"] == pytest.approx(line, rel=1e-6)
    assert answer["pump_factor"] == pytest.approx(pump, rel=1e-6)
    assert answer["line_factor_low"] <= answer["line_factor"] <= answer["line_factor_high"]
    assert (answer["line_points"], answer["pump_points"]) == (len(losses), len(losses))


def test_factor_and_spread_are_least_squares_through_nought():
    """scipy: minimise by a general solver; spread by Student's t with one degree less than points."""
    expected, seen = [1.0, 2.0, 3.0, 5.0], [1.3, 2.2, 3.9, 5.6]
    fit = runs.fit_factor(expected, seen)
    slope = sum(e * s for e, s in zip(expected, seen, strict=True)) / sum(e * e for e in expected)
    left = sum((s - slope * e) ** 2 for e, s in zip(expected, seen, strict=True))
    half = stats.t.ppf(0.975, 3) * math.sqrt(left / 3 / sum(e * e for e in expected))
    assert fit["factor"] == pytest.approx(slope, rel=1e-12)
    assert (fit["low"], fit["high"]) == (pytest.approx(slope - half, rel=1e-9), pytest.approx(slope + half, rel=1e-9))


def test_nothing_logged_teaches_nothing():
    answer = runs.gauge_learning({"rows": []})
    assert answer["line_factor"] is None and answer["pump_factor"] is None and answer["notes"][0].startswith("Nothing to learn")


def test_two_passes_give_a_factor_without_a_spread():
    rows = [{"short": False, "no_loss": 100e3, "loss": 5e3, "reading": 93e3}] * 2
    answer = runs.gauge_learning({"rows": rows})
    assert answer["line_factor"] == pytest.approx(1.4) and answer["line_factor_low"] is None
    assert answer["notes"][-1].startswith("Fewer than three")


def test_few_points_are_said_to_be_few():
    few = "Few points, so the band is wide."
    assert few in runs._trend_notes(7, None) and few not in runs._trend_notes(8, None)


@pytest.mark.parametrize(
    "x", [[1.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [1.0, 2.0, 2.0, 2.0, 3.0, 4.0, 4.0], [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 6.0]]
)
def test_readings_at_the_same_place_count_as_scipy_counts_them(x):
    """Ties narrow what is known of the slope (Sen, Journal of the American Statistical Association 63 (1968) 1379-1389)."""
    y = [2.0, 2.9, 4.1, 5.2, 8.3, 9.9, 12.4]
    mine, theirs = runs.theil_sen_line(x, y, 0.9), stats.theilslopes(y, x, 0.9)
    assert (mine["slope_low"], mine["slope_high"]) == pytest.approx((theirs.low_slope, theirs.high_slope))
