"""One car handed from phone to phone by a file, and by a code's address; the car in use stays the car in use."""

import json

import pytest

from tests.browser.conftest import open_context, ready
from tests.browser.test_passes import NO_SYNC, put, words
from tests.browser.test_recording import EXAMPLE

HAND = "/#/build/hand"


@pytest.fixture
def two(chromium, shared_server):
    """Two phones that do not sync."""
    contexts = [open_context(chromium) for _ in range(2)]
    pages = [context.new_page() for context in contexts]
    for page in pages:
        page.add_init_script(NO_SYNC)
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


def test_a_code_needs_an_address_and_its_address_adds_a_car(two, shared_server):
    mine, theirs = two
    put(mine, [("build", {"name": "Invented A", "pump.pumps": {"si": 2, "text": "2", "unit": ""}, "pump.curve": "steep"})])
    show(mine, shared_server)
    mine.get_by_role("button", name="Show a code").click()
    mine.get_by_text("A code needs an address that the other phone reaches").wait_for()
    code = mine.evaluate("""async () => {
      const text = JSON.stringify({ name: "Invented A", "pump.pumps": { si: 2, text: "2", unit: "" }, "pump.curve": "steep" });
      const bytes = new Uint8Array(await new Response(new Blob([text]).stream().pipeThrough(new CompressionStream("deflate-raw"))).arrayBuffer());
      return btoa(String.fromCharCode(...bytes)).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
    }""")
    show(theirs, shared_server, f"{HAND}/{code}")
    theirs.get_by_text("Invented A: 2 values.").wait_for()
    theirs.get_by_role("button", name="Add Invented A").click()
    theirs.get_by_text("Added: Invented A.").wait_for()
    theirs.get_by_text("Hand over Invented A").wait_for()
    show(theirs, shared_server, f"{HAND}/{code}x")
    theirs.get_by_text("This code is not whole").wait_for()


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
