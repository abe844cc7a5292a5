"""Fit for boost: what the parts must be like to work under boost, and what to check after a bad pass.

Both are trade knowledge as data, in this project's own words: common practice, no source, except where an entry names one.
"""

MOST_NAMED = 6  # missing parts in one sentence; the table names all
COMMON = "Common practice, no source."
BALANCE = "Balance of pressures on the fuel in the bowl; see the fuel-pressure figure."

# id, area of the car, part, what it must be, why, what goes wrong without; `vital` where what goes wrong is fire or a broken engine.
PARTS = [
    {
        "id": "floats",
        "area": "Carburettor",
        "part": "Floats",
        "must": "Solid or filled, so that boost cannot crush them",
        "vital": True,
        "why": "The whole boost presses on the floats from outside.",
        "wrong": "A hollow float is crushed or fills, sinks, and floods the engine.",
        "source": COMMON,
    },
    {
        "id": "shafts",
        "area": "Carburettor",
        "part": "Throttle shafts",
        "must": "Sealed, or fed with boost at their ends",
        "vital": True,
        "why": "Boost pushes mixture out along the shafts.",
        "wrong": "Fuel mist blows over a hot engine bay, and worn shafts stick.",
        "source": COMMON,
    },
    {
        "id": "gaskets",
        "area": "Carburettor",
        "part": "Bowl and block gaskets",
        "must": "Sound, screws tight, sight plugs closed",
        "vital": True,
        "why": "The bowl holds boost as well as fuel.",
        "wrong": "Fuel sprays out under boost.",
        "source": COMMON,
    },
    {
        "id": "ports",
        "area": "Carburettor",
        "part": "Vacuum ports and passages",
        "must": "Every opening to outside plugged or clamped",
        "vital": True,
        "why": "What drew in without boost blows out with it.",
        "wrong": "Mixture blows out, or an air leak leans the engine at idle.",
        "source": COMMON,
    },
    {
        "id": "vents",
        "area": "Carburettor",
        "part": "Bowl vents",
        "must": "Open into still air inside the hat, both bowls alike",
        "vital": True,
        "why": "Fuel meters by the difference between bowl and inlet; the bowl must have all of the boost.",
        "wrong": "A bowl that lacks a fraction of a pound runs its barrels lean at full load.",
        "source": BALANCE,
    },
    {
        "id": "needles",
        "area": "Carburettor",
        "part": "Needles and seats",
        "must": "Large enough for full load, and shutting against base pressure",
        "vital": True,
        "why": "The pressure across them stays the base pressure however high the boost.",
        "wrong": "Too small empties the bowls; too large or worn floods at idle.",
        "source": BALANCE,
    },
    {
        "id": "secondaries",
        "area": "Carburettor",
        "part": "Secondaries",
        "must": "Opened by linkage",
        "vital": False,
        "why": "Under boost there is no vacuum to open them.",
        "wrong": "A secondary that vacuum opens stays shut or opens when it likes.",
        "source": COMMON,
    },
    {
        "id": "enrichment",
        "area": "Carburettor",
        "part": "Enrichment valve",
        "must": "Referenced to boost, or plugged and the jets enlarged",
        "vital": True,
        "why": "With boost over the throttles and less under them, a plain valve can stay shut just when it is wanted.",
        "wrong": "Lean at part throttle under boost: the pop at half throttle.",
        "source": COMMON,
    },
    {
        "id": "choke",
        "area": "Carburettor",
        "part": "Choke plate and air horn",
        "must": "Out of the way of the air",
        "vital": False,
        "why": "The hat turns the air; a plate in its path sends it to one side.",
        "wrong": "Barrels draw unequal mixtures.",
        "source": COMMON,
    },
    {
        "id": "jets",
        "area": "Carburettor",
        "part": "Jets and circuits",
        "must": "Sized for this fuel and this boost, on the rich side",
        "vital": True,
        "why": "Denser air leans a jetting by the root of its density.",
        "wrong": "Lean under load breaks pistons.",
        "source": "See the carburettor sheet and the mixture under boost.",
    },
    {
        "id": "hat",
        "area": "Hat and manifold",
        "part": "Hat and its clamps",
        "must": "Clamped to the carburettor and strapped, hose beaded and clamped",
        "vital": True,
        "why": "Each psi lifts a six-inch lid with nearly 30 lb.",
        "wrong": "It blows off, and the engine ingests whatever follows.",
        "source": "Pressure times area.",
    },
    {
        "id": "hat_flow",
        "area": "Hat and manifold",
        "part": "Air in the hat",
        "must": "Slowed and turned evenly over all barrels",
        "vital": False,
        "why": "A jet of air from the pipe rams one barrel or one vent.",
        "wrong": "Cylinders run unlike one another; a vent reads wrong.",
        "source": COMMON,
    },
    {
        "id": "relief",
        "area": "Hat and manifold",
        "part": "Relief valve before the throttles",
        "must": "Opens when the throttles shut",
        "vital": False,
        "why": "The blower still pumps when the throttles close.",
        "wrong": "Pressure spikes blow hoses off, shake a turbo, and push fuel about in the bowls.",
        "source": COMMON,
    },
    {
        "id": "plenum",
        "area": "Hat and manifold",
        "part": "Manifold plenum",
        "must": "Halves alike, or joined",
        "vital": False,
        "why": "Two unequal halves breathe through unequal barrels.",
        "wrong": "Each half gets a mixture of its own; one is lean.",
        "source": COMMON,
    },
    {
        "id": "breathers",
        "area": "Hat and manifold",
        "part": "Crankcase breather and brake booster",
        "must": "A one-way valve in each line from the manifold",
        "vital": True,
        "why": "Boost runs backwards through both.",
        "wrong": "Oil is blown out past seals; the brakes lose their help.",
        "source": COMMON,
    },
    {
        "id": "regulator",
        "area": "Fuel supply",
        "part": "Fuel pressure regulator",
        "must": "Boost-referenced, a psi for a psi",
        "vital": True,
        "why": "Boost presses on the bowls; fuel must come in over it.",
        "wrong": "Fuel stops when boost reaches the base pressure.",
        "source": BALANCE,
    },
    {
        "id": "signal",
        "area": "Fuel supply",
        "part": "Regulator's signal line",
        "must": "From the hat, a line of its own, fuel-proof and clamped",
        "vital": True,
        "why": "The bowls feel the hat's pressure, not the manifold's.",
        "wrong": "The regulator follows the wrong pressure, or none when the line slips off.",
        "source": COMMON,
    },
    {
        "id": "pump",
        "area": "Fuel supply",
        "part": "Fuel pump",
        "must": "Gives full-load flow at base plus boost plus losses",
        "vital": True,
        "why": "A pump gives least where it must push hardest.",
        "wrong": "It falls short at the top, in the highest gear.",
        "source": "See the pump check.",
    },
    {
        "id": "returns",
        "area": "Fuel supply",
        "part": "Return line",
        "must": "Large enough that idle pressure stays at base; open into the tank",
        "vital": False,
        "why": "At idle nearly the whole pump flow returns.",
        "wrong": "Pressure piles up at idle and floods past the needles.",
        "source": "See the return floor.",
    },
    {
        "id": "hoses",
        "area": "Fuel supply",
        "part": "Fuel hoses and fittings",
        "must": "Rated for this fuel and twice the pressure, away from heat and belts",
        "vital": True,
        "why": "They hold base plus boost, not base alone.",
        "wrong": "A burst or rotten hose feeds a fire.",
        "source": "Factor of two: common practice, no source. Rules and local codes come first.",
    },
    {
        "id": "filter",
        "area": "Fuel supply",
        "part": "Fuel filter",
        "must": "Sized for full flow, clean, fit for this fuel",
        "vital": False,
        "why": "Its drop grows with the square of the flow.",
        "wrong": "It takes the pressure the seats need.",
        "source": COMMON,
    },
    {
        "id": "shutoff",
        "area": "Fuel supply",
        "part": "Pump cut-out",
        "must": "Stops the pump when the engine stops or the car is hit",
        "vital": True,
        "why": "An electric pump keeps on pumping into a broken line.",
        "wrong": "It feeds a fire.",
        "source": "Common practice, no source. Rules and local codes come first.",
    },
    {
        "id": "spark",
        "area": "Spark",
        "part": "Spark advance",
        "must": "Taken out under boost, or locked low",
        "vital": True,
        "why": "Dense charge burns faster and knocks sooner.",
        "wrong": "Knock breaks ring lands and head gaskets.",
        "source": "See the spark plan. " + COMMON,
    },
    {
        "id": "vacuum_advance",
        "area": "Spark",
        "part": "Vacuum advance",
        "must": "Plugged, or proven off under boost",
        "vital": True,
        "why": "It would add its degrees on top.",
        "wrong": "Some fifteen degrees too much spark.",
        "source": COMMON,
    },
    {
        "id": "plugs",
        "area": "Spark",
        "part": "Spark plugs and gap",
        "must": "A step or two colder, gap closed as boost asks",
        "vital": False,
        "why": "A denser charge takes more voltage to spark across, and heats the plug.",
        "wrong": "Misfire at the top, or a plug that lights the charge by itself.",
        "source": COMMON,
    },
    {
        "id": "ignition",
        "area": "Spark",
        "part": "Coil, leads, cap",
        "must": "Strong enough for the gap under boost",
        "vital": False,
        "why": "The voltage wanted rises with pressure in the cylinder.",
        "wrong": "Misfire that looks like a fuel fault.",
        "source": COMMON,
    },
    {
        "id": "gauges",
        "area": "Gauges and safety",
        "part": "Gauges",
        "must": "Fuel pressure, boost, and wideband seen or logged at full load",
        "vital": True,
        "why": "What runs short does so in seconds, at full load.",
        "wrong": "The first sign is the noise.",
        "source": COMMON,
    },
    {
        "id": "extinguisher",
        "area": "Gauges and safety",
        "part": "Extinguisher and shields",
        "must": "Within reach, in date; shields where the rules ask",
        "vital": True,
        "why": "There is fuel under pressure over hot iron.",
        "wrong": "A small fire becomes a large one.",
        "source": "The sanctioning body's rules and local codes come first.",
    },
]


def checklist():
    """The parts that boost asks something of.

    Inputs: none. Result: list of dicts `id`, `area`, `part`, `must`, `why`, `wrong`, `source` (texts) and `vital` (True where what goes
    wrong is fire or a broken engine). Errors: none. Source: named in each entry, mostly common practice, no source.

    >>> checklist()[0]["part"]
    'Floats'
    """
    return PARTS


def fit_for_boost(inputs):
    """Name what the car still lacks to be fit for boost.

    Inputs: dict of True, False or None for each `id` of `checklist()`; anything but True is not ticked. Results: `state`
    ("holds" with all ticked, "short" while a vital part is missing, else "thin"); `ticked`, `total`, `vital_missing`
    (counts); `progress`, the first two in words; `first_missing` (name of a part, None when nothing is); `missing`, rows of
    `part`, `must`, `why`, `wrong`,
    `source`, vital ones first; `sources`, the whole list. Range: none. Errors: none. Source: `checklist`.

    >>> fit_for_boost({})["state"], fit_for_boost({part["id"]: True for part in checklist()})["state"]
    ('short', 'holds')
    """
    vital = [part for part in PARTS if inputs.get(part["id"]) is not True and part["vital"]]
    others = [part for part in PARTS if inputs.get(part["id"]) is not True and not part["vital"]]
    missing = vital.copy()
    missing.extend(others)
    return {
        "state": _state(vital, missing),
        "ticked": len(PARTS) - len(missing),
        "total": len(PARTS),
        "progress": f"{len(PARTS) - len(missing)} of {len(PARTS)}",
        "vital_missing": len(vital),
        "first_missing": None if len(missing) == 0 else missing[0]["part"],
        "missing": missing,
        "sources": PARTS,
        "notes": _notes(vital, missing),
        "steps": [
            {"label": "On the list", "value": len(PARTS), "kind": "count"},
            {"label": "Ticked", "value": len(PARTS) - len(missing), "kind": "count"},
            {"label": "Not ticked, can cause fire or damage", "value": len(vital), "kind": "count"},
        ],
    }


def _state(vital, missing):
    if len(vital) > 0:
        return "short"
    return "thin" if len(missing) > 0 else "holds"


def _notes(vital, missing):
    if len(missing) == 0:
        return ["Everything on the list is ticked. It is a list, not an inspection: rules and a licensed professional come first."]
    if len(missing) <= MOST_NAMED:
        notes = ["Not ticked yet: " + "; ".join([part["part"] for part in missing]) + "."]
    else:
        notes = ["{ticked} of {total} ticked. Start with: {first_missing}."]
    if len(vital) > 0:
        notes.append("{vital_missing} of these can cause fire or a broken engine. Leave the boost alone until they are in order.")
    notes.append("Tick a part when it is in order, or when this car has none.")
    return notes


# What a check opens. Which of its fields the build fills is written at the fields of the form.
SUPPLY = {"calculator": "supply-check", "figure": "Supply check", "whole_build": True}
PUMP = {"calculator": "pump-check", "figure": "Pump check", "whole_build": False}
WIRING = {"calculator": "pump-wiring", "figure": "Pump wiring", "whole_build": False}
RETURN = {"calculator": "return-floor", "figure": "Lowest return pressure", "whole_build": False}
SEATS = {"calculator": "seat-flow", "figure": "Needle and seat", "whole_build": False}
PRESSURE = {"calculator": "fuel-pressure", "figure": "Fuel pressure at boost", "whole_build": False}
HOT = {"calculator": "hot-fuel", "figure": "Hot fuel", "whole_build": False}
VENTS = {"calculator": "vent-shortfall", "figure": "Bowl vent loss", "whole_build": False}
MIXTURE = {"calculator": "mixture-at-boost", "figure": "Mixture under boost", "whole_build": False}
SPARK = {"calculator": "spark-plan", "figure": "Spark plan", "whole_build": False}
KNOCK = {"calculator": "knock-margin", "figure": "Knock comparison", "whole_build": False}
FIT = {"calculator": "fit-for-boost", "figure": "Fit for boost", "whole_build": False}

# What was seen, and the checks in order: what is likely, quick and dangerous first.
BAD_PASSES = [
    {
        "id": "pop-half-throttle",
        "seen": "A pop at half throttle under boost",
        "checks": [
            {
                "look": "Does the enrichment open under boost? Look at its reference, or plug it and enlarge the jets.",
                "why": "Held shut, it leaves the mains alone to feed boost.",
                "opens": FIT,
                "set": {},
            },
            {
                "look": "What lambda does boost make of this jetting?",
                "why": "A jetting that is right without boost is lean with it.",
                "opens": MIXTURE,
                "set": {},
            },
            {
                "look": "Do the primary bowls keep up while the secondaries are shut?",
                "why": "A rail that passes the secondaries first starves the primaries at part throttle.",
                "opens": SUPPLY,
                "set": {"throttle": 0.5},
            },
            {
                "look": "Is a vacuum advance still on there?",
                "why": "At half throttle there is vacuum under the throttles though boost is over them.",
                "opens": SPARK,
                "set": {},
            },
            {
                "look": "Do the bowls get all of the boost?",
                "why": "At half throttle the signal is small, so a small shortfall counts most.",
                "opens": VENTS,
                "set": {},
            },
            {
                "look": "Squirters: wet, strong, and long enough?",
                "why": "A dry tip-in pops at once, a lean main a moment later. No figure here tells it.",
                "opens": None,
                "set": {},
            },
        ],
    },
    {
        "id": "lean-top",
        "seen": "Lean at the top, at full load",
        "checks": [
            {
                "look": "Did the fuel gauge fall at the top? Hold it against what it must read.",
                "why": "A gauge that falls means pump or line; one that stands means seats, vents, or jets.",
                "opens": SUPPLY,
                "set": {"throttle": 1.0},
            },
            {
                "look": "Does the regulator add a psi for each psi?",
                "why": "A torn diaphragm or a slipped signal line leaves base pressure alone.",
                "opens": PRESSURE,
                "set": {},
            },
            {
                "look": "Can the pump feed this power at that pressure?",
                "why": "It gives least at the highest boost.",
                "opens": PUMP,
                "set": {"demand_from": "flow"},
            },
            {
                "look": "What voltage does the pump get?",
                "why": "Flow falls with voltage, and voltage falls in the wire.",
                "opens": WIRING,
                "set": {},
            },
            {
                "look": "Do the seats pass it?",
                "why": "With full pressure at the gauge, a small seat still empties its bowl.",
                "opens": SEATS,
                "set": {},
            },
            {
                "look": "Do the bowls get all of the boost?",
                "why": "A missing fraction of a pound leans the barrels of that bowl.",
                "opens": VENTS,
                "set": {},
            },
            {
                "look": "What lambda does boost make of this jetting?",
                "why": "More boost than the jets were found at.",
                "opens": MIXTURE,
                "set": {},
            },
        ],
    },
    {
        "id": "flood-idle",
        "seen": "Floods at idle",
        "checks": [
            {
                "look": "What does the gauge read at idle against base pressure?",
                "why": "Higher than set means that the return line piles it up.",
                "opens": RETURN,
                "set": {},
            },
            {
                "look": "Is base pressure more than the needles hold shut?",
                "why": "Large seats hold less.",
                "opens": PRESSURE,
                "set": {"boost": 0.0},
            },
            {
                "look": "Floats: heavy, crushed, or touching? Needles: dirt or wear?",
                "why": "A float that boost has crushed sinks. No figure here tells it.",
                "opens": FIT,
                "set": {},
            },
            {
                "look": "Is the fuel boiling in the bowls after a stop?",
                "why": "It looks like flooding, and only when hot.",
                "opens": HOT,
                "set": {},
            },
        ],
    },
    {
        "id": "launch-fall",
        "seen": "Falls on its face at launch",
        "checks": [
            {
                "look": "Does the pump hold up the fuel in the line while the car leaves?",
                "why": "The column from tank to regulator pushes back with the launch.",
                "opens": SUPPLY,
                "set": {"launch.on": True},
            },
            {
                "look": "Is the pickup covered? Fuel in the tank runs to the back.",
                "why": "A pump that draws air loses all at once. No figure here tells it.",
                "opens": None,
                "set": {},
            },
            {
                "look": "Does fuel climb away from the jets or into a vent?",
                "why": "Rear jets want extensions, vents a riser, when the car leaves hard. No figure here tells it.",
                "opens": FIT,
                "set": {},
            },
            {
                "look": "Squirters and their cam: enough for the step?",
                "why": "The main circuit takes a moment to start. No figure here tells it.",
                "opens": None,
                "set": {},
            },
            {
                "look": "Does the gauge fall as it leaves?",
                "why": "Then the supply is short; if it stands, look at carburettor and spark.",
                "opens": PUMP,
                "set": {"demand_from": "flow"},
            },
        ],
    },
    {
        "id": "good-cold-bad-hot",
        "seen": "Good when cold, bad when hot",
        "checks": [
            {
                "look": "Does the fuel boil at the pump inlet?",
                "why": "Each pass brings warm fuel back to the tank.",
                "opens": HOT,
                "set": {},
            },
            {
                "look": "Does the supply still hold with a hot pump?",
                "why": "A hot pump gives less; set its allowance for heat.",
                "opens": SUPPLY,
                "set": {"throttle": 1.0},
            },
            {
                "look": "What voltage does the pump get when hot?",
                "why": "Hot wire and a hot alternator both give less.",
                "opens": WIRING,
                "set": {},
            },
            {
                "look": "How much nearer to knock is the hotter charge?",
                "why": "Heat soak in blower and cooler brings knock where there was none.",
                "opens": KNOCK,
                "set": {},
            },
        ],
    },
    {
        "id": "knock",
        "seen": "Rattle, or specks on the plugs",
        "checks": [
            {
                "look": "Stop making boost. Which cylinders? All, one side, or one?",
                "why": "All points to spark, fuel, or octane; some point to mixture and vents. No figure here tells it.",
                "opens": None,
                "set": {},
            },
            {
                "look": "Where was the spark, and was a vacuum advance on?",
                "why": "It is the quickest thing to check, with a light.",
                "opens": SPARK,
                "set": {},
            },
            {"look": "Did fuel pressure hold over boost?", "why": "Lean knocks.", "opens": SUPPLY, "set": {"throttle": 1.0}},
            {
                "look": "What did more boost or a hotter charge do?",
                "why": "This against that, in degrees and octane.",
                "opens": KNOCK,
                "set": {},
            },
        ],
    },
    {
        "id": "gauge-dropped",
        "seen": "The fuel gauge dropped in the pass",
        "checks": [
            {
                "look": "What must it read at that boost, and what is left of the pump?",
                "why": "A gauge that falls while boost stands is pump, voltage, filter or supply line; not jets, not vents.",
                "opens": SUPPLY,
                "set": {"throttle": 1.0},
            },
            {
                "look": "What voltage does the pump get, measured at the pump under load?",
                "why": "Flow falls with voltage, and voltage falls in the wire.",
                "opens": WIRING,
                "set": {},
            },
            {
                "look": "The filter, and the strainer in the tank: clean, and not on the pump's sucking side too fine?",
                "why": "A clogged one costs most where the flow is highest. No figure here tells it.",
                "opens": None,
                "set": {},
            },
            {
                "look": "Can the pump feed this power at that pressure?",
                "why": "It gives least at the highest boost.",
                "opens": PUMP,
                "set": {"demand_from": "flow"},
            },
            {
                "look": "Was the fuel hot, or the tank low?",
                "why": "Hot fuel boils at the pump's inlet, and a low tank lets it draw air.",
                "opens": HOT,
                "set": {},
            },
            {
                "look": "Does the regulator add a psi for each psi?",
                "why": "A torn diaphragm or a slipped signal line leaves base pressure alone.",
                "opens": PRESSURE,
                "set": {},
            },
        ],
    },
    {
        "id": "pop-top-then-fine",
        "seen": "It popped at the top, then ran fine",
        "checks": [
            {
                "look": "Did the fuel gauge fall at the top? Hold it against what it must read.",
                "why": "Fuel comes first: a lean pop breaks parts, a lost spark seldom does.",
                "opens": SUPPLY,
                "set": {"throttle": 1.0},
            },
            {
                "look": "Spark blown out: plug gap closed as boost asks, coil and wires strong enough?",
                "why": "Boost packs the gap and asks for more voltage. The unburnt charge pops in the exhaust, and the "
                "meter shows it lean.",
                "opens": FIT,
                "set": {},
            },
            {
                "look": "Do the seats pass it?",
                "why": "A bowl that runs low at the end of the pass fills again when you lift.",
                "opens": SEATS,
                "set": {},
            },
            {
                "look": "Does the rotor still point at the contact with boost retard?",
                "why": "A spark that jumps to the wrong contact pops, too.",
                "opens": SPARK,
                "set": {},
            },
        ],
    },
    {
        "id": "spark-blow-out",
        "seen": "It breaks up under boost: the spark blows out",
        "checks": [
            {
                "look": "Plug gap closed as boost asks, plugs a step colder, no cracked insulator?",
                "why": "Boost packs the gap and asks for more voltage.",
                "opens": FIT,
                "set": {},
            },
            {
                "look": "Coil, wires, cap and rotor: strong, dry, no track of a spark beside them?",
                "why": "A spark takes the easiest way. No figure here tells it.",
                "opens": None,
                "set": {},
            },
            {
                "look": "What voltage does the pump get, and the coil with it?",
                "why": "A low battery weakens both at once.",
                "opens": WIRING,
                "set": {},
            },
            {
                "look": "Does the rotor still point at the contact with boost retard?",
                "why": "Retard moves the spark away from the contact.",
                "opens": SPARK,
                "set": {},
            },
            {
                "look": "And the fuel gauge: did it stand?",
                "why": "A lean break-up feels the same.",
                "opens": SUPPLY,
                "set": {"throttle": 1.0},
            },
        ],
    },
]


def bad_passes():
    """What can be seen after a bad pass, and the checks in order.

    Inputs: none. Result: list of dicts `id`, `seen` and `checks`, a list of dicts `look`, `why`, `opens` and `set`. `opens` is None
    or a dict of `calculator` (a form's name), `figure` (its title) and `whole_build` (True where it takes the build as it
    stands); `set` are fields to set besides. Errors: none. Source: common practice, no source.

    >>> [bad["id"] for bad in bad_passes()][:2]
    ['pop-half-throttle', 'lean-top']
    """
    return BAD_PASSES


def after_bad_pass(inputs):
    """List the checks for what was seen, in order.

    Inputs: dict of `seen`, the id of one of `bad_passes()`. Results: `checks`, rows of `number`, `look`, `why`, `figure`
    and `calculator` (a
    form's title and name, None where no figure tells it), `opens`, `set` as `bad_passes` has them, `asks` (what a pass can
    answer of it: a key of `answered` in `pass_answers`, or None); `reasons`, the same rows
    again, for a table of their own; `number_of_checks`. Errors: ValueError for something
    that is not on the list. Source: common practice, no source.

    >>> after_bad_pass({"seen": "flood-idle"})["checks"][0]["calculator"]
    'return-floor'
    """
    chosen = None
    for bad in BAD_PASSES:
        if bad["id"] == inputs["seen"]:
            chosen = bad
    if chosen is None:
        raise ValueError("seen: Choose what was seen from the list.")
    rows = []
    for i in range(len(chosen["checks"])):
        check = chosen["checks"][i]
        opens = check["opens"]
        rows.append(
            {
                "number": i + 1,
                "look": check["look"],
                "why": check["why"],
                "figure": None if opens is None else opens["figure"],
                "calculator": None if opens is None else opens["calculator"],
                "opens": opens,
                "set": check["set"],
                "asks": _asks(check),
            }
        )
    return {
        "checks": rows,
        "reasons": rows,
        "number_of_checks": len(rows),
        "notes": [
            "Stop making boost until the cause is found. Take the checks in this order: likely, quick, and dangerous ones first.",
            "Let a hot engine and hot fuel cool before opening anything; no sparks, an extinguisher at hand.",
        ],
        "steps": [{"label": "Checks for what was seen", "value": len(rows), "kind": "count"}],
    }


GAUGE_SHARE = 0.02  # of the prediction: what a gauge cannot tell
GAUGE_LEAST = 3.5e3  # Pa, about half a psi
LEAN_BY = 0.03  # of lambda over the target
RATIO_LOW = 0.97
LOW_VOLTAGE = 12.5  # V under load; common practice, no source
# What a check that opens this figure asks, of what a pass at full load can answer.
ASKS = {
    "supply-check": "gauge",
    "pump-check": "pump",
    "pump-wiring": "voltage",
    "fuel-pressure": "regulator",
    "seat-flow": "seats",
    "vent-shortfall": "vents",
    "mixture-at-boost": "mixture",
}
# Words of a pass that say what was seen, dangerous first; of the gauge a number says more.
SAID = [
    ("knock", ["knock", "rattl", "pinging", "specks", "deton"]),
    ("flood-idle", ["flood"]),
    ("launch-fall", ["bogged", "fell on its face", "falls on its face", "off the line"]),
    ("pop-half-throttle", ["half throttle", "part throttle"]),
    ("good-cold-bad-hot", ["when hot", "once hot"]),
    ("spark-blow-out", ["broke up", "break up", "breaks up", "breaking up", "misfir"]),
    ("pop-top-then-fine", ["pop"]),
    ("lean-top", ["lean"]),
]
# What to do first of a symptom that the gauge at full load does not explain.
FIRST = {
    "knock": "make no more boost, and read the plugs: all cylinders, one side, or one?",
    "flood-idle": "read the gauge at idle and hold it against base pressure.",
    "launch-fall": "watch or record the gauge as the car leaves: did it fall?",
    "pop-half-throttle": "read the gauge at half throttle under boost, and look whether the enrichment opens.",
    "good-cold-bad-hot": "feel for heat at the pump and its inlet, and read the gauge hot against cold.",
}


def _asks(check):
    """A pass tells of full load only: not of idle, half throttle or the launch."""
    told = check["set"]
    if check["opens"] is None or told.get("boost") == 0.0 or told.get("throttle") == 0.5 or told.get("launch.on") is True:
        return None
    return ASKS.get(check["opens"]["calculator"])


def seen_in(words):
    """What was seen, by the words of a pass.

    Inputs: `words`, text in small letters. Result: id of one of `bad_passes()`, or None. Range: English words. Errors: none. Source: own.

    >>> seen_in("popped at half track"), seen_in("left lane")
    ('pop-top-then-fine', None)
    """
    for seen, marks in SAID:
        for mark in marks:
            if mark in words:
                return seen
    return None


def pass_answers(inputs):
    """Which of the checks after a bad pass the pass itself answers, and the one thing to do first.

    Inputs: dict of what the pass knows, each None where it does not: `reading` [Pa gauge], the fuel gauge; `predicted` and
    `least` [Pa gauge], what the supply check and the card say; `mixture` and `target` (lambda); of its recording `falls`
    (bool) with `fall_boost` [Pa gauge], `ratio` as the regulator did it, `battery` [V]; `words`, what was written of it, in small
    letters. Results: `answers`, list of
    sentences; `seen`, the id of the symptom among `bad_passes()` that fits best; `gap` [Pa], predicted less reading, None
    without both; `first`, a sentence; notes. Errors: none. Formula: gap = predicted - reading. Source: common practice, no
    source.

    >>> asked = {"reading": 120e3, "predicted": 150e3, "least": 130e3, "mixture": None, "target": 0.8}
    >>> asked.update({"falls": None, "fall_boost": None, "ratio": None, "battery": None, "words": None})
    >>> pass_answers(asked)["seen"], pass_answers(asked)["gap"]
    ('gauge-dropped', 30000.0)
    """
    reading, predicted, least = inputs["reading"], inputs["predicted"], inputs["least"]
    gap = None if reading is None or predicted is None else predicted - reading
    lean = None if inputs["mixture"] is None or inputs["target"] is None else inputs["mixture"] > inputs["target"] + LEAN_BY
    low = (gap is not None and gap > max(GAUGE_LEAST, GAUGE_SHARE * predicted)) or (
        reading is not None and least is not None and reading < least
    )
    if gap is None and not low:
        told = _without_gauge(lean)
    elif low:
        told = _gauge_low(inputs, gap)
    else:
        told = _gauge_stood(lean)
    written = None if inputs["words"] is None else seen_in(inputs["words"])
    if written is not None and not low:
        told["seen"] = written
        told["first"] = FIRST.get(written) or told["first"]
    told["gap"] = gap
    told["answered"] = _answered(inputs, gap, low, lean)
    told["notes"] = []
    told["notes"].extend(told["answers"])
    told["notes"].append("First: " + told["first"])
    return told


def _without_gauge(lean):
    answers = ["The pass has no fuel pressure beside a prediction, so it answers none of the checks of the supply."]
    if lean is True:
        answers.append("It was lean: {mixture} where {target} was asked for. What made it so it does not say.")
    first = "run again at less boost and read the fuel gauge at the peak; without it everything else is a guess."
    return {"answers": answers, "seen": "lean-top" if lean is True else "pop-top-then-fine", "first": first}


def _gauge_low(inputs, gap):
    if gap is not None and gap > 0.0:
        answers = ["The gauge stood {gap} under the prediction: pump, voltage, filter or supply line; not jets, not vents."]
    else:
        answers = ["The gauge stood under the card's least: the supply as it is cannot feed that boost; not jets, not vents."]
    if inputs["ratio"] is not None and inputs["ratio"] < RATIO_LOW:
        answers.append("The regulator added only {ratio} for each 1 of boost, so look at it before the pump.")
        return {"answers": answers, "seen": "gauge-dropped", "first": "check the regulator's boost line and diaphragm with a hand pump."}
    if inputs["falls"] is True:
        answers.append(
            "The recording shows where: from {fall_boost} of boost on it fell away from the regulator's line, so the "
            "regulator did its part."
        )
    if inputs["battery"] is not None and inputs["battery"] < LOW_VOLTAGE:
        answers.append("The battery was down to {battery} at that moment.")
        return {"answers": answers, "seen": "gauge-dropped", "first": "charge, then measure the voltage at the pump under load."}
    return {"answers": answers, "seen": "gauge-dropped", "first": "measure the voltage at the pump under load, then open the filter."}


def _gauge_stood(lean):
    answers = ["The gauge read as predicted: up to the gauge, pump, voltage, filter, supply line and regulator did their part."]
    if lean is None:
        answers.append("No lambda was jotted, so the pass does not say whether it was lean.")
        return {
            "answers": answers,
            "seen": "pop-top-then-fine",
            "first": "look at the plugs, and log lambda at less boost before anything is changed.",
        }
    if lean:
        answers.append(
            "Yet it was lean: {mixture} where {target} was asked for. That leaves seats, vents and jets; or a lost spark, which reads lean."
        )
        return {"answers": answers, "seen": "lean-top", "first": "look at the plugs: white is lean, sooty or wet is a lost spark."}
    answers.append("And lambda was {mixture}, no leaner than asked for: fuel was not what was missing.")
    return {"answers": answers, "seen": "spark-blow-out", "first": "close the plug gap as boost asks, and look at coil and wires."}


def _answered(inputs, gap, low, lean):
    """What the pass says to each thing that a check asks."""
    found = {}
    if low:
        found["gauge"] = "It did: under what it should read." if gap is None or gap <= 0.0 else "It did: {gap} under the prediction."
        found["seats"] = "Not this first: the gauge itself stood low, so the fuel did not come as far."
        found["vents"] = "Not this: a vent does not lower the gauge."
        found["mixture"] = "Not this first: jets do not lower the gauge."
    elif gap is not None:
        found["gauge"] = "It stood: it read as predicted."
        found["pump"] = "It did: the gauge stood at that boost."
        found["voltage"] = "Enough for that pass: the gauge stood."
        found["regulator"] = "It did: the gauge stood."
    if inputs["ratio"] is not None:
        found["regulator"] = "The recording says {ratio} for each 1 of boost."
    if inputs["battery"] is not None:
        found["voltage"] = "The battery was at {battery} when least pressure was left; at the pump it is less."
    if lean is not None and not low:
        found["mixture"] = "Lambda was {mixture} where {target} was asked for."
    return found
