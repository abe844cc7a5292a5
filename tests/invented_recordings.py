"""Make invented recordings of passes: the supply check of an invented car, driven through an invented pass, with noise.

No logger, engine or track has these numbers. `python -m tests.invented_recordings FOLDER` writes a few, each saying so.
"""

import functools
import math
import random
import sys
from pathlib import Path

from calc import supply
from tests.builds import PSI, car

RPM = 0.10471975511965977
PEAK = 15 * PSI
AMBIENT = 98.2e3  # Pa absolute
IDLE = 90.0  # rad/s
REDLINE = 650.0
LAUNCH = 4.0  # s
SHIFTS = (7.0, 9.6)
FINISH = 13.0
END = 16.0
SAYS = "INVENTED recording: made by a script, no real car"


def boost_at(time, peak=PEAK):
    """Boost [Pa gauge] of the invented pass at a moment [s]: it builds, dips at each shift, goes at the lift."""
    if time < LAUNCH:
        return 0.0
    if time > FINISH:
        return peak * math.exp(-(time - FINISH) / 0.3)
    built = peak * (1.0 - math.exp(-(time - LAUNCH) / 0.8))
    for shift in SHIFTS:
        if 0.0 <= time - shift < 0.8:
            built *= 1.0 - 0.45 * math.sin(math.pi * (time - shift) / 0.8)
    return built


def speed_at(time):
    """Engine speed [rad/s] at a moment [s]."""
    if time < LAUNCH or time > FINISH:
        return IDLE
    since = max([LAUNCH, *(shift for shift in SHIFTS if shift <= time)])
    return min(REDLINE, 400.0 + 95.0 * (time - since))


@functools.lru_cache(maxsize=4)
def _table(pumps, allowance):
    """Gauge reading at the carburettor [Pa] by engine speed and boost, from the supply check."""
    speeds = [IDLE, 300.0, 400.0, 500.0, 575.0, 650.0]
    boosts = [PEAK * 1.2 * i / 12 for i in range(13)]
    rows = []
    for speed in speeds:
        build = car(engine__speed=speed, regulator__gauge_at="carburettor", pump__pumps=pumps, pump__allowance=allowance, case="full")
        frame = supply.supply_frame(build)
        rows.append([supply.supply_point({**build, "boost": boost}, frame)["gauge_reading"] for boost in boosts])
    return speeds, boosts, rows


def reading_at(speed, boost, pumps=1.0, allowance=0.1):
    """What a steady gauge at the carburettor reads [Pa] at an engine speed [rad/s] and boost [Pa gauge]."""
    speeds, boosts, rows = _table(pumps, allowance)
    i = max(0, min(len(speeds) - 2, next((n for n, value in enumerate(speeds) if value > speed), len(speeds)) - 1))
    j = max(0, min(len(boosts) - 2, int(boost / (boosts[1] - boosts[0]))))
    a = (speed - speeds[i]) / (speeds[i + 1] - speeds[i])
    b = (boost - boosts[j]) / (boosts[j + 1] - boosts[j])
    low = rows[i][j] * (1 - b) + rows[i][j + 1] * b
    return low * (1 - a) + (rows[i + 1][j] * (1 - b) + rows[i + 1][j + 1] * b) * a


def recording(rate=100.0, lag=0.06, noise=300.0, pumps=1.0, allowance=0.1, seed=1, end=END):
    """An invented recording as lists in SI: time, boost, fuel, speed, mixture, throttle, battery, road.

    `rate` [1/s]; `lag` [s] of the regulator behind the boost; `noise` [Pa] of both pressures, one standard deviation;
    `pumps` and `allowance`, what is lost of the pump's curve.
    """
    rng = random.Random(seed)
    columns = {name: [] for name in ("time", "boost", "fuel", "speed", "mixture", "throttle", "battery", "road")}
    for n in range(int(end * rate)):
        time = n / rate
        boost, speed = boost_at(time), speed_at(time)
        fuel = reading_at(speed, boost_at(time - lag), pumps, allowance)
        driven = LAUNCH <= time <= FINISH
        columns["time"].append(time)
        columns["boost"].append(boost + rng.gauss(0.0, noise))
        columns["fuel"].append(fuel + rng.gauss(0.0, noise))
        columns["speed"].append(speed + rng.gauss(0.0, 1.0))
        lean = max(0.0, (25e3 - (fuel - boost)) / 25e3)
        columns["mixture"].append((0.80 + 0.12 * lean if driven else 1.0) + rng.gauss(0.0, 0.004))
        columns["throttle"].append(1.0 if driven else 0.03)
        columns["battery"].append(13.2 - (0.5 if driven else 0.0) + rng.gauss(0.0, 0.02))
        columns["road"].append(0.0 if time < LAUNCH else 62.0 * (1.0 - math.exp(-(min(time, FINISH) - LAUNCH) / 4.0)))
    return columns


# How a file names its columns: (heading, unit, what it takes from SI).
US = {
    "time": ("Time", "s", lambda si: si),
    "boost": ("Boost", "psig", lambda si: si / PSI),
    "fuel": ("Fuel Pressure", "psig", lambda si: si / PSI),
    "speed": ("Engine RPM", "rpm", lambda si: si / RPM),
    "mixture": ("Lambda", "", lambda si: si),
    "throttle": ("TPS", "%", lambda si: si * 100.0),
    "battery": ("Battery", "V", lambda si: si),
    "road": ("Vehicle Speed", "mph", lambda si: si / 0.44704),
}
METRIC = {
    **US,
    "time": ("Time", "ms", lambda si: si * 1000.0),
    "boost": ("MAP", "kPa", lambda si: (si + AMBIENT) / 1000.0),
    "fuel": ("Fuel Pressure", "bar", lambda si: si / 1e5),
    "mixture": ("AFR", "", lambda si: si * 14.7),
    "road": ("Vehicle Speed", "km/h", lambda si: si * 3.6),
}


def as_text(columns, table=US, separator=",", comma=False, units="row", preamble=(SAYS,), names=None, places=4):
    """A recording as the text of a file; `units` stand in a "row", in the "heading", or nowhere (None)."""
    names = names or list(columns)
    heads = [table[name][0] for name in names]
    lines = list(preamble)
    if units == "heading":
        heads = [f"{head} ({table[name][1]})" if table[name][1] else head for head, name in zip(heads, names, strict=True)]
    lines.append(separator.join(heads))
    if units == "row":
        lines.append(separator.join(table[name][1] for name in names))
    for n in range(len(columns["time"])):
        cells = [f"{table[name][2](columns[name][n]):.{places}f}" for name in names]
        lines.append(separator.join(cell.replace(".", ",") if comma else cell for cell in cells))
    return "\n".join(lines) + "\n"


def main(folder):
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    pass_ = recording()
    (folder / "invented-weak-pump.csv").write_text(as_text(recording(allowance=0.6, seed=4)), encoding="utf-8")
    (folder / "invented-us.csv").write_text(as_text(pass_), encoding="utf-8")
    (folder / "invented-metric.txt").write_bytes(as_text(pass_, METRIC, ";", comma=True, units="heading").encode("utf-16"))
    (folder / "invented-two-pumps.tsv").write_bytes(
        as_text(recording(pumps=2.0, seed=2), separator="\t", preamble=(f"{SAYS} (µ)",)).encode("latin-1")
    )
    write_long(folder / "invented-50mb.csv", 50_000_000)


def write_long(path, size):
    """Write one recording after another into a file, 1000 samples a second, until it has so many bytes."""
    body = as_text(recording(rate=1000.0, seed=3))
    head, rows = body[: body.index("\n0.0000")], body[body.index("\n0.0000") + 1 :].splitlines()
    with open(path, "w", encoding="utf-8") as file:
        file.write(head + "\n")
        part = 0
        while file.tell() < size:
            for row in rows:
                time, rest = row.split(",", 1)
                file.write(f"{float(time) + END * part:.4f},{rest}\n")
            part += 1


if __name__ == "__main__":
    main(sys.argv[1])
