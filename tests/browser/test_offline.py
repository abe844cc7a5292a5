"""The page with no server, and how a new version comes."""

import json
import re
import shutil
import urllib.request
from functools import partial

import pytest

from tests.browser.conftest import ROOT, ProcessServer, open_context, ready, ready_offline, until

pytestmark = pytest.mark.worker

SCRIPT = re.compile(r"/page-[0-9a-f]{12}\.js$")
FOUR = ["density-altitude", "fuel-pressure", "pump-check", "jet-change"]


def show(page, url, name):
    page.goto(f"{url}/#/figures/{name}")
    page.wait_for_selector(".answer-head:not([hidden])")


def test_four_answers_with_the_server_gone(page, server):
    ready_offline(page, server.url)
    server.stop()
    for name in FOUR:
        page.reload()
        page.wait_for_selector("html[data-started]")
        show(page, server.url, name)
        before = page.locator(".answer-head").inner_text() + page.locator(".answer-words").inner_text()
        page.locator(".inputs .row .step:visible").nth(1).click()
        until(
            page,
            "(before) => document.querySelector('.answer-head').innerText + document.querySelector('.answer-words').innerText !== before",
            arg=before,
        )
        assert re.search(r"\d", page.locator(".lead-number").inner_text())
    page.goto(f"{server.url}/#/link")
    page.get_by_text("Works offline.").wait_for()


def test_inputs_survive_a_reload_with_the_server_gone(page, server):
    ready_offline(page, server.url)
    show(page, server.url, "fuel-pressure")
    page.get_by_label("Boost", exact=True).fill("17.5")
    until(page, "document.querySelector('.lead-number').innerText === '23.5'")
    server.stop()
    page.reload()
    page.wait_for_selector(".answer-head:not([hidden])")
    assert page.get_by_label("Boost", exact=True).input_value() == "17.5"
    assert page.locator(".lead-number").inner_text() == "23.5"


@pytest.fixture
def changing_server(tmp_path):
    """A server whose page can get a new version: it runs on a copy of the project."""
    copy = tmp_path / "copy"
    for part in ("calc", "webapp", "static"):
        shutil.copytree(ROOT / part, copy / part)
    server = ProcessServer(tmp_path / "log.json", folder=copy).start()
    yield server
    server.stop()


def test_a_new_version_is_offered_and_not_swapped_in(page, changing_server):
    server = changing_server
    ready_offline(page, server.url)
    show(page, server.url, "fuel-pressure")
    page.get_by_label("Boost", exact=True).fill("12")
    script = server.folder / "static" / "places" / "figures.js"
    script.write_text(script.read_text().replace('"All figures"', '"Every figure"'))
    calc = server.folder / "calc" / "supply.py"
    calc.write_text(calc.read_text().replace('"required": base_pressure + boost', '"required": base_pressure + boost + 0.0 * boost'))
    server.stop()
    server.start()
    page.reload()
    page.wait_for_selector("html[data-started]")
    page.wait_for_selector("#new-version")
    assert page.get_by_text("All figures").is_visible(), "the old version stays, whole, until the user says so"
    old = page.evaluate("(async () => (await (await fetch('/forms.json')).json()).version)()")
    page.get_by_role("button", name="Use it now").click()
    page.wait_for_selector("text=Every figure")
    page.wait_for_selector(".answer-head:not([hidden])")
    assert page.get_by_label("Boost", exact=True).input_value() == "12", "what was typed is still there"
    assert page.evaluate("(async () => (await (await fetch('/forms.json')).json()).version)()") != old
    assert page.evaluate("(async () => (await caches.keys()).length)()") == 1, "the old version's files are gone"


def relabel(server):
    """The smallest change there is: one label of one form. Returns the version that is served then."""
    form = server.folder / "webapp" / "forms" / "supply.py"
    text = form.read_text()
    assert text.count('"Base fuel pressure"') >= 1
    form.write_text(text.replace('"Base fuel pressure"', '"Base pressure of the fuel"'))
    server.stop()
    server.start()
    with urllib.request.urlopen(f"{server.url}/api/forms") as told:
        return json.loads(told.read())["version"]


def shown_version(page):
    return page.evaluate("(async () => (await (await fetch('/forms.json')).json()).version)()")


def update(page):
    """Let the browser look for a new version, and wait until its worker is whole or thrown away."""
    page.evaluate("""async () => {
      const registration = await navigator.serviceWorker.ready;
      await registration.update().catch(() => {});
      const worker = registration.installing;
      if (worker) await new Promise((done) => worker.addEventListener("statechange", () => worker.state !== "installing" && done()));
    }""")


def test_a_changed_label_waits_like_any_new_version(page, changing_server):
    server = changing_server
    ready_offline(page, server.url)
    show(page, server.url, "fuel-pressure")
    before = shown_version(page)
    assert relabel(server) != before
    update(page)
    page.reload()
    page.wait_for_selector(".answer-head:not([hidden])")
    assert shown_version(page) == before
    assert page.get_by_label("Base fuel pressure", exact=True).is_visible(), "the old label, until the user takes the new version"
    page.get_by_role("button", name="Use it now").click()
    page.get_by_label("Base pressure of the fuel", exact=True).wait_for()


def test_a_broken_update_by_one_label_leaves_the_page_working_with_the_server_gone(page, changing_server):
    server = changing_server
    ready_offline(page, server.url)
    relabel(server)
    page.context.route(SCRIPT, partial(answer_with, {"status": 503, "body": "{}"}))
    update(page)
    page.context.unroute(SCRIPT)
    server.stop()
    page.reload()
    page.wait_for_selector("html[data-started]")
    show(page, server.url, "fuel-pressure")
    assert page.get_by_label("Base fuel pressure", exact=True).is_visible()


def test_an_older_version_put_back_that_breaks_off_leaves_the_page_working(page, changing_server):
    """The older worker's cache is the one in use: its second install began nothing, and deletes nothing."""
    server = changing_server
    ready_offline(page, server.url)
    form = server.folder / "webapp" / "forms" / "supply.py"
    text = form.read_text()
    relabel(server)
    update(page)
    page.wait_for_selector("#new-version")
    form.write_text(text)
    server.stop()
    server.start()
    page.context.route(SCRIPT, partial(answer_with, {"status": 503, "body": "{}"}))
    update(page)
    page.context.unroute(SCRIPT)
    server.stop()
    page.reload()
    page.wait_for_selector("html[data-started]")
    show(page, server.url, "fuel-pressure")
    assert page.get_by_label("Base fuel pressure", exact=True).is_visible()


def look(page, sentence):
    page.get_by_role("button", name="Look for a new version").click()
    page.get_by_role("status").get_by_text(sentence).wait_for()


def test_looking_for_a_new_version_tells_the_truth(page, changing_server):
    server = changing_server
    ready_offline(page, f"{server.url}/#/link")
    look(page, "Nothing newer was found.")
    server.stop()
    look(page, "Can't reach the machine, so nothing was checked.")
    relabel(server)
    page.context.route(SCRIPT, partial(answer_with, {"status": 503, "body": "{}"}))
    look(page, "it did not come whole")
    page.context.unroute(SCRIPT)
    look(page, "There is a new version: use it at the top of the page.")
    page.wait_for_selector("#new-version")


def test_the_new_version_can_be_taken_in_a_second_tab_too(page, context, changing_server):
    server = changing_server
    ready_offline(page, f"{server.url}/#/figures/fuel-pressure")
    other = ready_offline(context.new_page(), f"{server.url}/#/figures/fuel-pressure")
    relabel(server)
    update(page)
    for tab in (page, other):
        tab.wait_for_selector("#new-version")
    for tab in (page, other):
        tab.get_by_role("button", name="Use it now").click()
        tab.get_by_label("Base pressure of the fuel", exact=True).wait_for()


def answer_with(broken, route):
    route.fulfill(**broken)


def test_a_version_that_does_not_come_whole_is_thrown_away(page, changing_server):
    """The server changes, or the line breaks, while a worker fetches its files."""
    server = changing_server
    ready_offline(page, server.url)
    script = server.folder / "static" / "places" / "figures.js"
    script.write_text(script.read_text().replace('"All figures"', '"Every figure"'))
    server.stop()
    server.start()
    for broken in (
        {"status": 503, "body": "{}"},
        {"status": 200, "content_type": "text/javascript", "body": "export const m_half"},
        {"status": 200, "body": ""},
    ):
        page.context.route(SCRIPT, partial(answer_with, broken))
        page.evaluate("""async () => {
          const registration = await navigator.serviceWorker.ready;
          await registration.update().catch(() => {});
          const worker = registration.installing;
          if (worker) await new Promise((done) => worker.addEventListener("statechange", () => worker.state === "redundant" && done()));
        }""")
        page.context.unroute(SCRIPT)
    server.stop()
    page.reload()
    page.wait_for_selector("html[data-started]")
    page.goto(f"{server.url}/#/figures/pump-check")
    page.get_by_text("All figures").wait_for()
    assert page.evaluate("(async () => (await caches.keys()).length)()") == 1


def test_a_page_that_comes_half_old_is_loaded_again(chromium, shared_server):
    """A browser may let a new worker take over while a page is being loaded: WebKit's does."""
    context = open_context(chromium)
    page = context.new_page()
    old = []

    def answer(route):
        text = route.fetch().text()
        assert re.search(r'const edition = "[0-9a-f]{12}"', text)
        if not old:
            old.append(text)
            text = re.sub(r'const edition = "[0-9a-f]{12}"', 'const edition = "000000000000"', text)
        route.fulfill(body=text, content_type="text/javascript")

    page.route(SCRIPT, answer)
    ready(page, f"{shared_server.url}/#/figures")
    page.get_by_role("heading", name="Figures", exact=True).wait_for()
    assert old and page.evaluate("performance.getEntriesByType('navigation')[0].type") == "reload"
    assert context.wrong == []
    context.close()


def test_a_page_that_stays_half_old_says_so(chromium, shared_server):
    context = open_context(chromium)
    page = context.new_page()
    page.route("**/forms.json", lambda route: route.fulfill(json={**route.fetch().json(), "edition": "another"}))
    page.goto(shared_server.url)
    page.get_by_text("The page came half old and half new.").wait_for()
    context.close()


def test_a_page_that_a_newer_one_has_followed_is_loaded_again_for_a_part_that_is_gone(chromium, changing_server):
    """Without a worker the parts of a page are those of the machine, which may have another version by now."""
    server = changing_server
    context = open_context(chromium)
    page = context.new_page()
    page.route("**/page-figures-*.js", lambda route: route.abort())
    ready(page, server.url)
    script = server.folder / "static" / "places" / "figures.js"
    script.write_text(script.read_text().replace('"All figures"', '"Every figure"'))
    server.stop()
    server.start()
    page.unroute("**/page-figures-*.js")
    page.evaluate("window.isOld = true")
    page.get_by_role("link", name="Figures", exact=True).click()
    page.get_by_role("heading", name="Figures", exact=True).wait_for()
    assert page.evaluate("window.isOld") is None
    context.close()


def test_without_a_secure_context_the_page_says_so(context, shared_server):
    """127.0.0.1 counts as secure, so the flag is turned off for this page."""
    page = context.new_page()
    page.add_init_script("Object.defineProperty(window, 'isSecureContext', {value: false})")
    ready(page, shared_server.url)
    page.wait_for_selector("#not-secure")
    assert "cannot work offline" in page.locator("#not-secure").inner_text()


def test_the_page_asks_nobody_else(page, shared_server):
    asked = []
    page.context.on("request", lambda request: asked.append(request.url))
    ready_offline(page, shared_server.url)
    show(page, shared_server.url, "jet-change")
    assert asked and all(url.startswith(shared_server.url) for url in asked)


def test_what_the_phone_fetches_is_what_the_worker_keeps(page, shared_server):
    """Precached exactly what is needed: every file that the page asks for, and no file that it never does (icons aside)."""
    asked = set()
    page.context.on("request", lambda request: asked.add(request.url.removeprefix(shared_server.url).split("?")[0].split("#")[0]))
    ready_offline(page, shared_server.url)
    for place in ("figures", "passes", "build", "settings"):
        page.goto(f"{shared_server.url}/#/{place}")
        page.wait_for_selector(f"html[data-place={place}]")
    kept = set(
        page.evaluate("""async () => {
      const [name] = await caches.keys();
      return (await (await caches.open(name)).keys()).map((request) => new URL(request.url).pathname);
    }""")
    )
    assert asked - kept <= {"/sw.js", "/api/sync", "/api/pairing", "/api/phones"}, "these are the server's business"
    imported = {path for path in kept if path.endswith(".js")}
    loaded = set(page.evaluate("performance.getEntriesByType('resource').map((entry) => new URL(entry.name).pathname)"))
    assert imported <= loaded, "a script that no page needs"
