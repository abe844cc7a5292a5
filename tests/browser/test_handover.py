"""One car handed from phone to phone by a file, and by a code's address; the car in use stays the car in use."""

import json
import random
import re

import pytest
import segno
from segno.consts import MODE_BYTE, MODE_NUMERIC

from tests.browser.conftest import open_context, ready
from tests.browser.test_passes import put, words
from tests.browser.test_recording import EXAMPLE

HAND = "/#/build/hand"


@pytest.fixture
def two(chromium, shared_server):
    """Two phones, on a server that takes no sync."""
    contexts = [open_context(chromium) for _ in range(2)]
    pages = [context.new_page() for context in contexts]
    for page in pages:
        ready(page, shared_server.url)
    yield pages
    wrong = [context.wrong for context in contexts]
    for context in contexts:
        context.close()
    assert wrong == [[], []]


def show(page, server, where=HAND):
    page.goto("about:blank")
    page.goto(server.url + where)
    page.wait_for_selector(".hand-over")


def test_a_car_is_handed_over_by_a_file_and_replaces_nothing(two, shared_server, tmp_path):
    mine, theirs = two
    put(mine, [("build", {"name": "Invented A", "invented": True, **mine.evaluate(EXAMPLE)}), ("pass", {"words": "mine alone"})])
    show(mine, shared_server)
    with mine.expect_download() as saved:
        mine.get_by_role("button", name="Save as a file").click()
    file = tmp_path / saved.value.suggested_filename
    saved.value.save_as(file)
    assert file.name == "overbowl-car-Invented-A.json"
    assert [record["kind"] for record in json.loads(file.read_text())["records"]] == ["build"]
    ready(theirs, shared_server.url + "/#/build")
    theirs.get_by_role("button", name="Enter my own car").click()
    theirs.wait_for_function("() => localStorage['overbowl.build.current']")
    show(theirs, shared_server)
    theirs.set_input_files("input[type=file]", file)
    theirs.get_by_text("Added: Invented A.").wait_for()
    assert "Hand over My car" in words(theirs.locator(".hand-over")), "the car in use stays in use"
    theirs.set_input_files("input[type=file]", file)
    theirs.get_by_text("Nothing in the file is new").wait_for()
    theirs.get_by_role("button", name="Use Invented A now").click()
    theirs.get_by_text("Hand over Invented A").wait_for()
    (tmp_path / "half.json").write_text(file.read_text()[:60])
    theirs.set_input_files("input[type=file]", tmp_path / "half.json")
    theirs.get_by_text("may have been cut short").wait_for()


ADDRESS = "https://pit.example"  # as a phone reaches the machine; only there a code is shown
PACK = """async ([values, name]) => {
  const m = await wholePage();
  const told = await (await fetch("/api/forms")).json();
  const form = told.forms.find((one) => one.name === "supply-check");
  const units = new m.m_core_units.Units(told.kinds);
  const digits = await m.m_setup_packed.packed({ ...values, name }, form, units);
  return { digits, back: await m.m_setup_packed.unpacked(digits, form, units) };
}"""
DRAW = """async (cases) => {
  const { codeOf, outline } = (await wholePage()).m_setup_code;
  return cases.map(([letters, digits]) => { const rows = codeOf(letters, digits); return rows && outline(rows); });
}"""
KEPT = """async (name) => {
  const { openLog } = (await import("/page.js")).m_log_log;
  const log = await openLog({ triggers: false });
  await log.loaded;
  const { values } = log.list("build").find(({ values }) => values.name === name);
  log.close();
  return values;
}"""


def dark_dots(path):
    """What an outline covers: {(x, y)}."""
    return {(int(x) + n, int(y)) for x, y, length in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", path) for n in range(int(length))}


def by_segno(letters, digits):
    code = segno.make([(letters, MODE_BYTE), (digits, MODE_NUMERIC)], error="l", mask=0, micro=False, boost_error=False)
    return code.version, {(x, y) for y, row in enumerate(code.matrix) for x, dot in enumerate(row) if dot}


def test_a_code_is_the_one_that_segno_draws(two):
    """In every version, by counts of digits that never end on a whole word: there segno fills in one more, which the standard
    (ISO/IEC 18004, 7.4.10) does not ask for."""
    draw = random.Random(1)
    cases = [(f"{ADDRESS}/#/build/hand/", "".join(draw.choices("0123456789", k=count))) for count in range(2, 3440, 45)]
    versions = set()
    for (letters, digits), path in zip(cases, two[0].evaluate(DRAW, cases), strict=True):
        version, dark = by_segno(letters, digits)
        assert dark_dots(path) == dark, (version, len(digits))
        versions.add(version)
    assert versions == set(range(min(versions), 28)) and min(versions) <= 3
    assert two[0].evaluate(DRAW, [["x" * 40, "1" * 3500]]) == [None]


def test_a_packed_car_is_the_same_car_and_a_full_one_fits(two):
    page = two[0]
    car = page.evaluate(EXAMPLE)
    measured = {f"measured.{name}": {"value": value, "half": 0.1} for name, value in car.items()}
    odd = {
        "pump.pumps": 2,
        "measured.pump.pumps": {"value": 3},
        "fuel.fuel": None,
        "boost_control": "gearbox",
        "engine.speed": {"si": 700.0},
    }
    for more in ({}, measured, odd):
        told = page.evaluate(PACK, [{**car, **more}, "Ласточка 赤い車 عربة"])
        assert told["back"] == {**car, **more, "name": "Ласточка 赤い車 عربة"}
    version, _ = by_segno(f"{ADDRESS}/#/build/hand/", page.evaluate(PACK, [{**car, **measured}, "Full"])["digits"])
    assert version <= 20, "its dots are large on a phone's screen"


def test_a_code_needs_no_machine_and_its_address_adds_the_car(two, shared_server):
    mine, theirs = two
    show(mine, shared_server)
    mine.evaluate("localStorage.clear()")
    reach = {"yes": True}

    def through(route):
        answer = route.fetch(url=route.request.url.replace(ADDRESS, shared_server.url)) if reach["yes"] else None
        route.fulfill(response=answer) if answer else route.abort()

    mine.route(f"{ADDRESS}/**", through)
    ready(mine, ADDRESS)
    car = {"name": "Invented A", "invented": True, **mine.evaluate(EXAMPLE)}
    put(mine, [("build", car)])
    mine.goto("about:blank")
    mine.goto(ADDRESS + HAND)
    mine.get_by_role("button", name="Show a code").wait_for()
    digits = mine.evaluate(PACK, [mine.evaluate(KEPT, "Invented A") | {"name": "Invented A"}, "Invented A"])["digits"]
    [drawn] = mine.evaluate(DRAW, [[f"{ADDRESS}{HAND}/", digits]])
    reach["yes"] = False
    mine.get_by_role("button", name="Show a code").click()
    assert mine.locator(".code path").nth(1).get_attribute("d") == drawn
    show(theirs, shared_server)
    address = theirs.get_by_label("Or paste the address that a code holds")
    address.fill("https://pit.example/#/supply")
    theirs.get_by_role("button", name="Open the address").click()
    theirs.get_by_text("This is no address of a car's code").wait_for()
    address.fill(f"{ADDRESS}{HAND}/{digits}")
    theirs.get_by_role("button", name="Open the address").click()
    theirs.get_by_role("button", name="Add Invented A").click()
    theirs.get_by_text("Added: Invented A.").wait_for()
    theirs.get_by_text("Hand over Invented A").wait_for()
    kept = theirs.evaluate(KEPT, "Invented A")
    assert {name: value for name, value in kept.items() if name != "in_use"} == car
    theirs.get_by_role("button", name="Show a code").click()
    theirs.get_by_text("A code needs an address that the other phone reaches").wait_for()
    for wrong in (f"{digits[:-9]}", "12x"):
        show(theirs, shared_server, f"{HAND}/{wrong}")
        theirs.get_by_text("This code is not whole").wait_for()


SHEET = """window.shared = [];
navigator.share = async ({ files: [file], title }) => {
  window.shared.push({ name: file.name, type: file.type, title, text: await file.text() });
  if (window.refusal) throw new DOMException("no", window.refusal);
};
navigator.canShare = ({ files }) => files.every(({ name, type }) => /[.]txt$/.test(name) && type === "text/plain");"""


def test_the_share_sheet_gets_text_that_the_other_phone_takes_in(two, shared_server, tmp_path):
    """Browsers share text files, but none that end in .json (MDN, Navigator.share, shareable file types)."""
    mine, theirs = two
    put(mine, [("build", {"name": "Invented A", "invented": True, **mine.evaluate(EXAMPLE)})])
    mine.add_init_script(SHEET)
    show(mine, shared_server)
    mine.get_by_role("button", name="Share it").click()
    mine.get_by_text("Handed on.").wait_for()
    [shared] = mine.evaluate("window.shared")
    assert (shared["name"], shared["type"], shared["title"]) == ("overbowl-car-Invented-A.txt", "text/plain", "Invented A")
    for refusal, said in (("AbortError", ""), ("NotAllowedError", "This phone would not share it. Save it as a file instead.")):
        mine.evaluate("(name) => { window.refusal = name; }", refusal)
        mine.get_by_role("button", name="Share it").click()
        mine.wait_for_function(
            "(said) => window.shared.length && document.querySelector('.hand-over [role=status]').textContent === said", arg=said
        )
    file = tmp_path / shared["name"]
    file.write_text(shared["text"])
    show(theirs, shared_server)
    assert theirs.locator("input[type=file]").get_attribute("accept") == ".json,.txt,application/json,text/plain"
    theirs.set_input_files("input[type=file]", file)
    theirs.get_by_text("Added: Invented A.").wait_for()


@pytest.mark.parametrize(
    "script", ["delete Navigator.prototype.share", f"{SHEET} navigator.canShare = () => false;", f"{SHEET} navigator.canShare = undefined;"]
)
def test_where_nothing_is_shared_the_file_is_left(two, shared_server, script):
    mine = two[0]
    put(mine, [("build", {"name": "Invented A"})])
    mine.add_init_script(script)
    show(mine, shared_server)
    mine.get_by_role("button", name="Save as a file").wait_for()
    assert mine.get_by_role("button", name="Share it").count() == 0


def test_a_new_phone_takes_the_car_that_was_last_in_use(two, shared_server, tmp_path):
    """By name another one comes first."""
    mine, theirs = two
    put(mine, [("build", {"name": "A spare"}), ("build", {"name": "The race car"})])
    mine.goto("about:blank")
    mine.goto(f"{shared_server.url}/#/build")
    mine.get_by_text("The race car", exact=True).click()
    mine.wait_for_function("() => localStorage['overbowl.build.current']?.includes('made00001')")
    mine.goto(f"{shared_server.url}/#/link")
    with mine.expect_download() as saved:
        mine.get_by_role("button", name="Save a backup").click()
    saved.value.save_as(tmp_path / "backup.json")
    ready(theirs, f"{shared_server.url}/#/link")
    theirs.set_input_files("input[aria-label='A backup file']", tmp_path / "backup.json")
    theirs.get_by_text("Restored:").wait_for()
    theirs.goto("about:blank")
    theirs.goto(f"{shared_server.url}/#/build")
    assert theirs.get_by_label("Name of this car").input_value() == "The race car"
