"""The TLS front against good, slow, broken and many clients. Every wait has an end; none says how long a thing took."""

import contextlib
import http.client
import logging
import socket
import ssl
import struct
import time

import pytest

from webapp.access import certificates, pairing, tls
from webapp.access.background import Server

PATIENCE = 20  # seconds until a wait gives up; nothing here should take one
QUICK = tls.Limits(connections=8, of_one_address=4, handshake=0.5, quiet=0.5, lifetime=60, closing=0.5)
BIG = bytes(range(256)) * 4 * 1024 * 5  # 5 MB: more than all buffers on the way


def application(environ, start_response):
    """Says what it was sent, or a big thing, or an endless one, or who asks."""
    if environ["PATH_INFO"] == "/endless":
        start_response("200 OK", [])
        return endless()
    sent = environ["wsgi.input"].read()
    told = {"/big": BIG, "/echo": sent}.get(environ["PATH_INFO"])
    if told is None:
        told = f"{environ['REMOTE_ADDR']} {environ['wsgi.url_scheme']} {environ[pairing.DOOR]}".encode()
    start_response("200 OK", [("Content-Length", str(len(told)))])
    return [told]


taken = []


def endless():
    """Pieces of a megabyte, noted as they are taken; 300 of them are endless enough."""
    taken.clear()
    for number in range(300):
        taken.append(number)
        yield bytes(1024 * 1024)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return certificates.ensure(tmp_path_factory.mktemp("keys"), ["pit", "localhost"], ["127.0.0.1"])


@pytest.fixture
def opened(made):
    """A function that opens a front with the given limits; returns it. All is closed afterwards."""
    with contextlib.ExitStack() as closing:

        def open_front(limits=None, welcome=None, secure=True):
            clients = {}
            server = Server(pairing.door(application, "network", clients), "127.0.0.1", 0, url_scheme="https")
            closing.callback(server.stop)
            context = tls.context(made.server_file) if secure else None
            front = tls.Front(tls.listen("127.0.0.1", 0), ("127.0.0.1", server.port), clients, context, limits, welcome)
            closing.callback(front.stop)
            front.start()
            front.port = front.listeners[0].getsockname()[1]
            return front

        yield open_front


@pytest.fixture(autouse=True)
def _nothing_unexpected_is_logged(caplog):
    yield
    assert [record.getMessage() for record in caplog.records if record.levelno >= logging.ERROR] == []


def client_context(made, **versions):
    context = ssl.create_default_context(cadata=made.authority_der)
    for name, version in versions.items():
        setattr(context, name, version)
    return context


def connect(front, source="127.0.0.1"):
    return socket.create_connection(("127.0.0.1", front.port), timeout=PATIENCE, source_address=(source, 0))


def secure(front, made, source="127.0.0.1", **versions):
    return client_context(made, **versions).wrap_socket(connect(front, source), server_hostname="127.0.0.1")


def get(front, made, path="/", source="127.0.0.1", headers=None, method="GET", body=None, secured=None):
    connection = http.client.HTTPConnection("127.0.0.1", front.port, timeout=PATIENCE)
    connection.sock = secured or secure(front, made, source)
    connection.request(method, path, body, headers or {})
    response = connection.getresponse()
    assert response.status == 200
    told = response.read()
    connection.close()
    return told


def ended(sock):
    """True once the other side closed the connection."""
    try:
        while sock.recv(65536):
            pass
    except TimeoutError:
        return False
    except OSError:
        pass
    return True


def until(true):
    end = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.01)


@pytest.mark.parametrize("version", [ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3])
def test_current_tls_is_spoken(opened, made, version):
    with secure(opened(), made, minimum_version=version, maximum_version=version) as secured:
        assert secured.version() == {"TLSv1_2": "TLSv1.2", "TLSv1_3": "TLSv1.3"}[version.name]


@pytest.mark.filterwarnings("ignore:ssl.TLSVersion:DeprecationWarning")
def test_old_tls_is_refused(opened, made):
    """RFC 8996 retires TLS 1.0 and 1.1."""
    old = client_context(made)
    old.minimum_version, old.maximum_version = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
    front = opened()
    # Security level 0 on both sides: it shall be our setting that refuses, not that of the library.
    for context in (old, front.context):
        context.set_ciphers("ALL:@SECLEVEL=0")
    with pytest.raises((ssl.SSLError, ConnectionError)), connect(front) as plain:
        old.wrap_socket(plain, server_hostname="127.0.0.1")
    front.context.minimum_version = ssl.TLSVersion.TLSv1
    with old.wrap_socket(connect(front), server_hostname="127.0.0.1") as secured:
        assert secured.version() == "TLSv1.1"


def test_bytes_come_through_unchanged(opened, made):
    front = opened()
    sent = BIG[:400_001]
    assert get(front, made, "/echo", method="POST", body=sent) == sent
    assert get(front, made, "/big") == BIG


def test_a_connection_is_used_again(opened, made):
    front = opened()
    connection = http.client.HTTPConnection("127.0.0.1", front.port, timeout=PATIENCE)
    connection.sock = secure(front, made)
    for _ in range(5):
        connection.request("GET", "/")
        assert connection.getresponse().read() == b"127.0.0.1 https network"
    assert front.open_connections() == 1
    connection.close()
    until(lambda: front.open_connections() == 0)
    until(lambda: front.clients == {})


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"X-Forwarded-For": "127.0.0.1"},
        {"Forwarded": "for=127.0.0.1"},
        {"Overbowl.Door": "own"},
    ],
)
def test_the_clients_address_and_door_cannot_be_forged(opened, made, headers):
    assert get(opened(), made, source="127.0.0.9", headers=headers) == b"127.0.0.9 https network"


def test_who_comes_past_the_front_is_refused(opened, made):
    front = opened()
    past = http.client.HTTPConnection(*front.backend, timeout=PATIENCE)
    past.request("GET", "/")
    assert past.getresponse().status == 403
    past.close()
    assert get(front, made) == b"127.0.0.1 https network"


def test_a_new_certificate_serves_new_connections(opened, made, tmp_path):
    front = opened()
    with secure(front, made) as old:
        other = certificates.ensure(tmp_path, ["pit"], ["127.0.0.1"])
        front.context = tls.context(other.server_file)
        assert get(front, other) == b"127.0.0.1 https network"
        with pytest.raises(ssl.SSLCertVerificationError):
            secure(front, made)
        assert get(front, made, secured=old) == b"127.0.0.1 https network"


def test_without_a_certificate_it_passes_plain_bytes(opened, made):
    front = opened(secure=False)
    assert get(front, made, secured=connect(front)) == b"127.0.0.1 https network"


def test_unwelcome_clients_are_turned_away(opened, made):
    front = opened(welcome=lambda address: address != "127.0.0.9")
    with pytest.raises(OSError):
        secure(front, made, "127.0.0.9")
    assert front.open_connections() == 0
    assert get(front, made, source="127.0.0.8") == b"127.0.0.8 https network"


def silent(front, made):
    return connect(front)


def half_a_greeting(front, made):
    plain = connect(front)
    plain.sendall(b"\x16\x03\x01\x02\x00\x01")
    return plain


def mute_after_the_handshake(front, made):
    return secure(front, made)


def never_done_asking(front, made):
    secured = secure(front, made)
    secured.sendall(b"GET / HTTP/1.1\r\nHost: pit\r\n")
    return secured


def never_takes_the_answer(front, made):
    secured = secure(front, made)
    secured.sendall(b"GET /big HTTP/1.1\r\nHost: pit\r\n\r\n")
    return secured


SLOW = [silent, half_a_greeting, mute_after_the_handshake, never_done_asking, never_takes_the_answer]


@pytest.mark.parametrize("slow", SLOW)
def test_a_slow_client_is_closed(opened, made, slow):
    front = opened(QUICK)
    with slow(front, made):
        until(lambda: front.open_connections() == 1)
        until(lambda: front.open_connections() == 0)
        until(lambda: front.clients == {})


def test_an_answer_that_nobody_takes_is_not_piled_up(opened, made):
    front = opened(tls.Limits(quiet=600))
    with secure(front, made) as secured:
        secured.sendall(b"GET /endless HTTP/1.1\r\nHost: pit\r\n\r\n")
        until(lambda: len(taken) > 5)
        before = -1
        while before < len(taken):
            before = len(taken)
            time.sleep(0.5)
        # waitress itself holds 16 MB of it, and the sockets on the way some more.
        assert len(taken) < 100


def test_feeding_a_request_letter_by_letter_does_not_keep_it_open(opened, made):
    front = opened(QUICK)
    with secure(front, made) as secured:
        secured.sendall(b"GET / HTTP/1.1\r\nX-Long: ")
        end = time.monotonic() + PATIENCE
        with pytest.raises(OSError):
            while time.monotonic() < end:
                secured.sendall(b"a")
                time.sleep(0.02)


def test_a_connection_has_an_end_even_if_it_is_busy(opened, made):
    front = opened(tls.Limits(lifetime=0.5))
    with secure(front, made) as secured:
        end = time.monotonic() + PATIENCE
        with pytest.raises((OSError, http.client.HTTPException)):
            connection = http.client.HTTPConnection("127.0.0.1", front.port)
            connection.sock = secured
            while time.monotonic() < end:
                connection.request("GET", "/")
                connection.getresponse().read()


@pytest.mark.parametrize("slow", SLOW)
def test_slow_clients_do_not_stop_others(opened, made, slow):
    """More slow clients than one address, and than all addresses together, may have: everybody else is served."""
    front = opened(tls.Limits(connections=8, of_one_address=4, handshake=600, quiet=600))
    with contextlib.ExitStack() as closing:
        for _ in range(12):
            # What gives way is closed at once, which its own handshake may notice.
            with contextlib.suppress(OSError):
                closing.enter_context(slow(front, made))
            assert front.open_connections() <= 4
        for last in range(20, 26):
            assert get(front, made, source=f"127.0.0.{last}") == f"127.0.0.{last} https network".encode()
        assert get(front, made) == b"127.0.0.1 https network", "nor do they shut out their own address"


def test_many_addresses_are_bounded_together(opened, made):
    front = opened(tls.Limits(connections=8, of_one_address=4, handshake=600, quiet=600))
    with contextlib.ExitStack() as closing:
        for last in range(10, 40):
            closing.enter_context(connect(front, f"127.0.0.{last}"))
        until(lambda: front.open_connections() == 8)
        assert get(front, made, source="127.0.0.99") == b"127.0.0.99 https network"
        assert front.open_connections() <= 8


@pytest.mark.parametrize(
    "rubbish",
    [
        b"GET / HTTP/1.1\r\nHost: pit\r\n\r\n",
        b"\0" * 1000,
        b"\x16\x03\x01\xff\xff" + b"\xff" * 70000,
        b"\x15\x03\x03\x00\x02\x02\x28",
    ],
)
def test_rubbish_is_closed(opened, made, rubbish):
    front = opened()
    with connect(front) as plain:
        with contextlib.suppress(OSError):
            plain.sendall(rubbish)
        assert ended(plain)
    assert get(front, made) == b"127.0.0.1 https network"


@pytest.mark.parametrize(
    "sent",
    [
        b"",
        b"GET /big HTTP/1.1\r\nHost: pit\r\n\r\n",
        b"POST /echo HTTP/1.1\r\nContent-Length: 99999\r\n\r\nab",
    ],
)
def test_a_client_that_breaks_off_is_forgotten(opened, made, sent):
    front = opened()
    secured = secure(front, made)
    secured.sendall(sent)
    until(lambda: front.open_connections() == 1)
    # No linger: the connection is reset, as by a phone that leaves the network.
    secured.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    secured.close()
    until(lambda: front.open_connections() == 0)
    assert get(front, made) == b"127.0.0.1 https network"


def test_many_clients_at_once(opened, made):
    front = opened()
    with contextlib.ExitStack() as closing:
        kept = [closing.enter_context(secure(front, made, f"127.0.0.{last}")) for last in range(10, 50)]
        for number, secured in enumerate(kept):
            assert get(front, made, secured=secured) == f"127.0.0.{10 + number} https network".encode()


def test_stopping_closes_everything(opened, made):
    front = opened()
    with secure(front, made) as secured, connect(front) as plain:
        until(lambda: front.open_connections() == 2)
        front.stop()
        assert ended(secured) and ended(plain)
        front.stop()
    with pytest.raises(ConnectionRefusedError):
        connect(front)


def test_server_gone_behind_the_front(opened, made):
    front = opened()
    front.backend = ("127.0.0.1", 1)
    with secure(front, made) as secured:
        assert ended(secured)


def test_listening_on_all_addresses_takes_both_families():
    listeners = tls.listen("", 0)
    ports = {listener.getsockname()[1] for listener in listeners}
    for listener in listeners:
        listener.close()
    assert len(ports) == 1
    assert listeners[0].family == socket.AF_INET
