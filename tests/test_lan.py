"""The local network as a phone meets it: addresses, trust, pairing, a proxy, and that nothing leaves the machine."""

import contextlib
import http.client
import json
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
import xml.etree.ElementTree as ElementTree
from datetime import datetime, timedelta, timezone

import ifaddr
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from hypothesis import settings

from tests.ports import free_ports
from tests.test_main import refusal
from tests.test_sync import Season
from webapp.access import authority_page, certificates, lan, pairing
from webapp.app import create_app
from webapp.log.logfile import Log

PHONE = "127.0.0.2"  # a second loopback address stands for the network
PATIENCE = 20


@pytest.fixture
def phones():
    return pairing.Phones()


@pytest.fixture
def app(phones):
    return create_app({"PHONES": phones})


@pytest.fixture
def network(app, tmp_path):
    opened = lan.Network(app, tmp_path, PHONE, 0, 0)
    opened.start()
    yield opened
    opened.stop()


class Client:
    """A phone's browser, as far as HTTP: it trusts an authority and keeps cookies."""

    def __init__(self, network):
        self.context = ssl.create_default_context(cadata=network.certificates.authority_der)
        self.port = network.port
        self.cookie = None

    def ask(self, method, path, told=None, headers=None):
        headers = dict(headers or {})
        if self.cookie:
            headers["Cookie"] = self.cookie
        if told is not None:
            headers["Content-Type"] = "application/json"
        connection = http.client.HTTPSConnection(PHONE, self.port, timeout=PATIENCE, context=self.context)
        connection.request(method, path, None if told is None else json.dumps(told), headers)
        response = connection.getresponse()
        body = response.read()
        if response.getheader("Set-Cookie"):
            self.cookie = response.getheader("Set-Cookie").partition(";")[0]
        connection.close()
        return response.status, json.loads(body) if "json" in response.getheader("Content-Type", "") else body


def plain(network, method, path, headers=None):
    connection = http.client.HTTPConnection(PHONE, network.setup_port, timeout=PATIENCE)
    connection.request(method, path, headers=headers or {})
    response = connection.getresponse()
    body = response.read()
    connection.close()
    return response, body


def test_a_phone_pairs_and_is_removed(app, network, phones):
    client, here = Client(network), app.test_client()
    assert client.ask("GET", "/")[0] == 200
    assert client.ask("GET", "/api/phones")[0] == 401
    assert client.ask("POST", "/api/pairing", {"code": "00000000", "name": "x"})[0] == 403
    # The same phone has to wait now; the clock is the real one, so let the machine forget.
    phones._wrong.clear()
    code = here.post("/api/phones/code", json={}).get_json()["code"]
    status, told = client.ask("POST", "/api/pairing", {"code": code, "name": "Blue phone"})
    assert status == 200 and told["phone"]["name"] == "Blue phone"
    assert client.ask("POST", "/api/calc/nothing", {})[0] == 404
    assert client.ask("GET", "/api/phones")[0] == 403
    here.delete(f"/api/phones/{told['phone']['id']}")
    assert client.ask("POST", "/api/calc/nothing", {})[0] == 401


def test_headers_of_a_client_make_it_no_machine(network):
    """From loopback, with all that a request can say: it came through the network's door all the same."""
    client = Client(network)
    forged = [{"X-Forwarded-For": "127.0.0.1"}, {"Forwarded": "for=::1"}, {"Host": "127.0.0.1"}, {"Host": "localhost"}]
    for headers in forged:
        assert client.ask("GET", "/api/phones", headers=headers)[0] == 401
    assert client.ask("GET", "/", headers={"Host": "evil.example"})[0] == 421


def test_the_page_is_not_served_without_tls(app, network):
    """The plain port has the certificate and the page around it, and no way to the application."""
    for rule in app.url_map.iter_rules():
        address = re.sub(r"<[^>]*>", "1", rule.rule)
        if address != "/":
            assert plain(network, "GET", address)[0].status == 404, address
    for method in ("POST", "PUT", "DELETE", "PATCH", "OPTIONS"):
        assert plain(network, method, "/")[0].status == 405
        assert plain(network, method, "/api/pairing")[0].status == 405


def test_the_plain_page_tells_how_to_trust(network):
    response, body = plain(network, "GET", "/")
    page = body.decode()
    assert response.status == 200 and response.getheader("Content-Type").startswith("text/html")
    assert network.certificates.fingerprint in page
    assert f"https://{PHONE}:{network.port}/" in page
    assert "“CA certificate” in its settings</h2>" in page and "“Profile downloaded”</h2>" in page and "<script" not in page
    assert "default-src 'none'" in response.getheader("Content-Security-Policy")
    assert plain(network, "HEAD", "/")[1] == b""
    # What a client sends is not in it.
    assert b"evil" not in plain(network, "GET", "/", {"Host": "evil.example"})[1]


def test_the_plain_page_gives_the_authority_and_no_key(network):
    response, body = plain(network, "GET", authority_page.CERTIFICATE_PATH)
    # The media type that both families take for a certificate to install (from memory).
    assert response.getheader("Content-Type") == "application/x-x509-ca-cert"
    told = x509.load_der_x509_certificate(body)
    assert told.fingerprint(hashes.SHA256()).hex(":").upper() == network.certificates.fingerprint


def test_the_terminal_shows_addresses_code_and_fingerprint(network):
    said = "\n".join(network.lines())
    assert f"https://{PHONE}:{network.port}/" in said and f"http://{PHONE}:{network.setup_port}/" in said
    digits = re.findall("[0-9A-F]{2}", said.split("authority:\n")[-1])
    assert ":".join(digits) == network.certificates.fingerprint
    # ISO/IEC 18004: a symbol has 17 + 4 x version modules a side. Two rows are one line of text; the margin is two.
    drawn = lan.qr_lines(f"https://{PHONE}:{network.port}/")
    assert "\n".join(drawn) in said
    assert (len(drawn[0]) - 4 - 17) % 4 == 0 and len(drawn) == (len(drawn[0]) + 1) // 2


def test_the_machine_is_told_addresses_and_codes(app, network):
    here = app.test_client()
    told = here.get("/api/network").get_json()
    assert told == {
        "fingerprint": network.certificates.fingerprint,
        "pages": [f"https://{PHONE}:{network.port}/"],
        "setups": [f"http://{PHONE}:{network.setup_port}/"],
    }
    for which in ("page", "setup"):
        drawn = here.get(f"/api/network/{which}/0.svg")
        assert drawn.content_type == "image/svg+xml"
        assert ElementTree.fromstring(drawn.data).tag == "{http://www.w3.org/2000/svg}svg"
        assert here.get(f"/api/network/{which}/1.svg").status_code == 404
    assert here.get("/api/network/page/0.svg").data != here.get("/api/network/setup/0.svg").data
    assert here.get("/api/network/other/0.svg").status_code == 404


def test_a_phone_is_not_told(app, network, phones):
    client = Client(network)
    assert client.ask("GET", "/api/network")[0] == 401
    client.ask("POST", "/api/pairing", {"code": phones.new_code(), "name": "x"})
    for path in ("/api/network", "/api/network/page/0.svg"):
        assert client.ask("GET", path)[0] == 403


# Changes


def names_served(network):
    """Addresses and end of the certificate that is served now, whether valid today or not."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    plain = socket.create_connection((PHONE, network.port), timeout=PATIENCE)
    with context.wrap_socket(plain) as secured:
        told = x509.load_der_x509_certificate(secured.getpeercert(True))
    names = told.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {str(address) for address in names.get_values_for_type(x509.IPAddress)}, told.not_valid_after_utc


def test_the_certificate_follows_the_addresses(app, tmp_path):
    network = lan.Network(app, tmp_path, PHONE, 0, 0)
    network.start()
    try:
        network.host = ""  # from now on as if it served all of the machine's addresses
        assert network.look(found=["10.0.0.5", PHONE])
        assert names_served(network)[0] == {"10.0.0.5", PHONE, "127.0.0.1", "::1"}
        assert network.page_addresses()[:2] == [f"https://10.0.0.5:{network.port}/", f"https://{PHONE}:{network.port}/"]
        client = Client(network)
        assert client.ask("GET", "/", headers={"Host": "10.0.0.5"})[0] == 200
        assert not network.look(found=["10.0.0.5", PHONE]), "nothing changed"
        assert network.look(found=[PHONE])
        assert client.ask("GET", "/", headers={"Host": "10.0.0.5"})[0] == 421
    finally:
        network.stop()


def test_the_certificate_is_renewed_near_its_end(network):
    before = names_served(network)[1]
    assert not network.look(now=before - timedelta(days=31))
    assert network.look(now=before - timedelta(days=29))
    assert names_served(network)[1] > before


def test_a_clock_that_is_wrong_is_told(network):
    with pytest.raises(lan.LanError, match="Set the clock"):
        network.look(now=datetime(2000, 1, 1, tzinfo=timezone.utc))
    assert names_served(network), "and it serves on"


# This machine's addresses


def adapter(name, *ips):
    told = [ifaddr.IP((text, 0, 3), 64, name) if ":" in text else ifaddr.IP(text, 24, name) for text in ips]
    return ifaddr.Adapter(name, name, told)


def test_own_addresses_are_those_a_phone_can_use(monkeypatch):
    monkeypatch.setattr(
        ifaddr,
        "get_adapters",
        lambda: [
            adapter("lo", "127.0.0.1", "::1"),
            adapter("docker0", "172.17.0.1"),
            adapter("eth0", "fe80::1", "2001:4860::5", "fd00::5", "8.8.8.8"),
            adapter("usb0", "169.254.7.7"),
            adapter("wlan0", "192.168.4.20"),
        ],
    )
    assert lan.own_addresses() == ["192.168.4.20", "169.254.7.7", "fd00::5", "172.17.0.1"]


def test_a_machine_on_no_network_says_so_and_goes_on(app, tmp_path, monkeypatch):
    monkeypatch.setattr(ifaddr, "get_adapters", lambda: [adapter("lo", "127.0.0.1")])
    network = lan.Network(app, tmp_path)
    network.look()
    assert "on no local network now" in network.lines()[0]
    monkeypatch.setattr(ifaddr, "get_adapters", lambda: [adapter("wlan0", "192.168.4.20")])
    assert network.look()
    assert network.page_addresses()[0] == "https://192.168.4.20:8088/"


@pytest.mark.skipif(not os.path.exists("/proc/net/fib_trie"), reason="needs the kernel's own table")
def test_own_addresses_are_the_kernels():
    with open("/proc/net/fib_trie") as table:
        local = set(re.findall(r"-- (\S+)\n\s+/32 host LOCAL", table.read()))
    found = [address for address in lan.own_addresses() if ":" not in address]
    assert set(found) <= local
    usable = {address for address in local if certificates.is_local(address) and not address.startswith("127.")}
    assert len(found) == len(usable) or len(lan.own_addresses()) == lan.MOST_ADDRESSES


@pytest.mark.parametrize(
    "told, names",
    [
        ("pit", ["pit", "pit.local", "localhost"]),
        ("Pit.example.org", ["pit", "pit.local", "localhost"]),
        ("my_pit!", ["mypit", "mypit.local", "localhost"]),
        ("", ["localhost", "localhost.local"]),
        ("x" * 80, ["x" * 63, "x" * 63 + ".local", "localhost"]),
    ],
)
def test_own_names(monkeypatch, told, names):
    monkeypatch.setattr(socket, "gethostname", lambda: told)
    assert lan.own_names() == names


@pytest.mark.parametrize("host", ["8.8.8.8", "0.0.0.0", "pit", "2001:4860::8"])
def test_only_local_addresses_are_served(app, tmp_path, host):
    with pytest.raises(lan.LanError, match="not an address of a local network"):
        lan.Network(app, tmp_path, host, 0, 0).start()


def test_a_port_in_use_is_named_and_nothing_stays_open(app, tmp_path):
    with socket.create_server((PHONE, 0)) as taken:
        network = lan.Network(app, tmp_path, PHONE, 0, taken.getsockname()[1])
        with pytest.raises(lan.LanError, match="Cannot listen"):
            network.start()
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection((PHONE, network.port), timeout=PATIENCE)


# The command line, in a process of its own

# Notes every attempt to reach another machine: connections, datagrams, names looked up (Python's audit events).
WATCH = """
import ipaddress, sys
def watch(event, told):
    if event in ("socket.connect", "socket.sendto", "socket.sendmsg"):
        address = told[1]
        where = address[0] if isinstance(address, tuple) else str(address)
        try:
            near = ipaddress.ip_address(where).is_loopback
        except ValueError:
            near = False
        if not near:
            print("LEAVES", event, address, file=sys.stderr, flush=True)
    elif event in ("socket.getaddrinfo", "socket.gethostbyname", "socket.gethostbyaddr", "urllib.Request"):
        where = told[0]
        try:
            ipaddress.ip_address(where or "127.0.0.1")
        except ValueError:
            print("LEAVES", event, told, file=sys.stderr, flush=True)
sys.addaudithook(watch)
"""
RUN = "import sys\nfrom webapp.__main__ import main\nsys.exit(main(sys.argv[1:]))"


def in_folder(folder):
    """Options that keep a test away from the person's own log and keys."""
    return ["--keys", str(folder), "--log", str(folder / "log.json")]


@contextlib.contextmanager
def command(folder, *options, before=""):
    """`overbowl` with its keys in `folder`; gives the process, its first port, and what it said until it was ready."""
    port = free_ports(3, ("127.0.0.1", PHONE))
    process = subprocess.Popen(
        [sys.executable, "-c", before + RUN, "--port", str(port), *in_folder(folder), *options],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
    )
    said = []
    try:
        for line in process.stdout:
            said.append(line)
            if line.startswith("Stop it"):
                break
        yield process, port, "".join(said)
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
        process.stdout.close()
        process.stderr.close()


def ask(port, method, path, told=None, headers=None, host="127.0.0.1"):
    connection = http.client.HTTPConnection(host, port, timeout=PATIENCE)
    headers = {"Content-Type": "application/json", **(headers or {})}
    connection.request(method, path, None if told is None else json.dumps(told), headers)
    response = connection.getresponse()
    body = response.read()
    connection.close()
    return response, body


def code_in(said):
    return "".join(re.search(r"Code for a new phone: (\d{4}) (\d{4}) ", said).groups())


def trust(said, folder):
    """An SSL context of a phone that got the authority from the plain page."""
    address = re.search(r"http://127\.0\.0\.2:(\d+)/", said)
    _, der = ask(int(address[1]), "GET", authority_page.CERTIFICATE_PATH, host=PHONE)
    return ssl.create_default_context(cadata=der)


def secure_ask(context, port, method, path, told=None, cookie=None):
    connection = http.client.HTTPSConnection(PHONE, port, timeout=PATIENCE, context=context)
    headers = {"Content-Type": "application/json", **({"Cookie": cookie} if cookie else {})}
    connection.request(method, path, None if told is None else json.dumps(told), headers)
    response = connection.getresponse()
    response.read()
    connection.close()
    return response


def test_nothing_leaves_the_machine(tmp_path):
    """Start, show, trust, pair, calculate, sync, stop: no connection, datagram or look-up of a name beyond loopback."""
    with command(tmp_path, "--lan", PHONE, before=WATCH) as (process, port, said):
        context = trust(said, tmp_path)
        for path in ("/", "/sw.js", "/calc.js", "/api/forms", "/healthz"):
            assert secure_ask(context, port + 1, "GET", path).status == 200
        paired = secure_ask(context, port + 1, "POST", "/api/pairing", {"code": code_in(said), "name": "Blue phone"})
        cookie = paired.getheader("Set-Cookie").partition(";")[0]
        assert secure_ask(context, port + 1, "POST", "/api/calc/nothing", {}, cookie).status == 404
        asked = {"device": "d1", "cursor": None, "edits": []}
        assert secure_ask(context, port + 1, "POST", "/api/sync", asked, cookie).status == 200
        assert secure_ask(context, port + 1, "GET", "/api/export.json", None, cookie).status == 200
        assert ask(port, "GET", "/api/network")[0].status == 200
        assert ask(port + 2, "GET", "/", host=PHONE)[0].status == 200
        process.send_signal(signal.SIGINT)
        _, complaints = process.communicate(timeout=PATIENCE)
    assert "LEAVES" not in complaints
    assert complaints == "", "and it stops without a word"
    # A restart finds the phone again, and the code of before is over.
    with command(tmp_path, "--lan", PHONE) as (_, port, said):
        assert secure_ask(context, port + 1, "POST", "/api/calc/nothing", {}, cookie).status == 404
        phones = json.loads(ask(port, "GET", "/api/phones")[1])["phones"]
        assert [phone["name"] for phone in phones] == ["Blue phone"]


@pytest.mark.parametrize(
    "attempt",
    [
        "socket.socket(socket.AF_INET, socket.SOCK_DGRAM).connect(('192.0.2.1', 9))",
        "socket.socket(socket.AF_INET, socket.SOCK_DGRAM).sendto(b'', ('192.0.2.1', 9))",
        "socket.getaddrinfo('pit.invalid', 1)",
    ],
)
def test_the_watch_sees_an_attempt(attempt):
    """The test above can fail. RFC 5737 and RFC 2606: 192.0.2.1 and .invalid are nobody's."""
    code = f"{WATCH}\nimport socket\ntry:\n    {attempt}\nexcept OSError:\n    pass"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=PATIENCE)
    assert "LEAVES" in done.stderr


@pytest.mark.parametrize("package", ["cryptography", "segno"])
def test_without_the_extra_it_says_the_install_line(tmp_path, package):
    code = f"import sys\nsys.modules[{package!r}] = None\n{RUN}"
    done = subprocess.run([sys.executable, "-c", code, *in_folder(tmp_path), "--lan"], capture_output=True, text=True, timeout=PATIENCE)
    assert done.returncode == 2 and done.stdout == ""
    assert done.stderr == "overbowl: --lan needs more packages. Install them: pip install 'overbowl[lan]'\n"


@pytest.mark.parametrize(
    "options, sentence",
    [
        (["--lan", "8.8.8.8"], "8.8.8.8 is not an address of a local network."),
        (["--lan", "--behind-proxy", "pit.example"], "not allowed with argument"),
        (["--lan", PHONE, "--port", "65534"], "--port 65534 leaves no room"),
        (["--behind-proxy", "pit.example", "--port", "65535"], "--port 65535 leaves no room"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(tmp_path, capsys, options, sentence):
    said = refusal(capsys, *in_folder(tmp_path), *options)
    assert said.startswith("overbowl: ") and sentence in said and said.count("\n") == 1


def test_damaged_keys_are_named(tmp_path, capsys):
    (tmp_path / "authority.pem").write_text("torn")
    assert "authority.pem is damaged" in refusal(capsys, *in_folder(tmp_path), "--lan", PHONE, "--port", str(free_ports(3)))


def test_behind_a_proxy_everyone_needs_a_code(tmp_path):
    """The proxy is on this machine and may hand on any Host: what it brings is never taken for the machine itself."""
    name = {"Host": "pit.example"}
    with command(tmp_path, "--behind-proxy", "pit.example") as (_, port, said):
        assert ask(port, "GET", "/", headers=name)[0].status == 200
        assert ask(port, "GET", "/", headers={"Host": "evil.example"})[0].status == 421
        for headers in (name, {"Host": f"127.0.0.1:{port}"}, {"Host": "localhost"}):
            assert ask(port, "GET", "/api/phones", headers=headers)[0].status == 401
        own_page = {**name, "Origin": "https://pit.example", "Sec-Fetch-Site": "same-origin"}
        paired, _ = ask(port, "POST", "/api/pairing", {"code": code_in(said), "name": "Blue phone"}, own_page)
        assert paired.status == 200 and "Secure" in paired.getheader("Set-Cookie")
        cookie = paired.getheader("Set-Cookie").partition(";")[0]
        assert ask(port, "POST", "/api/calc/nothing", {}, {**own_page, "Cookie": cookie})[0].status == 404
        assert ask(port, "GET", "/api/phones", headers={**name, "Cookie": cookie})[0].status == 403
        # The machine's own door is the next port.
        assert ask(port + 1, "GET", "/api/phones")[0].status == 200
        assert ask(port + 1, "GET", "/api/phones", headers=name)[0].status == 401


def test_stopping_is_quick_with_connections_open(network):
    ports = (network.port, network.setup_port) * 3
    opened = [socket.create_connection((PHONE, port), timeout=PATIENCE) for port in ports]
    end = time.monotonic() + PATIENCE
    network.stop()
    assert time.monotonic() < end
    for sock in opened:
        sock.close()


# The log over TLS


class SeasonOverTls(Season):
    """The season of `tests.test_sync`, every request through certificate, front, door, pairing and cookie."""

    def start(self):
        if not hasattr(self, "network"):
            self.phones_paired = pairing.Phones()
            self.application = None
            first = create_app({"PHONES": self.phones_paired})
            # The season opens its log again and again; the network stays open before it.
            first.wsgi_app = lambda environ, start_response: self.application(environ, start_response)
            self.network = lan.Network(first, self.folder / "keys", PHONE, 0, 0)
            self.network.start()
            self.clients = {}
        wall = lambda: (self.now + self.server_error) / 1000  # noqa: E731
        self.log = Log(self.folder / "log.json", wall=wall, idle=None)
        hosts = self.network.app.config["HOSTS"]
        self.application = create_app({"LOG": self.log, "PHONES": self.phones_paired, "HOSTS": hosts}).wsgi_app

    def teardown(self):
        try:
            super().teardown()
            if hasattr(self, "network"):
                assert {phone["name"] for phone in self.phones_paired.listed()} == set(self.clients)
                assert all(phone["last_sync"] for phone in self.phones_paired.listed())
        finally:
            if hasattr(self, "network"):
                self.network.stop()

    def post(self, asked):
        client = self.clients.get(asked["device"])
        if client is None:
            client = self.clients[asked["device"]] = Client(self.network)
            assert client.ask("POST", "/api/sync", asked)[0] == 401
            client.ask("POST", "/api/pairing", {"code": self.phones_paired.new_code(), "name": asked["device"]})
        status, told = client.ask("POST", "/api/sync", asked)
        assert status == 200, told
        return told


SeasonOverTls.TestCase.settings = settings(max_examples=3, stateful_step_count=15, deadline=None)
TestSeasonOverTls = SeasonOverTls.TestCase


# Other ways to the phone


def test_it_runs_without_any_compiled_package(tmp_path):
    """On the phone itself: a Python environment without a compiler has only what is pure Python."""
    code = """
import importlib.machinery, sys
class Refuse(importlib.machinery.ExtensionFileLoader):
    def create_module(self, spec):
        if "site-packages" in spec.origin:
            raise ImportError(f"{spec.origin} is compiled")
        return super().create_module(spec)
finder = importlib.machinery.FileFinder
sys.path_hooks[:] = [hook for hook in sys.path_hooks if "FileFinder" not in repr(hook)] + [finder.path_hook(
    (Refuse, importlib.machinery.EXTENSION_SUFFIXES),
    (importlib.machinery.SourceFileLoader, importlib.machinery.SOURCE_SUFFIXES),
    (importlib.machinery.SourcelessFileLoader, importlib.machinery.BYTECODE_SUFFIXES))]
sys.path_importer_cache.clear()
try:
    import cryptography.hazmat.bindings._rust
except ImportError as error:
    print(error)
from webapp.app import create_app
client = create_app().test_client()
for path in ("/", "/calc.js", "/api/forms", "/healthz"):
    assert client.get(path).status_code == 200
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=3 * PATIENCE)
    assert done.returncode == 0, done.stderr
    assert "is compiled" in done.stdout, "compiled packages were refused"
