"""Records of the wrong shape that already lie in the log: nothing goes blank, and each can be cleared at its field. And what
the page says when something else goes wrong."""

from pathlib import Path

import pytest

from tests.browser.conftest import open_context, ready, until

# By sync, a restored backup or by hand: each of them in every field of a car, a pass and a note.
ODD = [
    "text",
    "",
    " ",
    -1,
    0,
    1e300,
    True,
    False,
    [],
    [[]],
    [1],
    [[1, 2], [3]],
    [["a", "b"], ["c", "d"]],
    [[{"si": 1}, {"toString": 5}]],
    {},
    {"toString": 5},
    {"toString": 5, "valueOf": 5, "toJSON": 1},
    {"si": "6", "text": 6, "unit": {}},
    {"si": None, "text": {"toString": 5}},
    {"si": 5.0, "text": {"toString": 5}, "unit": 7},
]

PUT = """async (odd) => {
  const { openLog } = (await wholePage()).m_log_log;
  const { backupText } = (await wholePage()).m_log_backup;
  const { sectionsOf } = (await wholePage()).m_car_sections;
  const told = await (await fetch("/api/forms")).json();
  const check = told.forms.find(({ name }) => name === "supply-check");
  const air = told.forms.find(({ name }) => name === "density-altitude");
  const names = {
    build: [...sectionsOf(check).flatMap((section) => section.fields.map((field) => `${section.name}.${field.name}`)),
      "name", "invented", "reason", "fit.floats", "kept.spark_plan", "kept.spark_plan_result"],
    pass: [...told.records.pass.fields.map(({ name }) => name), ...air.fields.map(({ name }) => `air.${name}`), "air.at", "build", "build_at"],
    note: [...told.records.note.fields.map(({ name }) => name), "air.at"],
  };
  const at = "2026-11-01T00:00:00.000Z-0000";
  const made = odd.flatMap((value, n) => ["build", "pass", "note"].map((kind) => ({ id: `${kind}${n}`, kind,
    fields: Object.fromEntries(names[kind].map((name) => [name, [[value, at, "maker"]]])) })));
  const log = await openLog({ triggers: false });
  await log.importText(backupText(made));
  await log.close();
  return sectionsOf(check).map(({ name }) => name);
}"""

# One after another on one page, as a thumb does; tells which of them said nothing or went wrong.
VISIT = """async ([build, places]) => {
  localStorage["overbowl.build.current"] = JSON.stringify(build);
  const LEAST = 30; // letters: the headings alone are fewer
  const wrong = [];
  const rest = () => new Promise((done) => setTimeout(done, 40));
  for (const place of places) {
    location.hash = "#/link";
    await rest();
    location.hash = `#/${place}`;
    await rest(); // the place before stands until then
    const box = document.getElementById("place");
    for (let tries = 0; tries < 50 && box.innerText.trim().length < LEAST; tries += 1) await rest();
    await rest();
    if (box.innerText.trim().length < LEAST) wrong.push(`${build} ${place} is blank`);
    if (!document.getElementById("trouble").hidden) wrong.push(`${build} ${place} went wrong`);
  }
  return wrong;
}"""


@pytest.fixture(scope="module")
def odd(chromium, shared_server):
    """A phone whose log holds all of them; the log of the server stays as it is."""
    context = open_context(chromium)
    page = context.new_page()
    page.goto(f"{shared_server.url}/healthz")
    page.sections = page.evaluate(PUT, ODD)
    ready(page, f"{shared_server.url}/#/link")
    yield page
    context.close()


@pytest.mark.parametrize("number", range(len(ODD)), ids=lambda number: repr(ODD[number]))
def test_no_screen_goes_blank(odd, number):
    some = [odd.sections[(number + step) % len(odd.sections)] for step in (0, 5, 10)]
    passes = [f"passes/pass{number}", f"passes/pass{number}/jot", f"passes/note{number}/jot"]
    places = ["supply", "build", *(f"build/{name}" for name in some), "build/changes", *passes]
    if number % 5 == 0:
        places += [
            "build/compare",
            "figures/after-bad-pass",
            "figures/pump-check",
            "passes",
            "passes/gauge",
            "passes/charts",
            "passes/deleted",
        ]
    odd.context.wrong.clear()
    assert odd.evaluate(VISIT, [f"build{number}", places]) == []
    assert odd.context.wrong == []


def test_a_curve_that_is_text_is_said_on_supply_and_cleared_in_build(odd, shared_server):
    odd.evaluate("localStorage['overbowl.build.current'] = JSON.stringify('build0')")
    odd.goto(f"{shared_server.url}/#/supply")
    odd.reload()
    odd.wait_for_selector(".wrong-list:not([hidden])")
    line = odd.locator(".wrong-list li", has_text="Pump curve")
    assert "cannot be read" in line.inner_text()
    assert not odd.locator(".answer-head .state").is_visible()
    line.get_by_role("link").click()
    field = odd.locator("[data-field=curve]")
    field.get_by_role("button", name="Clear it").click()
    field.get_by_role("button", name="Clear it").wait_for(state="hidden")
    odd.goto(f"{shared_server.url}/#/supply")
    odd.wait_for_selector(".wrong-list:not([hidden])")
    assert odd.locator(".wrong-list li", has_text="Pump curve").count() == 0


def test_a_pass_says_what_cannot_be_read_and_it_is_cleared(odd, shared_server):
    number = ODD.index({"toString": 5})
    odd.goto(f"{shared_server.url}/#/passes/pass{number}")
    odd.wait_for_selector("[data-shown]")
    assert "cannot be read" in odd.locator(".one-pass").inner_text()
    odd.goto(f"{shared_server.url}/#/passes/pass{number}/jot")
    field = odd.locator("[data-field=boost]")
    field.get_by_role("button", name="Clear it").click()
    field.get_by_role("button", name="Clear it").wait_for(state="hidden")
    assert "cannot be read" not in field.inner_text()


def test_an_uncaught_error_is_a_plain_sentence_with_two_ways_on(chromium, server):
    context = open_context(chromium, accept_downloads=True)
    page = ready(context.new_page(), f"{server.url}/#/build")
    page.get_by_role("button", name="Load the invented example car").click()
    page.wait_for_selector(".sections")
    page.evaluate("""() => {
      Object.defineProperty(window, "IntersectionObserver", { get() { throw new TypeError("Cannot read properties of undefined (reading 'open')"); } });
      location.hash = "#/supply";
    }""")
    page.wait_for_selector("#trouble:not([hidden])")
    text = page.locator("body").inner_text()
    assert "Something on this screen went wrong." in text and "Cannot read" not in text
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save a backup").click()
    assert "Example car" in Path(saved.value.path()).read_text()
    page.get_by_role("link", name="Back to Supply").click()
    page.wait_for_selector(".key-numbers dd")
    assert page.locator("#trouble").is_hidden()
    context.close()


def test_storage_that_never_answers_is_said(context, shared_server):
    page = context.new_page()
    page.clock.install()
    page.add_init_script("Object.defineProperty(IDBFactory.prototype, 'open', { value: () => ({}) })")
    ready(page, f"{shared_server.url}/#/supply")
    for place in ("passes", "build", "figures/fuel-pressure", "supply"):
        page.goto(f"{shared_server.url}/#/{place}")
        page.get_by_text("Opening the log…").wait_for()
    page.clock.run_for(11_000)
    for place in ("supply", "build", "passes"):
        page.goto(f"{shared_server.url}/#/{place}")
        page.get_by_text("storage does not answer").wait_for()


def test_without_channels_between_pages_the_log_works(context, server):
    page = context.new_page()
    page.add_init_script("delete window.BroadcastChannel")
    ready(page, f"{server.url}/#/supply")
    page.get_by_role("button", name="Load the invented example car").click()
    page.wait_for_selector(".key-numbers dd")
    until(page, "!('BroadcastChannel' in window)")


def test_no_log_is_told_in_plain_words(context, shared_server):
    page = context.new_page()
    page.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined })")
    for place in ("supply", "build", "passes"):
        ready(page, f"{shared_server.url}/#/{place}")
        page.get_by_text("This browser has no storage for a log.").wait_for()
        assert "undefined" not in page.locator("body").inner_text()
