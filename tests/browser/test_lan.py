"""The local network in a real browser: trusted, installed, paired, offline and back; and all the ways that must fail.

Where this runs as root with the tools of iproute2, server and browser are in different network namespaces, joined by a
pair of virtual cards, so that the phone really reaches the server over a network. Elsewhere a second loopback address
stands for the network.
"""

import contextlib
import http.client
import http.server
import ipaddress
import json
import os
import re
import shutil
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tests.browser import test_access
from tests.browser.conftest import ARGUMENTS, ROOT, find_chromium, open_context, ready, ready_offline
from tests.ports import free_ports
from webapp.access import authority_page, tls

PATIENCE = 20
PORT = 8087


class Namespace:
    """A network namespace of this test's own, and the commands to work inside it."""

    def __init__(self):
        self.name = f"pit{os.getpid()}"
        # Four addresses of its own for each process that tests.
        first = f"10.213.{os.getpid() % 256}.{os.getpid() // 256 % 64 * 4}"
        self.outer, self.address = (str(ipaddress.ip_address(first) + more) for more in (1, 2))
        self.inside = ["ip", "netns", "exec", self.name]

    def open(self):
        self._ip("netns", "add", self.name)
        self._ip("link", "add", f"o{self.name}", "type", "veth", "peer", "name", "card", "netns", self.name)
        # An address that the card gives itself a second later would look like another network: the browser drops what it is fetching.
        self._ip("link", "set", f"o{self.name}", "addrgenmode", "none")
        self._ip("address", "add", f"{self.outer}/30", "dev", f"o{self.name}")
        self._ip("link", "set", f"o{self.name}", "up")
        for words in (["address", "add", f"{self.address}/30", "dev", "card"], ["link", "set", "card", "up"], ["link", "set", "lo", "up"]):
            self._ip("-n", self.name, *words)

    def close(self):
        subprocess.run(["ip", "netns", "delete", self.name], capture_output=True, timeout=PATIENCE)

    def _ip(self, *words):
        subprocess.run(["ip", *words], check=True, capture_output=True, timeout=PATIENCE)


class Loopback:
    """The stand-in where no namespace can be made."""

    address = "127.0.0.2"
    inside = []

    def close(self):
        pass


@pytest.fixture(scope="module")
def where():
    made = Namespace()
    try:
        made.open()
    except (OSError, subprocess.SubprocessError):
        made.close()
        made = Loopback()
    yield made
    made.close()


class LanServer:
    """`overbowl` with its door for phones as a process, to be stopped and started again with the same keys and log."""

    def __init__(self, folder, where, door=None):
        self.folder = folder
        self.where = where
        self.door = door or ["--lan", where.address]
        self.port = PORT if where.inside else free_ports(3, ("127.0.0.1", where.address))
        self.own_port = self.port + (self.door[0] == "--behind-proxy")
        self.url = f"https://{where.address}:{self.port + 1}"
        self.setup_url = f"http://{where.address}:{self.port + 2}"
        self.process = None

    def start(self):
        command = [*self.where.inside, sys.executable, "-m", "webapp", "--port", str(self.port)]
        command += self.door
        command += ["--keys", str(self.folder / "keys"), "--log", str(self.folder / "log.json")]
        self.process = subprocess.Popen(
            command,
            cwd=ROOT,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        )
        said = []
        for line in self.process.stdout:
            said.append(line)
            if line.startswith("Stop it"):
                return self
        raise RuntimeError("".join(said))

    def stop(self):
        if self.process:
            self.process.terminate()
            self.process.wait(PATIENCE)
            self.process.stdout.close()
            self.process = None

    def new_code(self):
        return json.loads(self.here("POST", "/api/phones/code"))["code"]

    def here(self, method, path):
        """Ask as the machine itself: from inside, over loopback. Returns the body."""
        code = (
            "import sys, urllib.request as u\n"
            "method, address = sys.argv[1:]\n"
            "data = b'{}' if method == 'POST' else None\n"
            "kind = {'Content-Type': 'application/json'}\n"
            "told = u.Request(address, data, kind, method=method)\n"
            "sys.stdout.write(u.urlopen(told, timeout=10).read().decode())"
        )
        address = f"http://127.0.0.1:{self.own_port}{path}"
        command = [*self.where.inside, sys.executable, "-c", code, method, address]
        return subprocess.run(command, check=True, capture_output=True, text=True, timeout=PATIENCE).stdout

    def authority(self):
        """The certificate, as a phone gets it from the plain port."""
        connection = http.client.HTTPConnection(self.where.address, self.port + 2, timeout=PATIENCE)
        connection.request("GET", authority_page.CERTIFICATE_PATH)
        told = connection.getresponse().read()
        connection.close()
        return told


@pytest.fixture(scope="module")
def server(tmp_path_factory, where):
    server = LanServer(tmp_path_factory.mktemp("lan"), where).start()
    yield server
    server.stop()


@pytest.fixture(scope="module")
def home(tmp_path_factory, server):
    """The home of a person who trusts the server's authority."""
    if shutil.which("certutil") is None:
        message = "no certutil found: the tests of a trusted page did NOT run (Debian: libnss3-tools)"
        if os.environ.get("OVERBOWL_BROWSER") == "required":
            pytest.fail(message)
        pytest.skip(message)
    home = tmp_path_factory.mktemp("home")
    database, authority = home / ".pki" / "nssdb", home / "authority.crt"
    database.mkdir(parents=True)
    authority.write_bytes(server.authority())
    for words in (["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "pit", "-i", str(authority)]):
        subprocess.run(["certutil", "-d", f"sql:{database}", *words], check=True, capture_output=True, timeout=PATIENCE)
    return home


@pytest.fixture(scope="module")
def trusting(chromium, home):
    """A browser whose person trusts the authority."""
    environment = {**os.environ, "HOME": str(home)}
    browser = chromium.browser_type.launch(executable_path=find_chromium(), args=ARGUMENTS, env=environment)
    yield browser
    browser.close()


@pytest.fixture
def phone(trusting):
    """A page in a fresh profile of the trusting browser. Whatever it asks for is noted in `phone.asked`."""
    context = open_context(trusting, worker=True)
    page = context.new_page()
    page.asked = []
    context.on("request", lambda request: page.asked.append(request.url))
    yield page
    wrong = context.wrong
    context.close()
    assert wrong == []


# Jot a pass down with the page's own log, and say how its sync ended.
JOT = """async (place) => {
  const { openLog } = (await import(document.querySelector("link[rel=modulepreload]").href)).m_log_log; // kept: no server is asked
  const log = await openLog({ triggers: false });
  await log.create("pass", { place });
  await log.sync();
  return log.status().state;
}"""


def can_be_read_and_touched(page):
    """Contrast, size of text and of what is touched, and no scrolling sideways on the narrowest phone."""
    page.set_viewport_size({"width": 320, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    assert page.evaluate(test_access.CONTRASTS) == []
    # The file's own control is out of sight; its button is touched instead.
    assert [told for told in page.evaluate(test_access.SMALL_TARGETS) if told[1] != "A backup file"] == []


def pair(page, server, code, name="Blue phone"):
    page.goto(f"{server.url}/#/link")
    page.get_by_label("Code").fill(code)
    page.get_by_label("Name of this phone").fill(name)
    page.get_by_role("button", name="Pair this phone").click()
    page.get_by_text(f"as “{name}”").wait_for()


def test_installed_offline_and_back(phone, server):
    ready_offline(phone, server.url)
    assert phone.evaluate("isSecureContext")
    phone.locator("#not-paired").wait_for()
    pair(phone, server, server.new_code())
    assert phone.locator("#not-paired").count() == 0
    assert phone.evaluate("document.cookie") == "", "no script can read the token"
    phone.evaluate(JOT, "first pass")
    assert "first pass" in server.here("GET", "/api/export.json")

    server.stop()
    phone.reload()
    phone.wait_for_selector("html[data-offline=offline-ready]")
    phone.get_by_text("Can't reach the machine").wait_for()
    assert phone.evaluate(JOT, "second pass") == "failed"
    phone.goto(f"{server.url}/#/figures/fuel-pressure")
    phone.wait_for_selector(".answer-head:not([hidden])")

    server.start()
    phone.goto(f"{server.url}/#/link")
    phone.get_by_text("as “Blue phone”").wait_for()
    assert phone.evaluate(JOT, "third pass") == "resting"
    for place in ("first pass", "second pass", "third pass"):
        assert place in server.here("GET", "/api/export.json")
    assert json.loads(server.here("GET", "/api/phones"))["phones"][0]["last_sync"]
    origins = {re.match(r"\w+://[^/]*", url)[0] for url in phone.asked}
    assert origins == {server.url}, "nothing was asked of anybody else"


def test_a_wrong_code_is_told_and_nothing_is_lost(phone, server):
    ready(phone, f"{server.url}/#/link")
    phone.get_by_label("Name of this phone").fill("Blue phone")
    can_be_read_and_touched(phone)
    code = server.new_code()
    wrong = f"{(int(code) + 1) % 10**8:08d}"
    press = phone.get_by_role("button", name="Pair this phone")
    # The machine lets a second pass after a wrong code, two after the next: the last is sent right after one.
    at_once = """async (press, wrong) => {
      const body = JSON.stringify({ code: wrong, name: "x" });
      const ask = () => fetch("/api/pairing", { method: "POST", headers: { "Content-Type": "application/json" }, body });
      while ((await ask()).status === 429) await new Promise((done) => setTimeout(done, 50));
      press.click();
    }"""
    tries = {"1234": "The code has 8 digits.", wrong: "is not right", code: "Too soon after a wrong code"}
    for typed, sentence in tries.items():
        phone.get_by_label("Code").fill(typed)
        if typed == code:
            press.evaluate(at_once, wrong)
        else:
            press.click()
        phone.get_by_role("alert").get_by_text(sentence).wait_for()
        assert phone.get_by_label("Code").input_value() == typed
    phone.wait_for_timeout(2100)  # by the machine's own clock
    pair(phone, server, code)


def test_a_removed_phone_is_out(phone, server):
    ready(phone, server.url)
    pair(phone, server, server.new_code(), "Lost phone")
    phones = json.loads(server.here("GET", "/api/phones"))["phones"]
    id = next(told["id"] for told in phones if told["name"] == "Lost phone")
    ask = """() => fetch("/api/calc/nothing", {
      method: "POST", headers: {"Content-Type": "application/json"}, body: "{}" }).then((answer) => answer.status)"""
    assert phone.evaluate(ask) == 404
    server.here("DELETE", f"/api/phones/{id}")
    assert phone.evaluate(ask) == 401
    phone.goto(f"{server.url}/#/supply")
    phone.reload()
    phone.locator("#not-paired").wait_for()


def test_without_trust_the_page_says_what_is_missing(chromium, server):
    """The browser warns; who goes on all the same is told on the page."""
    context = open_context(chromium, worker=True)
    with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        context.new_page().goto(server.url)
    context.close()
    context = open_context(chromium, worker=True, ignore_https_errors=True)
    page = ready(context.new_page(), server.url)
    page.wait_for_selector("html[data-offline=untrusted]")
    page.get_by_text("Not trusted yet, so not offline").wait_for()
    page.get_by_role("link", name="the steps").click()
    page.get_by_role("heading", name="Let this phone trust your Overbowl machine").wait_for()
    with page.expect_download() as download:
        page.get_by_role("link", name="Download the certificate").click()
    assert Path(download.value.path()).read_bytes() == server.authority()
    can_be_read_and_touched(page)
    context.close()


@contextlib.contextmanager
def other_site(host):
    """Another site on this machine: the same address, another port."""
    site = http.server.ThreadingHTTPServer((host, 0), _Empty)
    thread = threading.Thread(target=site.serve_forever, daemon=True)
    thread.start()
    yield f"http://{host}:{site.server_port}/"
    site.shutdown()
    site.server_close()
    thread.join()


class _Empty(http.server.BaseHTTPRequestHandler):
    def do_GET(self):
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()

    def log_message(self, *_):
        pass


# What a page may try against another origin: with and without asking first, as a form, as an image, as a script.
ATTACK = """async (own) => {
  const headers = {"Content-Type": "application/json"};
  const ask = (path, options) => fetch(own + path, options).then((answer) => answer.text());
  const tries = {
    read: () => ask("/api/phones"),
    readWithCookies: () => ask("/api/phones", {credentials: "include"}),
    readOpaque: () => ask("/api/phones", {mode: "no-cors", credentials: "include"}),
    write: () => ask("/api/phones/code", {method: "POST", headers, body: "{}"}),
    writeSimple: () => ask("/api/phones/code", {method: "POST", mode: "no-cors", body: "{}"}),
    writeWithCookies: () => ask("/api/calc/nothing", {method: "POST", headers, body: "{}", credentials: "include"}),
    remove: () => ask("/api/phones/" + "0".repeat(16), {method: "DELETE"}),
    image: () => new Promise((yes, no) => {
      const image = new Image();
      image.onload = () => yes("loaded");
      image.onerror = no;
      image.src = own + "/api/network/page/0.svg";
    }),
    frame: () => new Promise((yes, no) => {
      const frame = document.createElement("iframe");
      frame.src = own + "/";
      frame.onload = () => {
        try {
          yes(frame.contentDocument.body.textContent);
        } catch (error) {
          no(error);
        }
      };
      document.body.append(frame);
    }),
  };
  const got = {};
  for (const [name, attempt] of Object.entries(tries)) {
    got[name] = await attempt().then((text) => text || "nothing", () => "refused");
  }
  return got;
}"""


def attack(context, target):
    """Let another site on this machine try everything against `target`. It may have got nothing."""
    with other_site("127.0.0.1") as site:
        page = context.new_page()
        page.goto(site)
        got = page.evaluate(ATTACK, target)
        page.close()
    assert set(got.values()) <= {"refused", "nothing"}, got
    assert {"read", "readWithCookies", "write", "remove", "image"} <= {name for name in got if got[name] == "refused"}


def test_another_sites_page_cannot_use_a_paired_phone(phone, server):
    ready(phone, server.url)
    pair(phone, server, server.new_code())
    attack(phone.context, server.url)


@pytest.fixture
def machine(chromium):
    """The browser on the machine itself."""
    context = open_context(chromium, worker=True)
    yield context
    wrong = context.wrong
    context.close()
    assert wrong == []


@pytest.fixture(scope="module")
def near_server(server, tmp_path_factory):
    """A server with the same authority, whose own door this process reaches."""
    folder = tmp_path_factory.mktemp("near")
    (folder / "keys").mkdir()
    shutil.copy(server.folder / "keys" / "authority.pem", folder / "keys")
    near = LanServer(folder, Loopback()).start()
    yield near
    near.stop()


def test_another_sites_page_cannot_use_the_machines_own_door(machine, phone, near_server):
    """It is on the very machine, on another port, and the door asks the machine for no code."""
    code = near_server.new_code()
    attack(machine, f"http://127.0.0.1:{near_server.port}")
    # The code from before still counts: the page has not made another.
    ready(phone, near_server.url)
    pair(phone, near_server, code, "Other phone")


def test_the_machine_shows_code_addresses_and_phones(machine, phone, near_server):
    page = ready(machine.new_page(), f"http://127.0.0.1:{near_server.port}/#/link")
    page.get_by_role("button", name="Show a code for a phone").click()
    shown = page.get_by_text(re.compile(r"^\d{4} \d{4}$"))
    code = shown.inner_text()
    assert page.get_by_role("img").count() == 2
    for image in page.get_by_role("img").all():
        assert image.evaluate("(image) => image.decode().then(() => image.naturalWidth)") > 0
    assert page.get_by_text(near_server.url).count() == 1 and page.get_by_text(near_server.setup_url).count() == 1
    ready(phone, near_server.url)
    pair(phone, near_server, code)
    can_be_read_and_touched(page)
    # It appears by itself, and the code is gone.
    page.get_by_role("button", name="Remove Blue phone").click()
    assert shown.count() == 0
    page.get_by_role("button", name="Yes, remove Blue phone").click()
    page.get_by_text("Blue phone").wait_for(state="detached")


@contextlib.contextmanager
def forwarded(host, to_port, server_file=None):
    """A port that is passed on to one of this machine, as a cable does it, or, with a certificate, a reverse proxy."""
    context = tls.context(server_file) if server_file else None
    relay = tls.Front(tls.listen(host, 0), ("127.0.0.1", to_port), {}, context)
    relay.start()
    yield f"{'https' if context else 'http'}://{host}:{relay.listeners[0].getsockname()[1]}"
    relay.stop()


def stays_without_a_server(page):
    page.reload()
    page.wait_for_selector("html[data-offline=offline-ready]")
    page.get_by_text("Can't reach the machine").wait_for()


def test_over_a_cable(machine, near_server):
    """Forwarded to the phone's own loopback: a secure context without TLS, trusted as the machine itself."""
    page = machine.new_page()
    with forwarded("127.0.0.1", near_server.own_port) as url:
        ready_offline(page, f"{url}/#/link")
        page.get_by_text("This is the machine that keeps the log.").wait_for()
    stays_without_a_server(page)


def test_behind_a_reverse_proxy(phone, near_server, tmp_path):
    server = LanServer(tmp_path, Loopback(), ["--behind-proxy", Loopback.address]).start()
    try:
        with forwarded(Loopback.address, server.port, near_server.folder / "keys" / "server.pem") as url:
            ready_offline(phone, url)
            server.url = url
            pair(phone, server, server.new_code())
    finally:
        server.stop()
    stays_without_a_server(phone)
