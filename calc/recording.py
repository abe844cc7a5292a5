"""A recording of a pass: what the fuel did over the bowls while the boost came and went.

A recording is lists of one length, a sample a place: `time` [s] rising, `boost` and `fuel` [Pa gauge], and where the car
has them `speed` [rad/s] of the engine, `mixture` (lambda), `throttle` (share open), `battery` [V], `road` [m/s]. Net
pressure over the bowls is fuel pressure at the carburettor less boost.
"""

import math

from calc import runs

BOOST_SHARE = 0.1  # of the peak: from here on a sample counts as under boost
LEAST_BOOST = 7e3  # Pa, about 1 psi: less is a sensor's own wander
REST_DOUBT = 3e3  # Pa: as much may a sensor and the air's pressure be apart
RUN_SHARE = 0.3  # of the recording's greatest boost: what begins a run
RUN_GAP = 2.5  # s: a shift, or a lift, does not end a run
RUNS_A_PIECE = 4000  # samples looked at between two looks at the page
RUN_EDGE = 1.5  # s kept before and behind a run
STEADY_RATE = 20e3  # Pa/s, about 3 psi a second: slower boost than this is steady
LAGGED_RATE = 60e3  # Pa/s, the same once it is known how far the regulator comes behind
RATE_REACH = 0.1  # s either side, over which a rate is taken
FEWEST_SAMPLES = 20
LEAST_SPAN = 15e3  # Pa of boost that a line must reach over
MOST_LINE_SAMPLES = 60  # each pair's line is held against all of them in one go
LINE_BINS = 30
FEWEST_AGREEING = 6
LINES_A_PIECE = 3  # samples through which lines are tried, and
SHIFTS_A_PIECE = 4  # shifts looked at, between two looks at the page
PAIR_SHARE = 0.25  # of the boost's span: closer together, two samples tell no slope
NEAR = 1.5e3  # Pa: as far from a line as a sample may lie to agree with it
RATIO_OFF = 0.02  # what the lines behind the regulator take at more and more flow
RUNNING_SHARE = 0.1  # of the greatest fuel pressure: below, the pump is off
LEAST_FALL = 3.5e3  # Pa, about half a psi: less is a gauge's own spread
FALL_SHARE = 0.02  # of the reading
FALL_SPREADS = 3.0
FALL_TIME = 0.1  # s for which it must stay away
FALL_SAMPLES = 3
LAG_STEP = 0.01  # s: between its steps a parabola tells
MOST_LAG_STEPS = 2000
MOST_LAG = 0.6  # s looked at behind the boost, and
LEAST_LAG = 0.15  # s before it
LAG_RATE_TIME = 0.05  # s over which the rates are taken
LEAST_LIKENESS = 0.5
LIKELY = 3.84  # chi-square of one degree of freedom at 95 percent
MOST_PAIRS = 8  # a recording teaches as much as a handful of passes would
OPEN_THROTTLE = 0.9
STEPS = {  # what a kept recording is rounded to, in SI
    "time": 0.002,
    "boost": 100.0,
    "fuel": 100.0,
    "speed": 0.5,
    "mixture": 0.001,
    "throttle": 0.005,
    "battery": 0.01,
    "road": 0.05,
}


def boost_of(absolute, ambient):
    """Boost from absolute pressures: each less the pressure of the air that day.

    Inputs: `absolute`, list [Pa absolute]; `ambient` [Pa absolute], the station pressure. Result: list [Pa gauge].
    Range: any. Errors: none. Source: definition of gauge pressure.

    >>> boost_of([101325.0, 201325.0], 101325.0)
    [0.0, 100000.0]
    """
    values = []
    for i in range(len(absolute)):
        values.append(absolute[i] - ambient)
    return values


def lambda_of(displayed, ratio):
    """Lambda from the air-fuel ratios that a meter shows.

    Inputs: `displayed`, list of ratios; `ratio`, the meter's own at lambda 1, above 0. Result: list. Range: any. Errors:
    none. Source: definition of lambda.

    >>> lambda_of([11.76], 14.7)
    [0.8]
    """
    return [value / ratio for value in displayed]


def looks(pressures):
    """Whether pressures of the air in the manifold look absolute or gauge, from their least.

    Inputs: `pressures`, list [Pa] from 1, as they stand in the file. Result: "absolute", "gauge", or "either". Range: any.
    Errors: none. Source: own: no engine draws the manifold below 15 kPa absolute, and none starts under 60 kPa of boost.

    >>> looks([30e3, 200e3]), looks([101e3, 210e3]), looks([-40e3, 100e3])
    ('either', 'absolute', 'gauge')
    """
    least = pressures[0]
    for i in range(len(pressures)):
        least = min(least, pressures[i])
    if least > 60e3:
        return "absolute"
    return "gauge" if least < 15e3 else "either"


def above_air(pressures, ambient):
    """The least of absolute pressures in the manifold where even that lies above the air's, so that one of the two is in doubt.

    Inputs: `pressures`, list [Pa absolute] from 1, of a recording's beginning; `ambient` [Pa absolute], the station pressure.
    Result: [Pa absolute], or None where they come down to the air. Range: any. Errors: none. Source: own: a standing or idling
    engine has the air's pressure there or less.

    >>> above_air([98e3, 200e3], 82.5e3), above_air([98e3, 200e3], 97e3)
    (98000.0, None)
    """
    least = pressures[0]
    for i in range(len(pressures)):
        least = min(least, pressures[i])
    return least if least > ambient + REST_DOUBT else None


def drops_behind(at_regulator, at_carburettor):
    """What the feed loses behind the regulator at each boost, from what a gauge should read at both ends of it.

    Inputs: `at_regulator` and `at_carburettor`, rows of a gauge card with `boost` and `expected` [Pa gauge], at the same
    boosts. Result: rows of `boost`, `drop` [Pa], 0 or above. Range: any. Errors: none. Source: definition.

    >>> drops_behind([{"boost": 0.0, "expected": 42e3}], [{"boost": 0.0, "expected": 40e3}])
    [{'boost': 0.0, 'drop': 2000.0}]
    """
    rows = []
    for i in range(min(len(at_regulator), len(at_carburettor))):
        drop = max(0.0, at_regulator[i]["expected"] - at_carburettor[i]["expected"])
        rows.append({"boost": at_regulator[i]["boost"], "drop": drop})
    return rows


def begins(time, boost):
    """The moment at which the pull begins, by which two recordings are laid over each other.

    Inputs: `time` [s] and `boost` [Pa gauge], lists of one length from 1. Result: s: the first sample at 30 percent of the
    greatest boost. Range: any. Errors: none. Source: own.

    >>> begins([0.0, 1.0, 2.0], [0.0, 40e3, 100e3])
    1.0
    """
    limit = RUN_SHARE * _largest(boost)
    for i in range(len(time)):
        if boost[i] >= limit:
            return time[i]
    return time[0]


def runs_in(time, boost):
    """The stretches of a recording in which the car was driven under boost.

    Inputs: `time` [s] and `boost` [Pa gauge], lists of one length. Result: list of dicts of `start`, `end` [s], `peak` [Pa
    gauge], `length` [s] without the edges, in order of time; empty where the boost stayed under 7 kPa. Range: from 1 sample. Errors:
    none. Formula: samples over a share of the largest boost, joined where the gap is short. Source: a stretch at 30 percent
    of the greatest boost or above; gaps of 2.5 s belong to it.

    >>> runs_in([0.0, 1.0, 2.0, 3.0], [0.0, 50e3, 60e3, 0.0])
    [{'start': 0.0, 'end': 3.0, 'peak': 60000.0, 'length': 1.0}]
    """
    work = begin_runs(time, boost)
    while advance_runs(work) < 1.0:
        pass
    return finish_runs(work)


def begin_runs(time, boost):
    """Prepare the stretches under boost to be found in pieces.

    Inputs: `time` and `boost`, as for `runs_in`. Result: a dict for `advance_runs`. Range: any. Errors: none. Source: as there.

    >>> begin_runs([0.0], [5.0])["done"]
    0
    """
    return {"time": time, "boost": boost, "largest": 0.0, "done": 0, "found": []}


def advance_runs(work):
    """Look at some more samples: all of them for the largest boost, then once more for the stretches.

    Inputs: `work` of `begin_runs`; it is changed. Result: share of the work that is done; 1 once `finish_runs` may be called.
    Range: any. Errors: none. Formula: samples at RUN_SHARE of the largest boost or above. Source: as `runs_in`.

    >>> advance_runs(begin_runs([0.0], [5.0]))
    0.5
    """
    time, boost, done, found = work["time"], work["boost"], work["done"], work["found"]
    count = len(time)
    if count == 0:
        return 1.0
    first = done if done < count else done - count
    last = min(count, first + RUNS_A_PIECE)
    if done < count:
        for i in range(first, last):
            if boost[i] > work["largest"]:
                work["largest"] = boost[i]
    else:
        if work["largest"] < LEAST_BOOST:
            work["done"] = 2 * count
            return 1.0
        limit = RUN_SHARE * work["largest"]
        for i in range(first, last):
            if boost[i] < limit:
                continue
            if len(found) == 0 or time[i] - found[-1]["last"] > RUN_GAP:
                found.append({"first": time[i], "last": time[i], "peak": boost[i]})
            found[-1]["last"] = time[i]
            found[-1]["peak"] = max(found[-1]["peak"], boost[i])
    work["done"] = done + last - first
    return work["done"] / (2.0 * count)


def finish_runs(work):
    """Tell the stretches under boost.

    Inputs: `work` after `advance_runs` said 1. Result: as `runs_in`. Range: any. Errors: none. Source: as there.

    >>> finish_runs(begin_runs([], []))
    []
    """
    time = work["time"]
    return [
        {
            "start": max(time[0], run["first"] - RUN_EDGE),
            "end": min(time[len(time) - 1], run["last"] + RUN_EDGE),
            "peak": run["peak"],
            "length": run["last"] - run["first"],
        }
        for run in work["found"]
    ]


def place_of(time, moment):
    """The place of the first sample at a moment or behind it.

    Inputs: `time`, rising list [s]; `moment` [s]. Result: place from 0 to the count of samples. Range: any. Errors: none.
    Source: halving.

    >>> place_of([0.0, 1.0, 2.0], 1.5)
    2
    """
    low, high = 0, len(time)
    while low < high:
        middle = math.floor((low + high) / 2)
        if time[middle] < moment:
            low = middle + 1
        else:
            high = middle
    return low


def thin(columns, first, last, buckets):
    """Which samples to keep so that no peak is lost: of each bucket the first, and the least and the largest of each column.

    Inputs: `columns`, list of lists; `first` and `last`, the places between which samples are taken, `last` left out;
    `buckets` from 1. Result: rising list of places, at most one plus twice the columns for each bucket; all of them where
    there are no more samples than buckets. Range: any. Errors: none. Formula: places of first, least and largest in each
    bucket of (last - first) / buckets. Source: own.

    >>> thin([[0.0, 5.0, 1.0, 1.0, -3.0, 0.0]], 0, 6, 2)
    [0, 1, 3, 4]
    """
    count = last - first
    places = []
    if count <= buckets:
        return [first + i for i in range(count)]
    for bucket in range(buckets):
        start = first + math.floor(count * bucket / buckets)
        end = first + math.floor(count * (bucket + 1) / buckets)
        kept = [start]
        for column in columns:
            kept.extend(_extremes(column, start, end))
        kept = sorted(kept, key=lambda place: place)
        for place in kept:
            if len(places) == 0 or place > places[-1]:
                places.append(place)
    return places


def _extremes(column, start, end):
    least, largest = start, start
    for i in range(start, end):
        if column[i] < column[least]:
            least = i
        if column[i] > column[largest]:
            largest = i
    return [least, largest]


def _largest(values):
    # The phone's `max` takes every value as a parameter, and cannot take a long list.
    largest = values[0]
    for i in range(len(values)):
        if values[i] > largest:
            largest = values[i]
    return largest


def interpolate(rows, x, name):
    """A column of a table at a value of `boost`, the first or last two rows carried on beyond the ends.

    Inputs: `rows`, list of dicts with `boost` rising, 1 or more; `x` [Pa gauge]; `name` of the column. Result: number in the
    column's unit. Range: any. Errors: none. Formula: y0 + (x - x0) / (x1 - x0) (y1 - y0). Source: straight lines between the
    rows.

    >>> interpolate([{"boost": 0.0, "least": 1.0}, {"boost": 2.0, "least": 5.0}], 1.0, "least")
    3.0
    """
    if len(rows) == 1:
        return rows[0][name]
    place = 1
    while place < len(rows) - 1 and rows[place]["boost"] < x:
        place = place + 1
    low, high = rows[place - 1], rows[place]
    share = (x - low["boost"]) / (high["boost"] - low["boost"])
    return low[name] + share * (high[name] - low[name])


def net_over_bowls(inputs):
    """The pressure over the bowls through a recording: its least, and where it falls under the gauge card.

    Inputs: dict of a recording; `card`, rows of `boost`, `least` [Pa gauge], what the gauge must read, empty where there is
    none; `drops`, rows of `boost`, `drop` [Pa], what the feed loses behind a gauge at the regulator, empty for one at the
    carburettor. Results: `samples` under boost; `peak_boost`, `peak_time`, `peak_fuel`, `peak_speed`, `peak_mixture`;
    `least_net` [Pa] with `least_time`, `least_boost`, `least_fuel`, `least_speed`, `least_mixture`, `least_battery`;
    `alone`, True where the samples on both sides read well above; `leanest` with `leanest_time`; `under_time` [s] below the
    card, `under_times`, how often, `under_longest` [s], `under_start` [s] and `under_boost` [Pa gauge] where it first does,
    `under_most` [Pa], `under`, rows of `start`, `end` [s]; None what is not known. Range: from 1 sample under boost. Errors:
    ValueError naming "boost" where it stayed under 7 kPa. Source: definition; a sample counts as under boost from a tenth of the peak.

    >>> seen = {"time": [0.0, 0.1, 0.2], "boost": [0.0, 50e3, 100e3], "fuel": [40e3, 90e3, 120e3]}
    >>> seen.update({"card": [{"boost": 0.0, "least": 30e3}, {"boost": 100e3, "least": 130e3}], "drops": []})
    >>> found = net_over_bowls(seen)
    >>> found["least_net"], found["least_boost"], found["under_time"]
    (20000.0, 100000.0, 0.05)
    """
    time, boost, fuel = inputs["time"], inputs["boost"], inputs["fuel"]
    count = len(time)
    top = -1
    for i in range(count):
        if top < 0 or boost[i] > boost[top]:
            top = i
    if top < 0 or boost[top] < LEAST_BOOST:
        raise ValueError("boost: There is no boost in this stretch.")
    limit = BOOST_SHARE * boost[top]
    net = net_of(inputs)
    low, samples, leanest = -1, 0, -1
    mixture = inputs.get("mixture")
    for i in range(count):
        if boost[i] < limit:
            continue
        samples = samples + 1
        if low < 0 or net[i] < net[low]:
            low = i
        if mixture is not None and _at_load(inputs, i, boost[top]) and (leanest < 0 or mixture[i] > mixture[leanest]):
            leanest = i
    found = {
        "samples": samples,
        "peak_boost": boost[top],
        "peak_time": time[top],
        "peak_fuel": fuel[top],
        "peak_speed": _at(inputs, "speed", top),
        "peak_mixture": _at(inputs, "mixture", top),
        "least_net": net[low],
        "least_time": time[low],
        "least_boost": boost[low],
        "least_fuel": fuel[low],
        "least_speed": _at(inputs, "speed", low),
        "least_mixture": _at(inputs, "mixture", low),
        "least_battery": _at(inputs, "battery", low),
        "alone": _is_alone(net, low),
        "leanest": None if leanest < 0 else mixture[leanest],
        "leanest_time": None if leanest < 0 else time[leanest],
    }
    found.update(_under_card(inputs, limit))
    found["notes"] = _net_notes(found, inputs)
    return found


def net_of(inputs):
    """Net pressure over the bowls, sample by sample.

    Inputs: dict as for `net_over_bowls`. Result: list [Pa]. Range: any. Errors: none. Source: definition.

    >>> net_of({"boost": [50e3], "fuel": [90e3], "drops": [{"boost": 0.0, "drop": 1e3}]})
    [39000.0]
    """
    boost, fuel, drops = inputs["boost"], inputs["fuel"], inputs["drops"]
    net = []
    for i in range(len(boost)):
        lost = 0.0 if len(drops) == 0 else max(0.0, interpolate(drops, boost[i], "drop"))
        net.append(fuel[i] - lost - boost[i])
    return net


def _at(inputs, name, place):
    column = inputs.get(name)
    return None if column is None else column[place]


def _at_load(inputs, place, peak):
    """Lean is no matter once the driver has lifted."""
    throttle = inputs.get("throttle")
    if throttle is not None:
        return throttle[place] >= OPEN_THROTTLE
    return inputs["boost"][place] >= 0.5 * peak


def _is_alone(net, place):
    """One sample that reads low by itself is as likely a spark in the wire as a want of fuel."""
    if place == 0 or place == len(net) - 1:
        return False
    return min(net[place - 1], net[place + 1]) - net[place] > max(LEAST_FALL, 2.0 * abs(net[place - 1] - net[place + 1]))


def _under_card(inputs, limit):
    time, boost, fuel, card = inputs["time"], inputs["boost"], inputs["fuel"], inputs["card"]
    found = {
        "under_time": None,
        "under_times": None,
        "under_longest": None,
        "under_start": None,
        "under_boost": None,
        "under_most": None,
        "under": [],
    }
    if len(card) == 0:
        return found
    total, most = 0.0, 0.0
    stretches = []
    inside = False
    for i in range(len(time)):
        gap = interpolate(card, boost[i], "least") - fuel[i] if boost[i] >= limit else 0.0
        if gap <= 0.0:
            inside = False
            continue
        # A sample stands for half the time to each of its neighbours.
        start = time[i] if i == 0 else 0.5 * (time[i - 1] + time[i])
        end = time[i] if i == len(time) - 1 else 0.5 * (time[i] + time[i + 1])
        total = total + end - start
        most = max(most, gap)
        if inside:
            stretches[-1]["end"] = end
        else:
            stretches.append({"start": start, "end": end, "boost": boost[i]})
        inside = True
    longest = 0.0
    for stretch in stretches:
        longest = max(longest, stretch["end"] - stretch["start"])
    found["under_time"] = total
    found["under_times"] = len(stretches)
    found["under_longest"] = longest
    if len(stretches) > 0:
        found["under_start"] = stretches[0]["start"]
        found["under_boost"] = stretches[0]["boost"]
        found["under_most"] = most
    found["under"] = stretches
    return found


def under_card(inputs):
    """The stretches of a recording in which the gauge read under the card.

    Inputs: dict of a recording and `card`, as for `net_over_bowls`. Result: rows of `start`, `end` [s], `boost` [Pa gauge] at the
    start. Range: any. Errors: none. Source: as `net_over_bowls`.

    >>> seen = {"time": [0.0, 1.0], "boost": [10e3, 10e3], "fuel": [9e3, 30e3], "card": [{"boost": 0.0, "least": 20e3}]}
    >>> under_card(seen)
    [{'start': 0.0, 'end': 0.5, 'boost': 10000.0}]
    """
    return _under_card(inputs, BOOST_SHARE * _largest(inputs["boost"]))["under"]


def _net_notes(found, inputs):
    notes = []
    if found["least_net"] <= 0.0:
        notes.append("The boost beat the fuel: over the bowls {least_net} at {least_boost} of boost. Nothing flows in then.")
    else:
        notes.append("Least over the bowls: {least_net}, {least_time} in, at {least_boost} of boost.")
    if found["under_time"] is None:
        notes.append("Nothing is held against a gauge card: this pass has no car, or key numbers of its car are not given yet.")
    elif found["under_times"] == 0:
        notes.append("It never read under the car's gauge card.")
    else:
        notes.append("It read under the car's gauge card for {under_time}, first at {under_boost} of boost, by {under_most} at the most.")
    if found["alone"]:
        notes.append("That least is one sample alone: look whether it is a spike in the wiring before you trust it.")
    if found["least_mixture"] is not None and found["leanest"] is not None:
        notes.append("Lambda was {least_mixture} at that moment, and {leanest} at its leanest under load, {leanest_time} in.")
    if len(inputs["drops"]) > 0:
        notes.append("The pressure was taken at the regulator, so what the feed loses behind it is taken off as worked out.")
    return notes


def rates(time, values):
    """How fast a column moves: over a tenth of a second either side.

    Inputs: `time` [s] rising and `values`, lists of one length. Result: list, in the column's unit per second, 0 where there
    is nothing either side. Range: any. Errors: none. Formula: (v(last) - v(first)) / (t(last) - t(first)) over the samples
    within reach. Source: difference quotient.

    >>> rates([0.0, 0.1, 0.2], [0.0, 1.0, 2.0])
    [10.0, 10.0, 10.0]
    """
    count = len(time)
    found = []
    low, high = 0, 0
    for i in range(count):
        while time[low] < time[i] - RATE_REACH - 1e-9:
            low = low + 1
        while high < count - 1 and time[high + 1] <= time[i] + RATE_REACH + 1e-9:
            high = high + 1
        # A slow logger has no neighbour within reach: take the next one all the same.
        first = max(0, i - 1) if low == i else low
        last = min(count - 1, i + 1) if high == i else high
        span = time[last] - time[first]
        found.append((values[last] - values[first]) / span if span > 0.0 else 0.0)
    return found


def _steady_places(inputs, limit):
    boost, fuel = inputs["boost"], inputs["fuel"]
    moving = rates(inputs["time"], boost)
    running = RUNNING_SHARE * _largest(fuel)
    return [i for i in range(len(boost)) if abs(moving[i]) < limit and fuel[i] > running]


def _pushing(inputs):
    """The boost that the regulator answers to at each sample: that of a lag ago."""
    time, boost, lag = inputs["time"], inputs["boost"], inputs["lag"]
    if lag <= 0.0:
        return boost
    return [value_at(time, boost, moment - lag) for moment in time]


def _evenly_over(boost, places, most):
    """At most so many places, spread evenly over the boost, so that ten seconds of idle do not drown the pull."""
    low, high = boost[places[0]], boost[places[0]]
    for place in places:
        low, high = min(low, boost[place]), max(high, boost[place])
    bins = [[] for _ in range(LINE_BINS)]
    for place in places:
        share = 0.0 if high <= low else (boost[place] - low) / (high - low)
        bins[int(min(LINE_BINS - 1, math.floor(share * LINE_BINS)))].append(place)
    each = int(max(1, math.floor(most / LINE_BINS)))
    kept = []
    for members in bins:
        count = min(each, len(members))
        for n in range(count):
            kept.append(members[int(math.floor(len(members) * (n + 0.5) / count))])
    return sorted(kept, key=lambda place: place)


def regulator_line(inputs):
    """Base pressure and ratio as the car really does them, from the samples in which boost holds still.

    Inputs: dict of a recording; `lag` [s] by which the regulator comes late, 0 where not known. Results: `told`, False
    where the recording cannot tell; `base` [Pa gauge], `ratio` with
    `ratio_low` and `ratio_high` (95 percent, as if each sample stood for itself), `spread` [Pa], the readings' own about the
    line; `samples` of the line, `steady`, how many were steady, `steady_rate` [Pa/s], `from_boost`, `to_boost` [Pa gauge].
    Range: boost over 15 kPa or more. Errors: none. Source: the line of two samples with which most
    others agree (Fischler and Bolles 1981, from memory, here of all pairs), then Theil and Sen (`runs.theil_sen_line`) over those.

    >>> boost = [1e3 * i for i in range(60)]
    >>> seen = {"time": [0.1 * i for i in range(60)], "boost": boost, "fuel": [41e3 + b for b in boost], "lag": 0.0}
    >>> regulator_line(seen)["base"], regulator_line(seen)["ratio"]
    (41000.0, 1.0)
    """
    work = begin_line(inputs)
    while advance_line(work) < 1.0:
        pass
    return finish_line(work)


def begin_line(inputs):
    """Prepare the regulator's line to be worked out in pieces.

    Inputs: as `regulator_line`. Result: a dict for `advance_line`. Errors: none. Source: as there.

    >>> len(begin_line({"time": [0.0, 1.0], "boost": [0.0, 0.0], "fuel": [4e4, 4e4], "lag": 0.0})["kept"])
    0
    """
    limit = LAGGED_RATE if inputs["lag"] > 0.0 else STEADY_RATE
    places = _steady_places(inputs, limit)
    boost = _pushing(inputs)
    kept = [] if len(places) < FEWEST_SAMPLES else _evenly_over(boost, places, MOST_LINE_SAMPLES)
    return {
        "limit": limit,
        "steady": len(places),
        "boost": boost,
        "fuel": inputs["fuel"],
        "kept": kept,
        "done": 0,
        "best": [],
        "most": 0,
        "height": 0.0,
    }


def advance_line(work):
    """Try the lines through a few more samples.

    Inputs: `work` of `begin_line`; it is changed. Result: share of the work that is done; 1 once `finish_line` may be called.
    Errors: none. Source: as `regulator_line`.

    >>> advance_line(begin_line({"time": [0.0, 1.0], "boost": [0.0, 0.0], "fuel": [4e4, 4e4], "lag": 0.0}))
    1.0
    """
    count = len(work["kept"])
    if count == 0:
        return 1.0
    for _ in range(LINES_A_PIECE):
        if work["done"] < count:
            _try_lines_through(work, work["kept"][work["done"]])
            work["done"] += 1
    return work["done"] / count


def finish_line(work):
    """Tell the regulator's line.

    Inputs: `work` after `advance_line` said 1. Result: as `regulator_line`. Errors: none. Formula: fuel pressure = base + ratio * boost.
    Source: as there.

    >>> finish_line(begin_line({"time": [0.0, 1.0], "boost": [0.0, 0.0], "fuel": [4e4, 4e4], "lag": 0.0}))["told"]
    False
    """
    limit, steady, boost, fuel, kept = work["limit"], work["steady"], work["boost"], work["fuel"], work["kept"]
    if steady < FEWEST_SAMPLES:
        return _no_line(steady, limit, "Boost never holds still for long enough to tell base pressure and ratio.")
    best = work["best"]
    agreeing = [] if work["most"] == 0 else [place for place in kept if abs(fuel[place] - best[0] - best[1] * boost[place]) < NEAR]
    x = [boost[place] for place in agreeing]
    if len(agreeing) < FEWEST_AGREEING or max(x) - min(x) < LEAST_SPAN:
        return _no_line(
            steady, limit, "Steady boost moves too little, or the readings lie on no one line, to tell base pressure and ratio."
        )
    line = _line(agreeing, boost, fuel)
    line["steady"] = steady
    line["steady_rate"] = limit
    line["notes"] = [
        "As the car does it: {base} with no boost, and {ratio} more for each 1 of boost, by {samples} steady samples "
        "that agree, of {steady}."
    ]
    held_up = [place for place in kept if boost[place] < line["from_boost"] and fuel[place] > on_line(line, boost[place]) + LEAST_FALL]
    if len(held_up) >= FEWEST_AGREEING:
        line["notes"].append("Below {from_boost} of boost the pressure stays above that line: the return line holds it up there.")
    if line["ratio_high"] < 1.0 - RATIO_OFF:
        line["notes"].append(
            "That is less than one for one: look at the boost line of the regulator, its diaphragm, and the lines behind it."
        )
    return line


def _try_lines_through(work, i):
    """The lines through a sample and each other one; a weak pump pulls many samples below the right one, a small return line holds
    some above."""
    places, boost, fuel = work["kept"], work["boost"], work["fuel"]
    low, high = boost[places[0]], boost[places[0]]
    for place in places:
        low, high = min(low, boost[place]), max(high, boost[place])
    for j in places:
        apart = boost[i] - boost[j]
        if apart < PAIR_SHARE * (high - low) or apart <= 0.0:
            continue
        slope = (fuel[i] - fuel[j]) / apart
        base = fuel[j] - slope * boost[j]
        count = 0
        for place in places:
            if abs(fuel[place] - base - slope * boost[place]) < NEAR:
                count = count + 1
        # Of two that are as good the higher one: what is wrong with a supply lowers the pressure.
        if count > work["most"] or (count == work["most"] and base + slope * high > work["height"]):
            work["best"] = [base, slope]
            work["most"] = count
            work["height"] = base + slope * high


def on_line(line, boost):
    """What the gauge reads at a boost by the line that the car was seen to do.

    Inputs: `line`, what `regulator_line` told; `boost` [Pa gauge]. Result: [Pa gauge]. Range: any. Errors: none. Source: a
    straight line.

    >>> on_line({"base": 41e3, "ratio": 1.0}, 10e3)
    51000.0
    """
    return line["base"] + line["ratio"] * boost


def _line(places, boost, fuel):
    x = [boost[place] for place in places]
    y = [fuel[place] for place in places]
    found = runs.theil_sen_line(x, y, 0.95)
    left = _ascending([abs(y[i] - found["intercept_joint"] - found["slope"] * x[i]) for i in range(len(x))])
    return {
        "told": True,
        "base": found["intercept_joint"],
        "ratio": found["slope"],
        "ratio_low": found["slope_low"],
        "ratio_high": found["slope_high"],
        "spread": 1.4826 * left[int(math.floor(len(left) / 2))],
        "samples": len(places),
        "from_boost": min(x),
        "to_boost": max(x),
    }


def _ascending(values):
    return sorted(values, key=lambda value: value)


def _fall_limit(line, reading):
    return max(FALL_SPREADS * line["spread"], FALL_SHARE * abs(reading), LEAST_FALL)


def _no_line(steady, limit, why):
    return {
        "told": False,
        "base": None,
        "ratio": None,
        "ratio_low": None,
        "ratio_high": None,
        "spread": None,
        "samples": 0,
        "steady": steady,
        "steady_rate": limit,
        "from_boost": None,
        "to_boost": None,
        "notes": [why],
    }


def _median_step(time):
    steps = _ascending([time[i] - time[i - 1] for i in range(1, len(time))])
    return steps[int(math.floor(len(steps) / 2))]


def value_at(time, values, moment):
    """A column at a moment between samples.

    Inputs: `time` [s] rising and `values`, lists of one length from 1; `moment` [s]. Result: in the column's unit, the first
    or last value beyond the ends. Range: any. Errors: none. Formula: v0 + (t - t0) / (t1 - t0) (v1 - v0). Source: straight
    lines between the samples.

    >>> value_at([0.0, 1.0], [10.0, 20.0], 0.25)
    12.5
    """
    place = place_of(time, moment)
    if place == 0:
        return values[0]
    if place == len(time):
        return values[len(values) - 1]
    span = time[place] - time[place - 1]
    share = 1.0 if span <= 0.0 else (moment - time[place - 1]) / span
    return values[place - 1] + share * (values[place] - values[place - 1])


def regulator_lag(inputs):
    """How long the fuel pressure comes behind the boost: the shift at which their rates are most alike.

    Inputs: dict of a recording. Results: `told`, False where they are not alike; `lag` [s], below 0 where the fuel comes
    first, with `lag_low` and `lag_high` (95 percent); `likeness`, the correlation there; `step` [s] between samples;
    `shorter`, True where the lag is less than a sample; `samples`. Range: lags from -0.15 to 0.6 s. Errors: none. Formula:
    the shift s at which sum(b(t) f(t + s)) / sqrt(sum(b^2) sum(f^2)) of the rates is largest. Source: cross-correlation of
    the rates of change, its top by a parabola; bounds where the squares left over grow by chi-square over their number.

    >>> time = [0.02 * i for i in range(200)]
    >>> push = lambda t: 1e5 / (1.0 + math.exp(-6.0 * (t - 2.0)))
    >>> seen = {"time": time, "boost": [push(t) for t in time], "fuel": [40e3 + push(t - 0.1) for t in time]}
    >>> regulator_lag(seen)["lag"]
    0.10
    """
    work = begin_lag(inputs)
    while advance_lag(work) < 1.0:
        pass
    return finish_lag(work)


def begin_lag(inputs):
    """Prepare the regulator's lag to be worked out in pieces.

    Inputs: as `regulator_lag`. Result: a dict for `advance_lag`. Errors: none. Formula: `pushed[i] = boost[i + reach] - boost[i]`.
    Source: as there.

    >>> begin_lag({"time": [0.0, 1.0], "boost": [0.0, 0.0], "fuel": [4e4, 4e4]})["shifts"]
    []
    """
    time = inputs["time"]
    work = {"samples": len(time), "step": None, "shifts": [], "likes": []}
    if len(time) < FEWEST_SAMPLES:
        return work
    step = _median_step(time)
    if step <= 0.0:
        return work
    size = max(step, LAG_STEP)
    grid = _grid(time, inputs["boost"], size)
    reach = int(max(1, math.floor(LAG_RATE_TIME / size + 0.5)))
    before, behind = int(math.ceil(LEAST_LAG / size)), int(math.ceil(MOST_LAG / size))
    work["step"] = step
    work["size"] = size
    work["reach"] = reach
    work["before"] = before
    work["pushed"] = _differences([value_at(time, inputs["boost"], moment) for moment in grid], reach)
    work["followed"] = _differences([value_at(time, inputs["fuel"], moment) for moment in grid], reach)
    if len(work["pushed"]) >= 2 * (before + behind):
        work["shifts"] = [shift for shift in range(-before, behind + 1)]
    return work


def advance_lag(work):
    """Look at a few more shifts.

    Inputs: `work` of `begin_lag`; it is changed. Result: share of the work that is done; 1 once `finish_lag` may be called.
    Errors: none. Source: as `regulator_lag`.

    >>> advance_lag(begin_lag({"time": [0.0, 1.0], "boost": [0.0, 0.0], "fuel": [4e4, 4e4]}))
    1.0
    """
    count = len(work["shifts"])
    if count == 0:
        return 1.0
    for _ in range(SHIFTS_A_PIECE):
        done = len(work["likes"])
        if done < count:
            work["likes"].append(_likeness(work["pushed"], work["followed"], work["shifts"][done]))
    return len(work["likes"]) / count


def finish_lag(work):
    """Tell the regulator's lag.

    Inputs: `work` after `advance_lag` said 1. Result: as `regulator_lag`. Errors: none. Formula: the top of a parabola
    lies `-tilt / bend` from the best shift. Source: as there.

    >>> finish_lag(begin_lag({"time": [0.0, 1.0], "boost": [0.0, 0.0], "fuel": [4e4, 4e4]}))["told"]
    False
    """
    likes, step, samples = work["likes"], work["step"], work["samples"]
    if len(likes) == 0:
        return _no_lag(step, samples)
    size, reach, before, pushed = work["size"], work["reach"], work["before"], work["pushed"]
    top = 0
    for i in range(len(likes)):
        if likes[i] > likes[top]:
            top = i
    if likes[top] < LEAST_LIKENESS or top == 0 or top == len(likes) - 1:
        return _no_lag(step, samples)
    # A parabola through the top's neighbours: one sample either side would follow the noise.
    near = int(min(max(reach, 1), top, len(likes) - 1 - top))
    hill = _parabola([likes[top + i] for i in range(-near, near + 1)])
    aside = 0.0 if hill["bend"] >= 0.0 else min(max(-hill["tilt"] / hill["bend"], -near), near)
    lag = (top - before + aside) * size
    likeness = min(1.0, likes[top])
    # Overlapping differences do not each stand for themselves, and between samples nobody looked.
    own = max(1.0, len(pushed) / reach)
    spread = 0.0 if hill["bend"] >= 0.0 else (1.0 - likeness * likeness) * LIKELY / own / (-hill["bend"] * likeness)
    width = math.sqrt(spread * size * size + (0.25 * step) ** 2)
    shorter = abs(lag) < step
    note = (
        "The fuel pressure follows the boost in less than a sample, {step}."
        if shorter
        else "The fuel pressure comes {lag} behind the boost."
    )
    return {
        "told": True,
        "lag": lag,
        "lag_low": lag - width,
        "lag_high": lag + width,
        "likeness": likeness,
        "step": step,
        "shorter": shorter,
        "samples": samples,
        "notes": [note],
    }


def _parabola(heights):
    """Least-squares parabola about the middle of evenly spaced heights: its slope there, and its second derivative."""
    near = int((len(heights) - 1) / 2)
    count, squares, fourths, total, tilt, bend = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(len(heights)):
        x = i - near
        count = count + 1.0
        squares = squares + x * x
        fourths = fourths + x * x * x * x
        total = total + heights[i]
        tilt = tilt + x * heights[i]
        bend = bend + x * x * heights[i]
    return {"tilt": tilt / squares, "bend": 2.0 * (count * bend - squares * total) / (count * fourths - squares * squares)}


def _no_lag(step, count):
    return {
        "told": False,
        "lag": None,
        "lag_low": None,
        "lag_high": None,
        "likeness": None,
        "step": step,
        "shorter": False,
        "samples": count,
        "notes": ["How far the fuel pressure comes behind the boost cannot be told: the two do not move alike."],
    }


def _grid(time, boost, size):
    """Even moments over the recording; of a long one, those around its quickest change of boost."""
    start, end = time[0], time[len(time) - 1]
    if (end - start) / size > MOST_LAG_STEPS:
        moving = rates(time, boost)
        quickest = 0
        for i in range(len(moving)):
            if abs(moving[i]) > abs(moving[quickest]):
                quickest = i
        half = 0.5 * MOST_LAG_STEPS * size
        middle = min(max(time[quickest], start + half), end - half)
        start, end = middle - half, middle + half
    return [start + size * i for i in range(int(math.floor((end - start) / size + 1e-9)) + 1)]


def _differences(values, reach):
    return [values[i + reach] - values[i] for i in range(len(values) - reach)]


def _likeness(pushed, followed, shift):
    """Correlation of one list with the other, which comes so many places behind."""
    first, last = max(0, -shift), min(len(pushed), len(pushed) - shift)
    count = last - first
    mean_a, mean_b = 0.0, 0.0
    for i in range(first, last):
        mean_a = mean_a + pushed[i]
        mean_b = mean_b + followed[i + shift]
    mean_a, mean_b = mean_a / count, mean_b / count
    both, a, b = 0.0, 0.0, 0.0
    for i in range(first, last):
        x, y = pushed[i] - mean_a, followed[i + shift] - mean_b
        both = both + x * y
        a = a + x * x
        b = b + y * y
    return 0.0 if a <= 0.0 or b <= 0.0 else both / math.sqrt(a * b)


def giving_out(inputs):
    """Where the fuel pressure falls away from the regulator's line for good: there the pump, or what feeds it, gives out.

    Inputs: dict of a recording; `line`, what `regulator_line` told; `lag` [s] by which the regulator comes late, 0 where not
    known. Results: `told`, False without a line; `falls`; `fall_time`, `fall_boost`, `fall_fuel`, `fall_speed`, where it
    first does; `fall_most` [Pa], the furthest below the line, `fall_lasts` [s] of the first one; `held_boost`, the greatest
    boost in the recording that it followed; `samples` looked at. Range: any. Errors: none. Formula: base + ratio boost - fuel
    over the limit, for long enough. Source: own: three spreads, two percent and half a psi below the line for a tenth of a
    second and three samples, boost not falling.

    >>> boost = [1e3 * i for i in range(100)]
    >>> seen = {"time": [0.1 * i for i in range(100)], "boost": boost, "fuel": [41e3 + min(b, 70e3) for b in boost]}
    >>> seen.update({"line": {"told": True, "base": 41e3, "ratio": 1.0, "spread": 500.0}, "lag": 0.0})
    >>> giving_out(seen)["fall_boost"]
    74000.0
    """
    line = inputs["line"]
    if not line["told"]:
        return _no_fall(False, ["Where the pump gives out cannot be told without the regulator's line."])
    time, boost, fuel = inputs["time"], inputs["boost"], inputs["fuel"]
    limit_boost = BOOST_SHARE * _largest(boost)
    moving, pushing = rates(time, boost), _pushing(inputs)
    found = _no_fall(True, [])
    start = -1
    held = 0.0
    for i in range(len(time)):
        if boost[i] < limit_boost:
            start = -1
            continue
        found["samples"] = found["samples"] + 1
        below = on_line(line, pushing[i]) - fuel[i]
        if below <= _fall_limit(line, fuel[i]) or (start < 0 and moving[i] < -STEADY_RATE):
            if below <= _fall_limit(line, fuel[i]):
                held = max(held, boost[i])
            start = -1
            continue
        start = i if start < 0 else start
        if i - start + 1 < FALL_SAMPLES or time[i] - time[start] < FALL_TIME:
            continue
        if not found["falls"]:
            found["falls"] = True
            found["first"] = start
        if found["first"] == start:
            found["fall_lasts"] = time[i] - time[start]
        found["fall_most"] = max(found["fall_most"] or 0.0, below)
    found["held_boost"] = held
    first = found.pop("first")
    if found["falls"]:
        found["fall_time"] = time[first]
        found["fall_boost"] = boost[first]
        found["fall_fuel"] = fuel[first]
        found["fall_speed"] = _at(inputs, "speed", first)
        found["notes"] = [
            "From {fall_boost} of boost on, {fall_time} in, the fuel pressure falls away from the regulator's line, by {fall_most} at "
            "the most: there the pump, its voltage, the filter or the supply line gives out."
        ]
    else:
        found["notes"] = ["The fuel pressure kept to the regulator's line to the end: the pump did not give out at {held_boost}."]
    return found


def _no_fall(told, notes):
    return {
        "told": told,
        "falls": False,
        "first": 0,
        "fall_time": None,
        "fall_boost": None,
        "fall_fuel": None,
        "fall_speed": None,
        "fall_most": None,
        "fall_lasts": None,
        "held_boost": None,
        "samples": 0,
        "notes": notes,
    }


def teaching_pairs(inputs):
    """The moments of a recording that the car may learn from as it does from a gauge: steady boost with the throttle open.

    Inputs: dict of a recording, whole or as kept. Result: list of dicts of `boost`, `reading` [Pa gauge] and `speed` [rad/s,
    None where it was not recorded], at most 8, spread evenly over the boost from a tenth of the peak. Range: any. Errors:
    none. Formula: the middle sample of fuel - boost in each step of boost. Source: own; each is the middle by height of the
    readings in its share of the boost.

    >>> boost = [1e3 * i for i in range(1, 101)]
    >>> seen = {"time": [0.1 * i for i in range(100)], "boost": boost, "fuel": [41e3 + b for b in boost]}
    >>> len(teaching_pairs(seen)), teaching_pairs(seen)[-1]["reading"] - teaching_pairs(seen)[-1]["boost"]
    (8, 41000.0)
    """
    boost, fuel, throttle = inputs["boost"], inputs["fuel"], inputs.get("throttle")
    if len(boost) == 0:
        return []
    peak = _largest(boost)
    low = BOOST_SHARE * peak
    places = [i for i in _steady_places(inputs, STEADY_RATE) if boost[i] >= low and (throttle is None or throttle[i] >= OPEN_THROTTLE)]
    bins = [[] for _ in range(MOST_PAIRS)]
    for place in places:
        share = 0.0 if peak <= low else (boost[place] - low) / (peak - low)
        bins[int(min(MOST_PAIRS - 1, math.floor(share * MOST_PAIRS)))].append(place)
    pairs = []
    for members in bins:
        if len(members) > 0:
            ordered = sorted(members, key=lambda place: fuel[place] - boost[place])
            place = ordered[int(math.floor(len(ordered) / 2))]
            pairs.append({"boost": boost[place], "reading": fuel[place], "speed": _at(inputs, "speed", place)})
    return pairs


def pack(inputs):
    """A recording in whole numbers, to be kept with its pass.

    Inputs: dict of `columns`, a dict of lists, and `places`, those to keep. Result: dict of column to a dict of `step` (SI)
    and `values`, whole numbers: the first, then the steps to each next. Range: any. Errors: none. Source: own.

    >>> pack({"columns": {"boost": [0.0, 1000.0, 3000.0]}, "places": [0, 2]})
    {'boost': {'step': 100.0, 'values': [0, 30]}}
    """
    packed = {}
    for name in inputs["columns"].keys():
        step = STEPS[name]
        column = inputs["columns"][name]
        last = 0
        values = []
        for place in inputs["places"]:
            now = int(math.floor(column[place] / step + 0.5))
            values.append(now - last)
            last = now
        packed[name] = {"step": step, "values": values}
    return packed


def unpack(packed):
    """The other way round from `pack`.

    Inputs: `packed`, what `pack` gave. Result: dict of column to list in SI. Range: any. Errors: none. Source: own.

    >>> unpack({"boost": {"step": 100.0, "values": [0, 30]}})
    {'boost': [0.0, 3000.0]}
    """
    columns = {}
    for name in packed.keys():
        now = 0
        values = []
        for change in packed[name]["values"]:
            now = now + change
            values.append(now * packed[name]["step"])
        columns[name] = values
    return columns
