"""A logger's file as it is opened in a pass: read as pandas reads it, answered in words, kept with the pass."""

import io
import json
import time

import pandas
import pytest

from tests import invented_recordings as invented
from tests.browser.conftest import frames, open_context, ready
from tests.browser.test_passes import made_pass, open_passes, put, wait_words, words

EXAMPLE = """async () => {
  const m = await wholePage();
  const told = await (await fetch("/api/forms")).json();
  const form = told.forms.find((one) => one.name === "supply-check");
  return m.m_car_sections.fromText(form, { ...form.example_car, "regulator.gauge_at": "carburettor" }, new m.m_core_units.Units(told.kinds));
}"""
READ = """async ([bytes, picked, ambient]) => {
  const m = await wholePage();
  const told = await (await fetch("/api/forms")).json();
  const units = new m.m_core_units.Units(told.kinds);
  const blob = new Blob([Uint8Array.from(atob(bytes), (letter) => letter.charCodeAt(0))]);
  try {
    const head = await m.m_recording_text.readHead(blob);
    const shape = await m.m_recording_table.shapeOf(head.lines, (cell) => m.m_recording_columns.isUnit(units, cell));
    const guessed = m.m_recording_columns.guess(units, shape);
    const open = m.m_recording_columns.openQuestions(guessed);
    for (const [name, more] of Object.entries(picked)) guessed[name] = { ...guessed[name], ...more };
    const parts = [];
    const read = await m.m_recording_read.readColumns(blob, { head, shape, picked: guessed, ambient, units, signal: new AbortController().signal, onPart: (part) => parts.push(part) });
    return { encoding: head.encoding, names: shape.names, units: shape.units, guessed, open, parts, wrong: read.wrong, samples: read.samples, kept: read.kept,
      columns: Object.fromEntries(Object.entries(read.columns).map(([name, values]) => [name, Array.from(values)])) };
  } catch (error) {
    return { error: `${error.message}`, kind: error.constructor.name };
  }
}"""
SAID = {"boost": {"reading": "gauge"}, "fuel": {"reading": "gauge", "tapped": "carburettor"}}


@pytest.fixture(scope="module")
def reader(chromium, shared_server):
    """A page that reads files for many tests."""
    context = open_context(chromium)
    page = ready(context.new_page(), shared_server.url)
    yield page
    context.close()


def read(page, content, picked=SAID, ambient=None):
    import base64

    return page.evaluate(READ, [base64.b64encode(content).decode(), picked, ambient])


PASS = invented.recording(rate=20.0)
WAYS = {
    "comma": ({}, "utf-8"),
    "semicolon, decimal comma, units in the heading": ({"separator": ";", "comma": True, "units": "heading"}, "utf-8-sig"),
    "tab, Latin-1, a long preamble": (
        {"separator": "\t", "preamble": (invented.SAYS, "Track: invented (19 °C)", "", "Channels: 8")},
        "latin-1",
    ),
    "UTF-16": ({"separator": "\t", "units": "heading"}, "utf-16"),
    "UTF-16 without a mark": ({"units": "row"}, "utf-16-be"),
    "no preamble": ({"preamble": (), "units": "heading"}, "utf-8"),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_file_is_read_as_pandas_reads_it(reader, way):
    """pandas.read_csv with the format told to it, against the page, to which nothing is told."""
    options, encoding = WAYS[way]
    text = invented.as_text(PASS, **options)
    read_here = read(reader, text.encode(encoding))
    assert "error" not in read_here, read_here
    before = len(options.get("preamble", (invented.SAYS,)))
    skip = list(range(before)) + ([before + 1] if options.get("units", "row") == "row" else [])
    table = pandas.read_csv(
        io.StringIO(text),
        sep=options.get("separator", ","),
        decimal="," if options.get("comma") else ".",
        skiprows=skip,
        skip_blank_lines=False,
    )
    assert read_here["names"] == list(table.columns)
    assert read_here["samples"] == len(table) == read_here["kept"]
    assert read_here["wrong"] == []
    assert read_here["open"] == [["fuel", "tapped"]]
    for name, head, scale in [
        ("time", "Time", 1.0),
        ("boost", "Boost", invented.PSI),
        ("fuel", "Fuel", invented.PSI),
        ("speed", "Engine", invented.RPM),
        ("throttle", "TPS", 0.01),
    ]:
        column = next(one for one in table.columns if one.startswith(head))
        told = [value * scale for value in table[column]]
        assert read_here["columns"][name] == pytest.approx(told, rel=1e-6, abs=1e-3), name


@pytest.mark.parametrize("end", ["\r", "\r\n", "\r\r\n"])
def test_lines_end_as_they_may(reader, end):
    """More than one piece of the file, so that an end lies across two."""
    text = invented.as_text(PASS)
    rows = "".join(f"{20 + 0.01 * n:.2f},1,41,900,1,3,13,0\n" for n in range(6000))
    told = read(reader, (text + rows).replace("\n", end).encode())
    assert told.get("samples") == len(PASS["time"]) + 6000, told
    assert told["wrong"] == []
    assert told["columns"]["time"][-1] == pytest.approx(79.99)


def test_absolute_pressure_and_a_meters_ratio_come_out_as_boost_and_lambda(reader):
    text = invented.as_text(PASS, invented.METRIC, ";", comma=True, units="heading", places=6)
    said = {"boost": {}, "fuel": {"reading": "gauge", "tapped": "regulator"}, "mixture": {"ratio": 14.7}}
    told = read(reader, text.encode(), said, invented.AMBIENT)
    assert (told["guessed"]["boost"]["reading"], told["guessed"]["mixture"]["reading"]) == ("absolute", "display")
    assert ["fuel", "reading"] in told["open"] and ["mixture", "ratio"] in told["open"]
    for name in ("time", "boost", "fuel", "mixture", "road"):
        assert told["columns"][name] == pytest.approx(PASS[name], rel=1e-4, abs=0.5 if name in ("boost", "fuel") else 1e-4), name


def test_a_doubt_is_asked_and_not_guessed(reader):
    rows = "\n".join(f"{0.1 * n:.1f}\t{n}\t{40 + n}" for n in range(20))
    told = read(
        reader,
        f"t\tmanifold pressure (psi)\tfuel pressure\n{rows}\n".encode(),
        SAID | {"time": {"unit": "s"}, "fuel": {"unit": "psi", "reading": "gauge", "tapped": "regulator"}},
    )
    assert {tuple(one) for one in told["open"]} == {("time", "unit"), ("fuel", "unit"), ("fuel", "reading"), ("fuel", "tapped")}


def test_slow_channels_leave_cells_empty_and_keep_their_value(reader):
    rows = [f"{0.1 * n:.1f},{10 + n},{50 + n},{'' if n % 3 else 3000 + 100 * n}" for n in range(12)]
    told = read(reader, ("Time (s),Boost (psig),Fuel Pressure (psig),RPM (rpm)\n" + "\n".join(rows)).encode())
    assert told["columns"]["speed"] == pytest.approx([(3000 + 100 * (n - n % 3)) * invented.RPM for n in range(12)], rel=1e-6)


def test_what_says_that_nothing_was_read_is_an_empty_cell(reader):
    """As pandas.read_csv takes it, but for the dashes, which it must be told of; each keeps the value before it."""
    rows = [f"{0.1 * n:.1f},{10 + n},{50 + n},{['NaN', 'N/A', '---', 'null'][n % 4] if n % 5 else 3000 + 100 * n}" for n in range(40)]
    text = "Time (s),Boost (psig),Fuel Pressure (psig),RPM (rpm)\n" + "\n".join(rows) + "\n"
    told = read(reader, text.encode())
    table = pandas.read_csv(io.StringIO(text), na_values=["---"]).ffill()
    assert told["wrong"] == [] and told["samples"] == 40
    assert told["columns"]["speed"] == pytest.approx([value * invented.RPM for value in table["RPM (rpm)"]], rel=1e-6)


def test_a_last_line_that_is_cut_off_is_left_out(reader):
    text = invented.as_text(PASS)
    told = read(reader, text[: text.rindex("\n", 0, -1) + 10].encode())
    assert told["samples"] == len(PASS["time"]) - 1
    assert told["wrong"] == [f"Line {len(PASS['time']) + 3}, the last, is cut off: it was left out."]


def test_a_clock_is_time(reader):
    rows = [f"10:59:{58 + 0.5 * n:.1f}" if n < 4 else f"11:00:{0.5 * n - 2:04.1f}" for n in range(10)]
    body = "\n".join(f"{clock};{n};{40 + n}" for n, clock in enumerate(rows))
    told = read(reader, f"Time;Boost (psig);Fuel Pressure (psig)\n{body}\n".encode(), {**SAID, "time": {"clock": True, "unit": None}})
    assert told["columns"]["time"] == pytest.approx([0.5 * n for n in range(10)])


@pytest.mark.parametrize(
    "content, told",
    [
        (b"", "This file is empty."),
        (bytes(range(256)) * 40, "Line 1: this is no text."),
        (b"a letter to a friend\nwith two lines\n", "Line 1: no table of numbers begins in the first 2 lines."),
        (b"Time (s),Boost (psig),Fuel Pressure (psig)\n0.1,3,9\n", "Line 2: a recording takes 3 lines of numbers or more"),
        (
            b"Time (s),Boost (psig),Fuel Pressure (psig)\n" + b"0.1,1,2\n0.2,1,2\n0.3,1,2\n" + b"0.4,1,broken\n" * 50,
            "Line 5: \u201cbroken\u201d is no number for fuel pressure. 21 lines are like it",
        ),
    ],
)
def test_what_cannot_be_read_is_said_with_its_line(reader, content, told):
    found = read(reader, content)
    assert found["kind"] == "Unread" and found["error"].startswith(told), found


def test_single_lines_that_are_wrong_are_left_out_and_told(reader):
    rows = [f"{0.1 * n:.1f},{n},{40 + n}" for n in range(200)]
    rows[50] = "5.0,event,marker"
    rows[120] = "3.0,1,2"
    told = read(reader, ("Time (s),Boost (psig),Fuel Pressure (psig)\n" + "\n".join(rows)).encode())
    assert told["samples"] == 198
    assert told["wrong"] == [
        "One line was left out. Line 52: \u201cevent\u201d is no number for boost.",
        "One line was left out. Line 122: the time does not go on from the line before.",
    ]


def test_a_long_file_is_held_in_a_bounded_store_with_its_peak(reader):
    rows = "\n".join(f"{n},{n % 1000},{40 + n % 1000}" for n in range(450_000))
    spike = rows.replace("\n333333,333,373\n", "\n333333,5000,373\n", 1)
    told = read(
        reader,
        f"Time (ms),Boost (kPa gauge),Fuel Pressure (kPag)\n{spike}\n".encode(),
        {**SAID, "boost": {"unit": "kPa", "reading": "gauge"}},
    )
    assert told["samples"] == 450_000
    assert told["kept"] < 200_000
    assert max(told["columns"]["boost"]) == pytest.approx(5e6)
    assert told["parts"][-1] == 1 and len(told["parts"]) > 50


@pytest.fixture
def opened(page, shared_server):
    """A page with an invented car and a pass of it, at the screen that opens a recording."""
    ready(page, shared_server.url)
    build, run, other = put(
        page,
        [
            ("build", {"name": "Invented", "invented": True, **page.evaluate(EXAMPLE)}),
            made_pass(0, build="made00000"),
            made_pass(1, build="made00000"),
        ],
    )
    open_passes(page, shared_server, f"/{run}")
    page.get_by_role("link", name="Open a recording").click()
    page.wait_for_selector(".recording-screen")
    page.run, page.other, page.server = run, other, shared_server
    return page


def choose(page, text, name="invented.csv"):
    page.set_input_files("input[type=file]", {"name": name, "mimeType": "text/csv", "buffer": text.encode()})


def open_file(page, text=None):
    choose(page, text or invented.as_text(invented.recording(allowance=0.6)))
    page.wait_for_selector(".pick-columns")
    page.get_by_text("At the carburetor", exact=True).click()
    page.get_by_role("button", name="Read the file").click()
    page.wait_for_selector(".recording-done .next")


def kept(page, id):
    told = """async (id) => { const m = await wholePage(); const log = await m.m_log_log.openLog({ triggers: false }); await log.loaded;
      const { values } = log.get(id); log.close(); return values; }"""
    return page.evaluate(told, id)


def in_history(page, id, field):
    told = """async ([id, field]) => { const m = await wholePage(); const log = await m.m_log_log.openLog({ triggers: false }); await log.loaded;
      const values = (await log.history(id))[field]; log.close(); return values.length; }"""
    return page.evaluate(told, [id, field])


def test_a_recording_is_picked_once_read_told_filled_kept_and_taken_back(opened):
    page = opened
    choose(page, invented.as_text(invented.recording(allowance=0.6)))
    page.wait_for_selector(".pick-columns")
    assert page.get_by_role("button", name="Read the file").is_disabled()
    assert "Still to say: fuel pressure." in words(page.locator(".pick-columns"))
    page.get_by_text("At the carburetor", exact=True).click()
    page.get_by_role("button", name="Read the file").click()
    page.wait_for_selector(".recording-done .next")
    told = words(page.locator(".recording-screen"))
    assert "invented.csv: 1600 samples." in told
    assert "✕ Under the card" in told and "read under the car's gauge card for" in told
    assert "falls away from the regulator's line" in told
    before = kept(page, page.run)
    page.get_by_role("button", name="Fill the pass and keep the recording").click()
    wait_words(page, ".recording-done", "Filled and kept")
    values = kept(page, page.run)
    assert values["boost"]["text"] == "15.1" and values["fuel_pressure"]["unit"] == "psi"
    assert values["least_net"]["si"] < 15e3 and values["reading_given"] == "lambda"
    assert len(json.dumps(values["recording"], separators=(",", ":"))) <= 7600
    page.locator(".recording-done [role=status]").evaluate("(words) => { words.dataset.first = 'yes'; }")
    page.get_by_role("button", name="Fill the pass and keep the recording").click()
    page.locator(".recording-done [data-first]").wait_for(state="detached")
    assert in_history(page, page.run, "recording") == 1, "the same recording once more is not written again"
    page.get_by_role("button", name="Undo").click()
    wait_words(page, ".recording-done", "As it was before")
    after = kept(page, page.run)
    assert {name: value for name, value in after.items() if value is not None} == before


def test_a_kept_recording_is_shown_again_and_laid_over_another(opened):
    page = opened
    open_file(page)
    page.get_by_role("button", name="Fill the pass and keep the recording").click()
    wait_words(page, ".recording-done", "Filled and kept")
    # The other pass knows the heading: nothing is asked.
    open_passes(page, page.server, f"/{page.other}/recording")
    choose(page, invented.as_text(invented.recording(seed=9)), "second.csv")
    page.wait_for_selector(".recording-done .next")
    page.get_by_role("button", name="Fill the pass and keep the recording").click()
    wait_words(page, ".recording-done", "Filled and kept")
    open_passes(page, page.server, f"/{page.other}")
    page.wait_for_selector(".kept-recording svg")
    assert "second.csv:" in words(page.locator(".kept-recording"))
    page.get_by_label("Lay over it").select_option(page.run)
    wait_words(page, ".kept-recording .legend", "Run 1: fuel pressure")
    assert page.locator(".kept-recording path.other-0").count() >= 1
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def seconds_a_pixel(page):
    """The scale of the picture over time, by its first and last tick."""
    told = """() => { const ticks = [...document.querySelectorAll(".recording-box svg text[text-anchor=middle]:not(.axis-name)")];
      const [first, last] = [ticks[0], ticks.at(-1)].map((tick) => [Number(tick.textContent), Number(tick.getAttribute("x"))]);
      return (last[0] - first[0]) / (last[1] - first[1]); }"""
    return page.evaluate(told)


def wait_zoomed(page, expected, rel):
    """Wait until the picture is drawn with so many seconds a pixel."""
    end = time.monotonic() + 10
    while seconds_a_pixel(page) != pytest.approx(expected, rel=rel):
        assert time.monotonic() < end, (seconds_a_pixel(page), expected)
        frames(page, 1)


def test_the_picture_is_zoomed_by_button_and_by_two_fingers(opened):
    page = opened
    open_file(page)
    page.wait_for_selector(".recording-box svg")

    whole = seconds_a_pixel(page)
    page.get_by_role("button", name="Zoom in").click()
    wait_zoomed(page, 0.5 * whole, rel=0.05)
    page.get_by_role("button", name="Show all").click()
    wait_zoomed(page, whole, rel=0.01)
    page.evaluate("""() => {
      const box = document.querySelector(".recording-box");
      const { left } = box.getBoundingClientRect();
      const fire = (type, id, x) => box.dispatchEvent(new PointerEvent(type, { pointerId: id, clientX: left + x, bubbles: true }));
      fire("pointerdown", 1, 150); fire("pointerdown", 2, 200);
      fire("pointermove", 1, 75); fire("pointermove", 2, 275);
      fire("pointerup", 1, 75); fire("pointerup", 2, 275);
    }""")
    wait_zoomed(page, 0.25 * whole, rel=0.1)
    page.get_by_role("button", name="Work out this stretch only").click()
    wait_words(page, ".recording-screen", "The stretch picked below")


def test_reading_can_be_stopped(opened):
    page = opened
    text = invented.as_text(invented.recording())
    head, rows = text.split("mph\n")
    long = (
        head
        + "mph\n"
        + "".join(
            "\n".join(f"{100 * part + float(row.split(',', 1)[0]):.3f},{row.split(',', 1)[1]}" for row in rows.splitlines()) + "\n"
            for part in range(12)
        )
    )
    choose(page, long)
    page.wait_for_selector(".pick-columns")
    page.get_by_text("At the carburetor", exact=True).click()
    page.evaluate(
        "() => { const real = Blob.prototype.arrayBuffer; Blob.prototype.arrayBuffer = async function () { await new Promise((done) => setTimeout(done, 30)); return real.call(this); }; }"
    )
    page.get_by_role("button", name="Read the file").click()
    page.wait_for_function("() => document.querySelector('progress')?.value > 0")
    page.get_by_role("button", name="Stop").click()
    wait_words(page, ".recording-screen", "Stopped: nothing of the file was taken.")


def test_air_that_an_idling_engine_cannot_have_is_doubted(opened):
    choose(opened, invented.as_text(PASS, invented.METRIC, ";", comma=True))
    opened.get_by_label("The air's pressure that day").fill("24.4")
    wait_words(opened, ".pick-columns", "above this air. Unless it begins under boost, one of the two is wrong.")
    opened.get_by_label("The air's pressure that day").fill("29")
    wait_words(opened, ".pick-columns", "Still to say: fuel pressure")
    assert "above this air" not in words(opened.locator(".pick-columns"))


def test_what_is_no_table_is_told_on_the_screen(opened):
    choose(opened, "just words\n")
    wait_words(opened, ".recording-screen", "Line 1: no table of numbers begins")


def test_the_phone_finds_what_the_server_finds(reader):
    """The same calc on both sides, over a whole recording."""
    from calc import recording

    told = (
        """async ([columns, card]) => { const m = await wholePage(); return m.m_recording_finds.findAll(columns, { card, drops: [] }); }"""
    )
    columns = invented.recording(rate=50.0, allowance=0.6)
    card = [{"boost": 0.0, "least": 20e3, "expected": 41e3}, {"boost": 120e3, "least": 140e3, "expected": 160e3}]
    there = reader.evaluate(told, [columns, card])
    lag = recording.regulator_lag(columns)
    line = recording.regulator_line({**columns, "lag": lag["lag"]})
    here = {
        "net": recording.net_over_bowls({**columns, "card": card, "drops": []}),
        "lag": lag,
        "line": line,
        "fall": recording.giving_out({**columns, "line": line, "lag": lag["lag"]}),
    }
    for part, found in here.items():
        assert there[part]["notes"] == found.pop("notes")
        for name, value in found.items():
            if name == "under":
                assert len(there[part]["results"][name]) == len(value)
            else:
                assert there[part]["results"][name] == (pytest.approx(value, rel=1e-9, abs=1e-9) if isinstance(value, float) else value), (
                    part,
                    name,
                )


def test_a_gauge_under_the_card_is_loud_on_its_page_and_in_the_list(opened):
    page = opened
    low = made_pass(2, build="made00000", fuel_pressure={"si": 100e3, "text": "14.5", "unit": "psi"})
    told = """async ([id, values]) => { const m = await wholePage(); const log = await m.m_log_log.openLog({ triggers: false }); await log.loaded;
      await log.save(id, "pass", values); log.close(); }"""
    page.evaluate(told, ["lowpass", low[1]])
    open_passes(page, page.server, "/lowpass")
    wait_words(page, ".loud", "✕ Under the card")
    open_passes(page, page.server)
    page.wait_for_selector(".pass-row .marked:not([hidden])")
    assert page.locator(".pass-row .marked:not([hidden])").count() == 1


def test_a_recordings_moments_teach_the_car(opened):
    """A car whose demand is known by its air at any speed; by its power only those near the peak would count."""
    page = opened
    told = """async () => { const m = await wholePage(); const log = await m.m_log_log.openLog({ triggers: false }); await log.loaded;
      await log.save("made00000", "build", { "engine.demand_from": "air" }); log.close(); }"""
    page.evaluate(told)
    open_file(page, invented.as_text(invented.recording()))
    page.get_by_role("button", name="Fill the pass and keep the recording").click()
    wait_words(page, ".recording-done", "Filled and kept")
    page.evaluate("localStorage['overbowl.build.current'] = JSON.stringify('made00000')")
    open_passes(page, page.server, "/gauge")
    wait_words(page, ".lesson", "moments in all: a recording tells of several")


def test_a_bad_pass_tells_what_it_answers_and_notes_what_to_do_first(opened):
    page = opened
    open_file(page)
    page.get_by_role("button", name="Fill the pass and keep the recording").click()
    wait_words(page, ".recording-done", "Filled and kept")
    open_passes(page, page.server, f"/{page.run}")
    page.get_by_text("After a bad pass: what this pass answers").click()
    wait_words(page, ".bad-pass", "not jets, not vents")
    wait_words(page, ".bad-pass", "the regulator did its part")
    page.get_by_role("button", name="Note it in the log").click()
    wait_words(page, "#undo", "Noted in the log.")
    page.get_by_role("link", name="The checks in order").click()
    wait_words(page, ".guide", "measured at the pump under load")
    wait_words(page, ".of-pass", "peak boost 15.1 psi".capitalize())
    assert "as it was on Run 1, at its 15.1 psi of boost" in words(page.locator(".guide"))
    assert page.locator(".answered").count() >= 2 and "The pass answers: It did: " in words(page.locator(".answered").first)
    page.get_by_role("link", name="Pump check").click()
    wait_words(page, ".filled", "as it was on Run 1")
    page.get_by_role("link", name="Back to the checks").click()
    page.get_by_label("What was seen").select_option(label="Floods at idle")
    wait_words(page, ".first-to-do", "What does the gauge read at idle against base pressure?")
    page.get_by_label("What was seen").select_option(label="The fuel gauge dropped in the pass")
    page.locator(".first-to-do").get_by_role("button", name="Note it in the log").click()
    wait_words(page, "#undo", "Noted in the log.")
    open_passes(page, page.server)
    assert words(page.locator(".rows-of-passes").first).count("After run 1") == 2
