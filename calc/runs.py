"""Around a run: power from the time slip, gearing, the trend of what was logged, and what the fuel gauge teaches.

A car of constant power would reach the line with `speed^3 = 3 * power * distance / mass`, and its time would go with the
cube root of mass over power. The trade's cube-root rules are these with a share of the power lost on the way.
"""

import math

from calc import bracket

QUARTER_MILE = 402.336  # m
EIGHTH_MILE = 201.168

# Shares of crank power that end up in speed and in time, from the trade's rules for a quarter mile, as remembered:
# speed is 234 mph times the cube root of hp over lb, time is 5.825 s times the cube root of lb over hp. Common practice,
# no source; cars differ by ten percent either way.
SPEED_SHARE = 0.57687
TIME_SHARE = 0.56045

FEWEST_POINTS = 3
MOST_PAIRED_POINTS = 600  # beyond, the slopes of all pairs take too long on a phone
OUTLIER_LIMIT = 3.5  # spreads away from the robust line: Iglewicz and Hoaglin (1993), from memory
CONFIDENCE = 0.95


def power_from_speed(mass, speed, distance, share):
    """Crank power from the speed at the line.

    Inputs: `mass` [kg] with driver; `speed` [m/s] at the line; `distance` [m]; `share` of the power that ends up as speed;
    all above 0. Result: [W]. Range: standing start, one long pull. Errors: none. Formula: P = m v^3 / (3 d share). Source:
    constant power over a distance; the share is common practice, no source.

    >>> power_from_speed(3000 * 0.45359237, 120 * 0.44704, QUARTER_MILE, SPEED_SHARE) / 745.69987
    404.6
    """
    return mass * speed * speed * speed / (3.0 * distance * share)


def speed_from_power(mass, power, distance, share):
    """Speed at the line; the inverse of `power_from_speed`.

    Inputs: `mass` [kg], `power` [W], `distance` [m], `share`, all above 0. Result: [m/s]. Range: as there. Errors: none.
    Formula: v = (3 d share P / m)^(1/3). Source: as there.

    >>> speed_from_power(3000 * 0.45359237, 404.6 * 745.69987, QUARTER_MILE, SPEED_SHARE) / 0.44704
    120.0
    """
    return (3.0 * distance * share * power / mass) ** (1.0 / 3.0)


def power_from_time(mass, time, distance, share):
    """Crank power from the elapsed time.

    Inputs: `mass` [kg] with driver; `time` [s]; `distance` [m]; `share` of the power that ends up in time; all above 0.
    Result: [W]. Range: standing start; a poor launch shows as missing power. Errors: none. Source: constant power over a
    distance, time^3 = 9 mass distance^2 / (8 power); the share is common practice, no source.

    >>> power_from_time(3000 * 0.45359237, 11.36, QUARTER_MILE, TIME_SHARE) / 745.69987
    404.5
    """
    return 9.0 * mass * distance * distance / (8.0 * share * time * time * time)


def time_from_power(mass, power, distance, share):
    """Elapsed time; the inverse of `power_from_time`.

    Inputs: `mass` [kg], `power` [W], `distance` [m], `share`, all above 0. Result: [s]. Range: as there. Errors: none. Formula:
    t = (9 m d^2 / (8 share P))^(1/3). Source: as there.

    >>> time_from_power(3000 * 0.45359237, 404.5 * 745.69987, QUARTER_MILE, TIME_SHARE)
    11.36
    """
    return (9.0 * mass * distance * distance / (8.0 * share * power)) ** (1.0 / 3.0)


def _distance(inputs):
    if inputs["track"] == "quarter":
        return QUARTER_MILE
    return EIGHTH_MILE if inputs["track"] == "eighth" else inputs["distance"]


def trap_power(inputs):
    """Estimate engine power from the speed at the line, and from the elapsed time if it is given.

    Inputs: dict of `mass` [kg] with driver, `trap_speed` [m/s], optional `elapsed_time` [s], `track` ("quarter", "eighth" or
    "other" with `distance` [m]), `speed_share`, `time_share`, `correction` (power correction factor, 1 for none). Results:
    `power` and `power_corrected` [W] from speed; `power_from_time` and `power_from_time_corrected` [W], None without a time;
    `launch_gap`, power from time over power from speed less one, None without a time. Range: the form's. Errors: ValueError
    where the time is too short for the speed. Formula: those of `power_from_speed` and `power_from_time`. Source: cube-root
    rules, common practice, no source.

    >>> asked = {"mass": 1360.8, "trap_speed": 53.645, "track": "quarter", "speed_share": 0.57687, "time_share": 0.56, "correction": 1.0}
    >>> trap_power(asked)["power"]
    301713.
    """
    distance = _distance(inputs)
    time = inputs.get("elapsed_time")
    # From a standing start, speed rising to the line: the average speed cannot exceed the speed at the line.
    if time is not None and time * inputs["trap_speed"] <= distance:
        raise ValueError("elapsed_time: That time is too short for this speed at the line; check both, and the track's length.")
    power = power_from_speed(inputs["mass"], inputs["trap_speed"], distance, inputs["speed_share"])
    by_time = None if time is None else power_from_time(inputs["mass"], time, distance, inputs["time_share"])
    gap = None if by_time is None else by_time / power - 1.0
    return {
        "power": power,
        "power_corrected": power * inputs["correction"],
        "power_from_time": by_time,
        "power_from_time_corrected": None if by_time is None else by_time * inputs["correction"],
        "launch_gap": gap,
        "notes": _trap_notes(gap, inputs["correction"]),
        "steps": [
            {"label": "Distance", "value": distance, "kind": "length"},
            {
                "label": "Energy at the line: half mass times speed squared, per second of a constant-power run",
                "value": power * inputs["speed_share"],
                "kind": "power",
            },
            {"label": "Share of crank power that ends up as speed", "value": inputs["speed_share"], "kind": "fraction"},
            {"label": "Crank power from speed", "value": power, "kind": "power"},
            {"label": "Crank power from time", "value": by_time, "kind": "power"},
        ],
    }


def _trap_notes(gap, correction):
    notes = ["About {power} at the crank from the speed at the line, by the trade's cube-root rule."]
    if gap is not None and gap < -0.1:
        notes.append("The time says only {power_from_time}: power was there, but the launch or the shifts gave it away.")
    elif gap is not None and gap > 0.1:
        notes.append("The time says {power_from_time}, more than the speed does: the car left hard and slowed or nosed over at the top.")
    elif gap is not None:
        notes.append("The time says {power_from_time}; both agree, so the run was a clean one.")
    if correction != 1.0:
        notes.append("Corrected to standard air: {power_corrected}. Correction factors are made for engines without boost.")
    notes.append("Cars differ by ten percent or so; compare your own runs rather than trust one number.")
    return notes


def et_from_power(inputs):
    """Estimate elapsed time and speed at the line from power and mass.

    Inputs: dict of `mass` [kg] with driver, `power` [W] at the crank in standard air, `correction` (power correction factor
    of today's air, 1 for none), `track` ("quarter", "eighth" or "other" with `distance` [m]), `speed_share`, `time_share`.
    Results: `elapsed_time` [s], `trap_speed` [m/s], `power_today` [W], `sweep`, rows of `power`,
    `elapsed_time`, `trap_speed` from half to one and a half times the power. Range: the form's. Errors: none. Source:
    cube-root rules, common practice, no source.

    >>> asked = {"mass": 1360.8, "power": 301714.0, "track": "quarter", "speed_share": 0.57687, "time_share": 0.56045, "correction": 1.0}
    >>> et_from_power(asked)["elapsed_time"], et_from_power(asked)["trap_speed"]
    (11.36, 53.64)
    """
    distance = _distance(inputs)
    power = inputs["power"] / inputs["correction"]
    notes = ["About {elapsed_time} at {trap_speed}, by the trade's cube-root rule, with a good launch and no lift."]
    if inputs["correction"] != 1.0:
        notes.append("Today's air leaves {power_today} of it. Correction factors are made for engines without boost.")
    notes.append("Cars differ by a few tenths; a hard or a spinning launch changes the time, hardly the speed.")
    return {
        "elapsed_time": time_from_power(inputs["mass"], power, distance, inputs["time_share"]),
        "trap_speed": speed_from_power(inputs["mass"], power, distance, inputs["speed_share"]),
        "power_today": power,
        "sweep": _power_sweep(inputs, power, distance),
        "notes": notes,
        "steps": [
            {"label": "Distance", "value": distance, "kind": "length"},
            {"label": "Power in today's air", "value": power, "kind": "power"},
            {"label": "Share of crank power that ends up as speed", "value": inputs["speed_share"], "kind": "fraction"},
            {"label": "Share of crank power that ends up in time", "value": inputs["time_share"], "kind": "fraction"},
        ],
    }


def _power_sweep(inputs, power, distance):
    rows = []
    for i in range(21):
        at = power * (0.5 + i / 20)
        rows.append(
            {
                "power": at,
                "elapsed_time": time_from_power(inputs["mass"], at, distance, inputs["time_share"]),
                "trap_speed": speed_from_power(inputs["mass"], at, distance, inputs["speed_share"]),
            }
        )
    return rows


def road_speed(engine_speed, gear_ratio, final_drive, tyre_diameter, slip):
    """Road speed from engine speed and gearing.

    Inputs: `engine_speed` [rad/s]; `gear_ratio`, `final_drive`, above 0; `tyre_diameter` [m], loaded and at speed; `slip`,
    the part of the wheel speed lost in converter and tyre, below 1. Result: [m/s]. Errors: none. Formula: v = n / (gear
    final) D / 2 (1 - slip). Source: rolling wheel.

    >>> road_speed(7000 * 0.104719755, 1.0, 3.7, 0.7112, 0.0) / 0.44704
    157.6
    """
    return engine_speed / (gear_ratio * final_drive) * tyre_diameter / 2.0 * (1.0 - slip)


def gearing(inputs):
    """Find road speed, engine speed, final drive or tyre from the other three.

    Inputs: dict of `find` ("speed", "engine-speed", "final-drive" or "tyre"); of `speed` [m/s], `engine_speed` [rad/s],
    `final_drive` and `tyre_diameter` [m] all but the one to find; `gear_ratio`; `slip`; optional `gears`, rows of one gearbox
    ratio each, highest ratio first. Results: `speed`, `engine_speed`, `final_drive`, `tyre_diameter`, `overall_ratio`,
    `gear_table`, rows of `gear`, `ratio`, `speed` at the engine speed, and `after_shift`, engine speed after the shift into
    that gear, None for the first. Range: the form's. Errors: none. Formula: that of `road_speed`, solved for what is asked.
    Source: `road_speed`.

    >>> asked = {"find": "speed", "engine_speed": 733.04, "gear_ratio": 1.0, "final_drive": 3.7, "tyre_diameter": 0.7112, "slip": 0.0}
    >>> gearing(asked)["speed"]
    70.45
    """
    known = dict(inputs)
    rolled = inputs["gear_ratio"] / (1.0 - inputs["slip"])
    if inputs["find"] == "speed":
        known["speed"] = road_speed(
            inputs["engine_speed"], inputs["gear_ratio"], inputs["final_drive"], inputs["tyre_diameter"], inputs["slip"]
        )
    elif inputs["find"] == "engine-speed":
        known["engine_speed"] = inputs["speed"] * rolled * inputs["final_drive"] * 2.0 / inputs["tyre_diameter"]
    elif inputs["find"] == "final-drive":
        known["final_drive"] = inputs["engine_speed"] * inputs["tyre_diameter"] / (2.0 * inputs["speed"] * rolled)
    else:
        known["tyre_diameter"] = 2.0 * inputs["speed"] * rolled * inputs["final_drive"] / inputs["engine_speed"]
    overall = inputs["gear_ratio"] * known["final_drive"]
    return {
        "speed": known["speed"],
        "engine_speed": known["engine_speed"],
        "final_drive": known["final_drive"],
        "tyre_diameter": known["tyre_diameter"],
        "overall_ratio": overall,
        "gear_table": _gear_table(inputs, known),
        "notes": _gearing_notes(inputs["find"], inputs["slip"]),
        "steps": [
            {"label": "Overall ratio: gear times final drive", "value": overall, "kind": "ratio"},
            {"label": "Distance for one turn of the wheel", "value": math.pi * known["tyre_diameter"], "kind": "length"},
            {"label": "Wheel speed", "value": known["engine_speed"] / overall, "kind": "rotational_speed"},
        ],
    }


def _gear_table(inputs, known):
    gears = inputs.get("gears")
    rows = []
    if gears is None:
        return rows
    for i in range(len(gears)):
        ratio = gears[i][0]
        speed = road_speed(known["engine_speed"], ratio, known["final_drive"], known["tyre_diameter"], inputs["slip"])
        after = None if i == 0 else known["engine_speed"] * ratio / gears[i - 1][0]
        rows.append({"gear": i + 1, "ratio": ratio, "speed": speed, "after_shift": after})
    return rows


def _gearing_notes(find, slip):
    if find == "speed":
        notes = ["{engine_speed} goes {speed} in this gear."]
    elif find == "engine-speed":
        notes = ["{speed} takes {engine_speed} in this gear."]
    elif find == "final-drive":
        notes = ["A final drive of {final_drive} crosses at {engine_speed} and {speed}."]
    else:
        notes = ["A tyre of {tyre_diameter} crosses at {engine_speed} and {speed}."]
    if slip == 0.0:
        notes.append("Without slip: a loose converter or a growing tyre moves this by several percent. Measure the tyre loaded.")
    return notes


def _ascending(values):
    # Without a key, the phone's engine would sort numbers as text.
    return sorted(values, key=lambda value: value)


def _median(values):
    ordered = _ascending(values)
    middle = math.floor(len(ordered) / 2)
    if 2 * middle < len(ordered):
        return ordered[middle]
    return 0.5 * (ordered[middle - 1] + ordered[middle])


def _mean(values):
    return sum(values) / len(values)


def normal_quantile(confidence):
    """How many standard deviations either side of the mean hold the share `confidence` of a normal distribution.

    Inputs: `confidence` above 0 and below 1. Result: number. Range: to 0.9999. Errors: none. Source: power series of the
    normal integral (Abramowitz and Stegun 26.2.11), turned round by halving.

    >>> normal_quantile(0.95)
    1.959964
    """
    return bracket.crossing(lambda deviations: _normal_share(deviations) - confidence, 0.0, 8.0)


def _normal_share(deviations):
    """Share of a normal distribution within so many standard deviations either side of the mean."""
    term, total = deviations, deviations
    for k in range(1, 120):
        term = term * deviations * deviations / (2 * k + 1)
        total = total + term
    return 2.0 * total * math.exp(-0.5 * deviations * deviations) / math.sqrt(2.0 * math.pi)


def _t_share(angle, freedom):
    """Share of Student's t within sqrt(freedom) tan(angle) either side (Abramowitz and Stegun 26.7.3 and 26.7.4)."""
    cosine = math.cos(angle)
    square = cosine * cosine
    odd = 2 * math.floor(freedom / 2) < freedom
    if odd and freedom == 1:
        return 2.0 * angle / math.pi
    term = cosine if odd else 1.0
    total = term
    first = 3 if odd else 2
    for k in range(first, int(freedom) - 1, 2):
        term = term * square * (k - 1) / k
        total = total + term
    if odd:
        return 2.0 / math.pi * (angle + math.sin(angle) * total)
    return math.sin(angle) * total


def student_t_quantile(confidence, freedom):
    """How many standard errors either side hold the share `confidence` of Student's t.

    Inputs: `confidence` above 0 and below 1; `freedom`, whole degrees of freedom from 1. Result: number. Range: confidence to
    0.9999. Errors: ValueError below one degree of freedom. Formula: t = sqrt(n) tan(angle), angle by the share that it holds.
    Source: the finite series for whole degrees of freedom, Abramowitz and Stegun 26.7.3 and 26.7.4 (from memory), turned
    round by halving.

    >>> student_t_quantile(0.95, 1), student_t_quantile(0.95, 9)
    (12.7062, 2.262157)
    """
    if freedom < 1:
        raise ValueError("freedom: Too few points: there must be at least one more than the line takes up.")
    angle = bracket.crossing(lambda guess: _t_share(guess, freedom) - confidence, 0.0, 0.5 * math.pi)
    return math.sqrt(freedom) * math.tan(angle)


def ordinary_line(x, y):
    """Least-squares line through points.

    Inputs: `x`, `y`, lists of one length from 2, not all x the same. Result: dict of `slope`, `intercept`, `residual_sd`
    (None for two points), `r_squared` (None where all y are the same), `mean_x`, `spread_x` (sum of squares about the mean),
    `count`. Errors: ValueError naming "x" for too few points or one x only. Formula: slope = sum((x - mx) (y - my)) / sum((x
    - mx)^2); intercept = my - slope mx. Source: textbook least squares.

    >>> line = ordinary_line([0.0, 1.0, 2.0], [1.0, 2.1, 2.9])
    >>> line["slope"], line["intercept"], line["residual_sd"]
    (0.95, 1.05, 0.12247)
    """
    count = len(x)
    if count < 2 or max(x) <= min(x):
        raise ValueError("x: A line needs two points or more at different values.")
    mean_x, mean_y = _mean(x), _mean(y)
    spread_x = sum([(value - mean_x) ** 2 for value in x])
    spread_y = sum([(value - mean_y) ** 2 for value in y])
    if spread_x <= 0.0:
        raise ValueError("x: The values lie too close together for a line.")
    slope = sum([(x[i] - mean_x) * (y[i] - mean_y) for i in range(count)]) / spread_x
    left = sum([(y[i] - mean_y - slope * (x[i] - mean_x)) ** 2 for i in range(count)])
    return {
        "slope": slope,
        "intercept": mean_y - slope * mean_x,
        "residual_sd": None if count < 3 else math.sqrt(left / (count - 2)),
        "r_squared": None if spread_y <= 0.0 else 1.0 - left / spread_y,
        "mean_x": mean_x,
        "spread_x": spread_x,
        "count": count,
    }


def predict(line, at, confidence):
    """Predict one more reading, with the band that holds it with a given confidence.

    Inputs: `line` of `ordinary_line` from 3 points; `at`, the x asked about; `confidence` above 0 and below 1. Result: dict
    of `prediction`, `lower`, `upper`, `half_width`, `t_quantile`. Errors: ValueError of `student_t_quantile`. Formula: y =
    intercept + slope x, give or take t s sqrt(1 + 1 / n + (x - mx)^2 / sum((x - mx)^2)). Source: textbook prediction interval
    of least squares with Student's t.

    >>> predict(ordinary_line([0.0, 1.0, 2.0], [1.0, 2.1, 2.9]), 3.0, 0.95)["half_width"]
    2.84119
    """
    quantile = student_t_quantile(confidence, line["count"] - 2)
    away = at - line["mean_x"]
    half = quantile * line["residual_sd"] * math.sqrt(1.0 + 1.0 / line["count"] + away * away / line["spread_x"])
    middle = line["intercept"] + line["slope"] * at
    return {"prediction": middle, "lower": middle - half, "upper": middle + half, "half_width": half, "t_quantile": quantile}


def theil_sen_line(x, y, confidence):
    """Robust line: the median of the slopes of all pairs of points.

    Inputs: `x`, `y`, lists of one length, 2 to 600, not all x the same; `confidence` of the slope's bounds. Result: dict of
    `slope`; `intercept_median_separate`, the median of y less slope times the median of x; `intercept_joint`, the median of y
    less slope times x, so that as many points lie above the line as below; `slope_low`, `slope_high`. Errors: ValueError
    naming "x". Formula: slope = median((yi - yj) / (xi - xj)); bounds the slopes of rank (N -+ z sqrt(var / 18)) / 2. Source:
    Sen, J. Am. Stat. Assoc. 63 (1968) 1379, bounds by Kendall's variance with ties (from memory).

    >>> line = theil_sen_line([0.0, 1.0, 2.0], [1.0, 2.1, 2.9], 0.95)
    >>> line["slope"], line["slope_low"], line["slope_high"]
    (0.95, 0.8, 1.1)
    """
    count = len(x)
    if count < 2 or max(x) <= min(x):
        raise ValueError("x: A line needs two points or more at different values.")
    if count > MOST_PAIRED_POINTS:
        raise ValueError("x: Too many points for the slopes of all pairs.")
    slopes = []
    for i in range(count):
        for j in range(i):
            if x[i] != x[j]:
                slopes.append((y[i] - y[j]) / (x[i] - x[j]))
    slopes = _ascending(slopes)
    slope = _median(slopes)
    pairs = len(slopes)
    variance = count * (count - 1) * (2 * count + 5) - _tie_weight(x) - _tie_weight(y)
    reach = normal_quantile(confidence) * math.sqrt(max(0.0, variance / 18.0))
    last = min(math.floor((pairs + reach) / 2.0 + 0.5), pairs - 1)
    first = max(math.floor((pairs - reach) / 2.0 + 0.5) - 1, 0)
    return {
        "slope": slope,
        "intercept_median_separate": _median(y) - slope * _median(x),
        "intercept_joint": _median([y[i] - slope * x[i] for i in range(count)]),
        "slope_low": slopes[int(first)],
        "slope_high": slopes[int(last)],
    }


def _tie_weight(values):
    ordered = _ascending(values)
    total, run = 0, 1
    for i in range(1, len(ordered) + 1):
        if i < len(ordered) and ordered[i] == ordered[i - 1]:
            run = run + 1
        else:
            total = total + run * (run - 1) * (2 * run + 5)
            run = 1
    return total


def trend(inputs):
    """Trend of one logged figure on another, both ways, with a band, outliers marked; too few points says so.

    Inputs: dict of `x` and `y`, lists of one length; optional `confidence`, 0.95 if left out. Results: `count`; `enough`,
    False where no line is drawn; `slope`, `intercept`, `residual_sd`, `r_squared` by least squares; `robust_slope`,
    `robust_intercept`, `slope_low`, `slope_high` by Theil and Sen, None beyond 600 points; `band`, rows of `x`, `fit`,
    `lower`, `upper`, `robust`; `outliers`, positions in the lists. Everything but the count is None or empty where there is
    not enough. Range: any finite numbers. Errors: ValueError where the lists differ in length. Source: `ordinary_line`,
    `predict`, `theil_sen_line`.

    >>> answer = trend({"x": [0.0, 1.0], "y": [1.0, 2.0]})
    >>> answer["enough"], answer["notes"][0]
    (False, 'Too few points for a trend: it takes three or more.')
    """
    x, y = inputs["x"], inputs["y"]
    if len(x) != len(y):
        raise ValueError("y: There must be as many values as in the other list.")
    confidence = inputs.get("confidence")
    confidence = CONFIDENCE if confidence is None else confidence
    if len(x) < FEWEST_POINTS:
        return _no_trend(len(x), "Too few points for a trend: it takes three or more.")
    if max(x) - min(x) <= 1e-12 * max(abs(max(x)), abs(min(x))):
        return _no_trend(len(x), "No trend: every point has the same value along the bottom.")
    line = ordinary_line(x, y)
    robust = theil_sen_line(x, y, confidence) if len(x) <= MOST_PAIRED_POINTS else None
    return {
        "count": len(x),
        "enough": True,
        "slope": line["slope"],
        "intercept": line["intercept"],
        "residual_sd": line["residual_sd"],
        "r_squared": line["r_squared"],
        "robust_slope": None if robust is None else robust["slope"],
        "robust_intercept": None if robust is None else robust["intercept_joint"],
        "slope_low": None if robust is None else robust["slope_low"],
        "slope_high": None if robust is None else robust["slope_high"],
        "band": _band(x, line, robust, confidence),
        "outliers": [] if robust is None else _outliers(x, y, robust),
        "notes": _trend_notes(len(x), robust),
        "steps": [],
    }


def _no_trend(count, why):
    return {
        "count": count,
        "enough": False,
        "slope": None,
        "intercept": None,
        "residual_sd": None,
        "r_squared": None,
        "robust_slope": None,
        "robust_intercept": None,
        "slope_low": None,
        "slope_high": None,
        "band": [],
        "outliers": [],
        "notes": [why],
        "steps": [],
    }


def _band(x, line, robust, confidence):
    low, high = min(x), max(x)
    rows = []
    for i in range(21):
        at = low + (high - low) * i / 20
        told = predict(line, at, confidence)
        # The line from which the outliers are told: as many points above it as below.
        steady = None if robust is None else robust["intercept_joint"] + robust["slope"] * at
        rows.append({"x": at, "fit": told["prediction"], "lower": told["lower"], "upper": told["upper"], "robust": steady})
    return rows


def _outliers(x, y, robust):
    """Positions further from the robust line than 3.5 spreads, the spread by the median (scaled to a normal's)."""
    left = [y[i] - robust["intercept_joint"] - robust["slope"] * x[i] for i in range(len(x))]
    spread = 1.4826 * _median([abs(value) for value in left])
    scale = max([abs(value) for value in y])
    limit = max(OUTLIER_LIMIT * spread, 1e-9 * scale)
    return [i for i in range(len(left)) if abs(left[i]) > limit]


def _trend_notes(count, robust):
    notes = []
    if robust is not None and robust["slope_low"] > 0.0:
        notes.append("It rises: the slope's bounds lie above zero.")
    elif robust is not None and robust["slope_high"] < 0.0:
        notes.append("It falls: the slope's bounds lie below zero.")
    elif robust is not None:
        notes.append("No clear trend: the slope's bounds hold zero.")
    if count < 8:
        notes.append("Few points, so the band is wide.")
    return notes


def fit_factor(expected, seen):
    """The factor on `expected` that fits `seen` best, with its spread.

    Inputs: two lists of one length. Result: dict of `factor`, `low`, `high` (95 percent) and `count`; low and high None below
    three points; factor None where nothing was expected. Errors: none. Formula: k = sum(expected seen) / sum(expected^2).
    Source: least squares through the origin.

    >>> fit_factor([1.0, 2.0, 3.0], [1.2, 2.4, 3.6])["factor"]
    1.2
    """
    count = len(expected)
    # The phone's engine has no sum of an empty list.
    weight = 0.0 if count == 0 else sum([value * value for value in expected])
    if weight <= 0.0:
        return {"factor": None, "low": None, "high": None, "count": count}
    factor = sum([expected[i] * seen[i] for i in range(count)]) / weight
    if count < FEWEST_POINTS:
        return {"factor": factor, "low": None, "high": None, "count": count}
    left = sum([(seen[i] - factor * expected[i]) ** 2 for i in range(count)])
    half = student_t_quantile(CONFIDENCE, count - 1) * math.sqrt(left / (count - 1) / weight)
    return {"factor": factor, "low": factor - half, "high": factor + half, "count": count}


def gauge_learning(inputs):
    """Learn from logged fuel-gauge readings: the factor on line losses, and on the pump's flow once it was short.

    Inputs: dict of `rows`, a list of dicts, one a logged pass: `reading` [Pa gauge], the fuel gauge; `short`, True where the
    pump could not hold the regulator's target; for those that held, `no_loss` [Pa gauge], what the gauge would read
    without line loss, and `loss` [Pa], the predicted line loss; for those that were short, `curve_flow` [m3/s], the pump
    curve's flow at the pump pressure that the reading means, and `flow` [m3/s], what the engine drew. Results:
    `line_factor`, `line_factor_low`, `line_factor_high`, `line_points`; `pump_factor`, `pump_factor_low`,
    `pump_factor_high`, `pump_points`. A factor is None where no pass tells it, its bounds (95 percent) below three.
    Range: any finite numbers. Errors: none. Source: `fit_factor`.

    >>> held = [{"short": False, "no_loss": 20.0, "reading": 19.0 - i, "loss": 0.5 + 0.5 * i} for i in range(3)]
    >>> gauge_learning({"rows": held})["line_factor"]
    2.0
    """
    held = [row for row in inputs["rows"] if not row["short"]]
    short = [row for row in inputs["rows"] if row["short"]]
    line = fit_factor([row["loss"] for row in held], [row["no_loss"] - row["reading"] for row in held])
    pump = fit_factor([row["curve_flow"] for row in short], [row["flow"] for row in short])
    return {
        "line_factor": line["factor"],
        "line_factor_low": line["low"],
        "line_factor_high": line["high"],
        "line_points": line["count"],
        "pump_factor": pump["factor"],
        "pump_factor_low": pump["low"],
        "pump_factor_high": pump["high"],
        "pump_points": pump["count"],
        "notes": _learning_notes(line, pump),
        "steps": [],
    }


def _learning_notes(line, pump):
    notes = []
    if line["factor"] is None and pump["factor"] is None:
        return ["Nothing to learn from yet: log boost and fuel gauge at the same moment, three passes or more."]
    if line["factor"] is not None and line["factor"] < 0.0:
        notes.append(
            "The gauge read more than the regulator's target: check the gauge, the base pressure, and the regulator before the lines."
        )
    elif line["low"] is not None and line["low"] > 1.0:
        notes.append("The lines lose more than predicted, {line_factor} times: look for a kink, a fitting, a clogged filter.")
    elif line["high"] is not None and line["high"] < 1.0:
        notes.append("The lines lose less than predicted, {line_factor} times.")
    elif line["low"] is not None:
        notes.append("The line losses agree with the prediction within their spread.")
    if pump["low"] is not None and pump["high"] < 1.0:
        notes.append("Once short, the pump gave {pump_factor} of its curve: check voltage, wiring, hot fuel, and wear.")
    elif pump["low"] is not None:
        notes.append("Once short, the pump gave {pump_factor} of its curve.")
    if (line["factor"] is not None and line["low"] is None) or (pump["factor"] is not None and pump["low"] is None):
        notes.append("Fewer than three passes show it: too few to trust.")
    return notes
