"""Lines: what pressure a hose, its fittings and its filter take, and what rise and launch take besides."""

import math

from calc import constants, fuels

# Reynolds numbers between which the flow may be either: 2040 (Avila and others, Science 333 (2011) 192-196) and the 4000
# of the textbooks.
LAMINAR_TO = 2040.0
TURBULENT_FROM = 4000.0
MOST_STEPS = 50  # of Newton's method, which takes five or so

# Nominal inner diameters of dash-size hose, m (from memory; makers differ, so the true bore may be given instead).
BORES = [
    {"hose": "dash-4", "diameter": 0.219 * 0.0254},
    {"hose": "dash-6", "diameter": 0.344 * 0.0254},
    {"hose": "dash-8", "diameter": 0.438 * 0.0254},
    {"hose": "dash-10", "diameter": 0.563 * 0.0254},
    {"hose": "dash-12", "diameter": 0.688 * 0.0254},
    {"hose": "dash-16", "diameter": 0.875 * 0.0254},
]
WIDER = 1.25  # a size up where no dash size is left

# Roughness of the inside of a line, m: drawn tube and smooth-bore hose (Moody's drawn tubing); rubber (this project's
# assumption, taken on the safe side).
ROUGHNESS = {"smooth": 1.5e-6, "rubber": 1.0e-5}

# Loss of one fitting, in velocity pressures of its own line. Source: Munson, Young, Okiishi and Huebsch, Fundamentals of Fluid
# Mechanics, table 8.2 (loss coefficients for pipe components): union, threaded; regular 45 degrees, threaded; long radius 90
# degrees, threaded; regular 90 degrees, threaded; tee, threaded, line flow and branch flow. That a swept hose end is like the
# long radius and a forged or drilled one like the regular elbow is common practice, no source.
FITTING_LOSSES = [
    {"name": "straights", "loss": 0.08},
    {"name": "bends_45", "loss": 0.4},
    {"name": "bends_90", "loss": 0.7},
    {"name": "elbows_90", "loss": 1.5},
    {"name": "tees_through", "loss": 0.9},
    {"name": "tees_side", "loss": 2.0},
]

# Common practice, no source: fuel no faster than this, m/s.
VELOCITY_LIMITS = {"suction": 1.2, "pressure": 3.0, "return": 3.0}


def bore(line, prefix):
    """Inner diameter of a line.

    Inputs: `line`, a dict of `hose` ("dash-4" to "dash-16", or "own") and `diameter` [m] for "own"; `prefix` put before
    a field's name in an error. Result: [m]. Errors: ValueError at `hose` for an unknown size. Source: nominal bores of
    dash sizes, from memory.

    >>> bore({"hose": "dash-6"}, ""), bore({"hose": "own", "diameter": 0.009}, "")
    (0.00874, 0.009)
    """
    if line["hose"] == "own":
        return line["diameter"]
    for size in BORES:
        if size["hose"] == line["hose"]:
            return size["diameter"]
    raise ValueError(f"{prefix}hose: Choose a dash size, or own with the inner diameter.")


def dash_sizes():
    """The dash sizes offered.

    Inputs: none. Result: list of {"hose", "diameter" [m]}, small to large. Errors: none. Source: as `bore`.

    >>> len(dash_sizes())
    6
    """
    return BORES


def next_bore(diameter):
    """The next larger nominal bore.

    Inputs: `diameter` [m]. Result: [m]; past the largest size a quarter more. Errors: none. Source: as `bore`.

    >>> next_bore(0.0087), next_bore(0.03)
    (0.0111, 0.0375)
    """
    for size in BORES:
        if size["diameter"] > 1.02 * diameter:
            return size["diameter"]
    return WIDER * diameter


def circle(diameter):
    """Area of a circle.

    Inputs: `diameter` [m]. Result: [m2]. Errors: none. Source: geometry.

    >>> circle(0.01)
    7.854e-05
    """
    return math.pi / 4.0 * diameter**2


def colebrook(reynolds, relative_roughness):
    """Darcy friction factor of turbulent flow.

    Inputs: `reynolds` from 4000, `relative_roughness` (roughness over bore, 0 to 0.05). Result: factor. Errors: none.
    Source: Colebrook, J. Inst. Civil Eng. 11 (1939) 133-156: 1/sqrt f = -2 log10(e/3.7 + 2.51/(Re sqrt f)), solved by
    Newton's method, which cannot miss on this rising, hollow curve, from Haaland's formula (J. Fluids Eng. 105 (1983) 89-90).

    >>> colebrook(1e5, 1e-4)
    0.01851
    """
    rough = relative_roughness / 3.7
    smooth = 2.51 / reynolds
    root = -1.8 * math.log10(rough**1.11 + 6.9 / reynolds)
    step = root
    for _ in range(MOST_STEPS):
        if abs(step) <= 1e-11 * root:
            break
        inside = rough + smooth * root
        step = (root + 2.0 * math.log10(inside)) / (1.0 + 2.0 / math.log(10.0) * smooth / inside)
        root -= step
    return 1.0 / (root * root)


def friction_factor(reynolds, relative_roughness):
    """Darcy friction factor of any flow, without a jump and such that more flow never loses less.

    Inputs: `reynolds` above 0, `relative_roughness` (0 to 0.05). Result: factor: 64/Re up to 2040, Colebrook from 4000,
    and between them a straight line over the logarithms, since neither law holds there. Errors: none. Source:
    Hagen-Poiseuille; `colebrook`; the bridge is this project's own, the literature has no one answer.

    >>> friction_factor(1000.0, 0.0), friction_factor(2857.0, 0.0)
    (0.064, 0.0354)
    """
    if reynolds >= TURBULENT_FROM:
        return colebrook(reynolds, relative_roughness)
    if reynolds <= LAMINAR_TO:
        return 64.0 / reynolds
    return _bridge(reynolds, colebrook(TURBULENT_FROM, relative_roughness))


def _bridge(reynolds, turbulent):
    share = math.log(reynolds / LAMINAR_TO) / math.log(TURBULENT_FROM / LAMINAR_TO)
    laminar = 64.0 / LAMINAR_TO
    return laminar * (turbulent / laminar) ** share


def regime(reynolds):
    """Name the kind of flow.

    Inputs: `reynolds`. Result: "laminar", "transition" or "turbulent". Errors: none. Source: as `friction_factor`.

    >>> regime(1000.0), regime(3000.0), regime(1e4)
    ('laminar', 'transition', 'turbulent')
    """
    if reynolds <= LAMINAR_TO:
        return "laminar"
    return "transition" if reynolds < TURBULENT_FROM else "turbulent"


def fittings_loss(counts):
    """What counted fittings lose together, in velocity pressures of their line.

    Inputs: `counts`, a dict of how many `straights`, `bends_45`, `bends_90` (swept), `elbows_90` (forged), `tees_through` and
    `tees_side` there are; what is missing is none. Result: sum of K. Errors: none. Formula: sum of K times count. Source:
    Munson, Young, Okiishi and Huebsch, Fundamentals of Fluid Mechanics, table 8.2; see `FITTING_LOSSES`.

    >>> fittings_loss({"straights": 2.0, "elbows_90": 1.0, "tees_side": 1.0})
    3.66
    """
    total = 0.0
    for fitting in FITTING_LOSSES:
        total += fitting["loss"] * _or_zero(counts, fitting["name"])
    return total


def fittings_sum(settings, prefix):
    """The sum of K of a line, as typed or as counted.

    Inputs: `settings`, a dict of `fittings_from` ("sum" | "count"; missing: "sum") and `fittings` (sum of K; missing: 0) or
    the counts of `fittings_loss`; `prefix` put before these names in it, "" or "common_". Result: sum of K. Errors: none.
    Source: `fittings_loss`.

    >>> fittings_sum({"fittings": 4.0}, ""), fittings_sum({"common_fittings_from": "count", "common_bends_90": 2.0}, "common_")
    (4.0, 1.4)
    """
    if settings.get(prefix + "fittings_from") != "count":
        return _or_zero(settings, prefix + "fittings")
    counts = {}
    for fitting in FITTING_LOSSES:
        counts[fitting["name"]] = settings.get(prefix + fitting["name"])
    return fittings_loss(counts)


def prepare_line(settings, diameter, density, viscosity, prefix):
    """Work out once what the drop of a line at any flow needs.

    Inputs: `settings`, a dict of `length` [m], `surface` ("smooth" | "rubber") or `roughness` [m], the fittings of
    `fittings_sum`, `equivalent_length` [m] of hose that stands for other fittings, `filter_drop` [Pa] at `filter_flow` [m3/s]
    (no filter: 0) and `filter_dirt` (drop over the clean filter's, from 1), all but length optional; `diameter` [m];
    `density` [kg/m3] and `viscosity` [Pa s] of the fuel; `prefix` put before a field's name in an error. Result: dict for
    `line_drop`. Errors: ValueError at `filter_flow` when a filter has a drop but no flow. Formula: dp = f (L + Le) / d rho /
    2 (Q / A)^2 + K rho / 2 (Q / A)^2 + filter Q^2. Source: see `line_drop`.

    >>> line_drop(prepare_line({"length": 4.0}, 0.0087, 740.0, 4.5e-4, ""), 5.5555e-5)
    4254.
    """
    area = circle(diameter)
    relative = _roughness(settings) / diameter
    filter_drop = _or_zero(settings, "filter_drop")
    filter_factor = 0.0
    if filter_drop > 0.0:
        if _or_zero(settings, "filter_flow") <= 0.0:
            raise ValueError(f"{prefix}filter_flow: Give the flow at which the filter has that drop.")
        dirt = settings.get("filter_dirt")
        filter_factor = filter_drop / settings["filter_flow"] ** 2 * (1.0 if dirt is None else dirt)
    return {
        "diameter": diameter,
        "area": area,
        "relative_roughness": relative,
        "turbulent": colebrook(TURBULENT_FROM, relative),
        "reynolds_per_flow": density * diameter / (area * viscosity),
        "friction": (settings["length"] + _or_zero(settings, "equivalent_length")) / diameter * density / (2.0 * area * area),
        "fittings": fittings_sum(settings, "") * density / (2.0 * area * area),
        "filter": filter_factor,
    }


def _roughness(settings):
    if settings.get("roughness") is not None:
        return settings["roughness"]
    surface = settings.get("surface")
    return 0.0 if surface is None else ROUGHNESS[surface]


def _or_zero(settings, name):
    value = settings.get(name)
    return 0.0 if value is None else value


def friction_drop(line, flow):
    """Pressure that the hose itself takes.

    Inputs: `line` of `prepare_line`, `flow` [m3/s] from 0. Result: [Pa]. Errors: none. Source: Darcy-Weisbach,
    f L/D rho v^2/2, with `friction_factor`.

    >>> friction_drop(prepare_line({"length": 4.0}, 0.0087, 740.0, 4.5e-4, ""), 5.5555e-5)
    4254.
    """
    if flow <= 0.0:
        return 0.0
    reynolds = flow * line["reynolds_per_flow"]
    if reynolds >= TURBULENT_FROM:
        factor = colebrook(reynolds, line["relative_roughness"])
    elif reynolds <= LAMINAR_TO:
        factor = 64.0 / reynolds
    else:
        factor = _bridge(reynolds, line["turbulent"])
    return factor * line["friction"] * flow * flow


def line_drop(line, flow):
    """Pressure that a line takes: hose, fittings and filter together.

    Inputs: `line` of `prepare_line`, `flow` [m3/s] from 0. Result: [Pa], rising with flow. Errors: none. Formula: dp = hose +
    (fittings + filter) Q^2. Source: Darcy-Weisbach; fittings K rho v^2/2; a filter's drop goes with the square of flow
    (common practice, no source).

    >>> line_drop(prepare_line({"length": 4.0, "fittings": 2.5}, 0.0087, 740.0, 4.5e-4, ""), 5.5555e-5)
    5062.
    """
    if flow <= 0.0:
        return 0.0
    return friction_drop(line, flow) + (line["fittings"] + line["filter"]) * flow * flow


def column_pressure(density, height, acceleration, along):
    """Pressure that a column of fuel takes: up, and forward while the car leaves.

    Inputs: `density` [kg/m3], `height` [m] from start to end (down is negative), `acceleration` [m/s2] of the car,
    `along` [m] that the line runs forward. Result: [Pa]. Errors: none. Source: rho g h and rho a L, textbook.

    >>> column_pressure(745.0, 0.5, 0.0, 0.0), column_pressure(740.0, 0.0, 1.2 * 9.80665, 3.0)
    (3653., 26125.)
    """
    return density * (constants.GRAVITY * height + acceleration * along)


def inertance(density, length, area):
    """Pressure that fuel in a line takes to be sped up, over the growth of its flow.

    Inputs: `density` [kg/m3], `length` [m], `area` [m2]. Result: [Pa s2/m3]. Errors: none. Source: Newton's second law on
    the column, rho L / A, textbook.

    >>> inertance(745.0, 5.0, 9.677e-5)
    38493334.
    """
    return density * length / area


def tapping_branch_factor(bores, share):
    """Loss of what leaves a rail sideways through a tapping, over the velocity pressure of the rail before it.

    Inputs: `bores`, tapping over rail; `share` of the rail's flow that leaves, 0 to 1. Result: factor on rho v^2/2; near 1
    for a small share, since the fuel's speed past the tapping is not turned into it. Errors: none. Formula: growth (1 + k
    (share / area)^2), k 1.0 up to an area of 2/3 and 0.3 beyond, growth 1 and 1 + 0.3 share^2. Source: dividing tee of 90
    degrees, Crane, Flow of Fluids, Technical Paper 410 (2009), chapter 2.

    >>> tapping_branch_factor(1.0, 0.0), tapping_branch_factor(0.7, 0.5)
    (1.0, 1.312)
    """
    area = bores * bores
    speed = share / area
    growth = 1.0 if area <= 2.0 / 3.0 else 1.0 + 0.3 * share * share
    return growth * (1.0 + (1.0 if bores <= 2.0 / 3.0 else 0.3) * speed * speed)


def tapping_run_factor(bores, share):
    """Loss of what goes straight on past a tapping, over the velocity pressure of the rail before it.

    Inputs: `bores`, tapping over rail; `share` of the rail's flow that leaves, 0 to 1. Result: factor on rho v^2/2; below
    none where the rail is not much wider than the tapping and less than half leaves: the fuel that slows down regains
    pressure. Errors: none. Formula: k share^2, k = 0.4 up to an area of 0.4, else 2 (2 share - 1) to a half and 0.3 (2 share
    - 1) beyond. Source: as `tapping_branch_factor`.

    >>> tapping_run_factor(1.0, 0.25), tapping_run_factor(0.5, 0.5)
    (-0.0625, 0.1)
    """
    if bores * bores <= 0.4:
        factor = 0.4
    else:
        factor = (2.0 if share <= 0.5 else 0.3) * (2.0 * share - 1.0)
    return factor * share * share


def line_loss(inputs):
    """What one line takes at one flow.

    Inputs: `flow` [m3/s], `side` ("pressure" | "suction" | "return"), `hose` and `diameter` [m] (`bore`), `length` [m],
    `surface` or `roughness` [m], the fittings of `fittings_sum`, `equivalent_length` [m], `filter_drop` [Pa], `filter_flow`
    [m3/s], `filter_dirt`, `rise` [m], `acceleration` [m/s2], `along` [m], the fuel (`fuel`, `ethanol`, `stoich`,
    `fuel_density`) and `fuel_temperature` [K]. Results: `total_drop`, `friction_drop`, `fitting_drop`, `filter_loss`,
    `rise_pressure`, `launch_pressure` [Pa], `velocity`, `velocity_limit` [m/s], `reynolds`, `friction_factor`, `regime`,
    `diameter_used` [m], `density`, `viscosity`, `sizes` (the same for each dash size), `sweep` (drop over flow), notes,
    steps. Errors: ValueError at `hose`, `filter_flow` or the fuel's fields. Formula: total = friction + fittings + filter +
    column. Source: see `line_drop` and `column_pressure`.

    >>> line_loss({"flow": 5e-5, "side": "pressure", "hose": "dash-6", "length": 4.0, "roughness": 1.5e-6, "fittings": 2.5,
    ...     "rise": 0.5, "acceleration": 0.0, "along": 0.0, "fuel": "petrol", "fuel_temperature": 288.15})["regime"]
    'turbulent'
    """
    fuel = fuels.properties(inputs, inputs["fuel_temperature"])
    density = fuel["density"]
    diameter = bore(inputs, "")
    line = prepare_line(inputs, diameter, density, fuel["viscosity"], "")
    flow = inputs["flow"]
    velocity = flow / line["area"]
    reynolds = flow * line["reynolds_per_flow"]
    friction = friction_drop(line, flow)
    fittings = line["fittings"] * flow * flow
    filter_loss = line["filter"] * flow * flow
    rise = column_pressure(density, inputs["rise"], 0.0, 0.0)
    launch = column_pressure(density, 0.0, inputs["acceleration"], inputs["along"])
    limit = VELOCITY_LIMITS[inputs["side"]]
    total = friction + fittings + filter_loss + rise + launch
    factor = friction_factor(reynolds, line["relative_roughness"])
    return {
        "total_drop": total,
        "friction_drop": friction,
        "fitting_drop": fittings,
        "filter_loss": filter_loss,
        "rise_pressure": rise,
        "launch_pressure": launch,
        "velocity": velocity,
        "velocity_limit": limit,
        "reynolds": reynolds,
        "friction_factor": factor,
        "regime": regime(reynolds),
        "diameter_used": diameter,
        "density": density,
        "viscosity": fuel["viscosity"],
        "sizes": _size_rows(inputs, fuel, rise + launch),
        "sweep": _flow_rows(line, flow, rise + launch),
        "notes": _line_notes(velocity, limit, reynolds, launch, filter_loss, friction + fittings),
        "steps": [
            {"label": "Fuel density", "value": density, "kind": "density"},
            {"label": "Fuel viscosity", "value": fuel["viscosity"], "kind": "viscosity"},
            {"label": "Velocity", "value": velocity, "kind": "flow_velocity"},
            {"label": "Reynolds number", "value": reynolds, "kind": "count"},
            {"label": "Darcy friction factor", "value": factor, "kind": "ratio"},
            {"label": "Hose", "value": friction, "kind": "pressure_difference"},
            {"label": "Fittings", "value": fittings, "kind": "pressure_difference"},
            {"label": "Filter", "value": filter_loss, "kind": "pressure_difference"},
            {"label": "Rise", "value": rise, "kind": "pressure_difference"},
            {"label": "Launch", "value": launch, "kind": "pressure_difference"},
            {"label": "All together", "value": total, "kind": "pressure_difference"},
        ],
    }


def _size_rows(inputs, fuel, columns):
    rows = []
    for size in BORES:
        line = prepare_line(inputs, size["diameter"], fuel["density"], fuel["viscosity"], "")
        rows.append(
            {
                "hose": size["hose"],
                "diameter": size["diameter"],
                "drop": line_drop(line, inputs["flow"]) + columns,
                "velocity": inputs["flow"] / line["area"],
            }
        )
    return rows


def _flow_rows(line, flow, columns):
    rows = []
    for i in range(31):
        at = 1.5 * flow * (i / 30)
        rows.append({"flow": at, "drop": line_drop(line, at) + columns})
    return rows


def _line_notes(velocity, limit, reynolds, launch, filter_loss, hose):
    notes = ["At {flow} this line takes {total_drop}: {friction_drop} the hose, {fitting_drop} the fittings, {filter_loss} the filter."]
    if velocity > limit:
        notes.append("The fuel runs at {velocity}; common practice keeps it under {velocity_limit} on this side of the pump. Go up a size.")
    if launch > 0.0:
        notes.append("While the car leaves, the column of fuel takes {launch_pressure} of that; the pump must hold it up too.")
    if filter_loss > hose and filter_loss > 0.0:
        notes.append("The filter takes more than the hose and its fittings do.")
    if regime(reynolds) == "transition":
        notes.append("The flow is between smooth and turbulent, where no formula is sure; the hose may take half or twice as much.")
    return notes
