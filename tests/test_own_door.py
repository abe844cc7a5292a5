"""The machine's own door through the real server: who is taken for the machine itself, and what one caller can use up."""

import contextlib
import http.client
import json
import re
import socket
import threading
import time

import pytest

from tests.test_lan import ask, command
from webapp.access import background, pairing
from webapp.access.background import Server
from webapp.app import create_app
from webapp.log.logfile import Log


@pytest.fixture(scope="module")
def door(tmp_path_factory):
    """The application behind waitress, with the names that `--lan` gives it."""
    with Log(tmp_path_factory.mktemp("log") / "log.json", idle=None) as log:
        server = Server(create_app({"HOSTS": ("pit", "10.0.0.5"), "PHONES": pairing.Phones(), "LOG": log}), "127.0.0.1", 0)
        yield server
        server.stop()


def test_the_machine_itself_is_let_in(door):
    assert ask(door.port, "GET", "/api/export.json")[0].status == 200


@pytest.mark.parametrize(
    "header",
    ["X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Forwarded-By", "Forwarded", "X-Real-IP", "Via", "x-forwarded-for"],
)
def test_what_a_proxy_passed_on_is_not_the_machine_itself(door, header):
    for path in ("/api/export.json", "/api/phones"):
        response, _ = ask(door.port, "GET", path, headers={header: "203.0.113.9"})
        assert response.status == 401, header


def test_who_is_being_answered_when_it_stops_gets_the_answer():
    asked, told = threading.Event(), []

    def slow(environ, start_response):
        asked.set()
        time.sleep(0.3)
        start_response("200 OK", [("Content-Length", "4")])
        return [b"done"]

    server = Server(slow, "127.0.0.1", 0)
    thread = threading.Thread(target=lambda: told.append(ask(server.port, "GET", "/")[1]))
    thread.start()
    assert asked.wait(20)
    server.stop()
    thread.join(20)
    assert told == [b"done"]
    with pytest.raises(OSError):
        ask(server.port, "GET", "/")


def raw(door, *lines):
    with socket.create_connection(("127.0.0.1", door.port), timeout=20) as connection:
        connection.sendall("\r\n".join([*lines, "Connection: close", "", ""]).encode())
        return connection.makefile("rb").readline().decode()


@pytest.mark.parametrize(
    "hosts",
    [
        ["Host:"],
        [],
        ["Host: a b"],
        ["Host: x@127.0.0.1"],
        ["Host: 127.0.0.1/evil"],
        ["Host: 127.0.0.1", "Host: evil.example"],
        ["Host: [::1"],
        ["Host: :8087"],
    ],
)
def test_a_host_that_is_empty_or_malformed_is_refused(door, hosts):
    assert re.match(r"HTTP/1\.[01] 4(00|21) ", raw(door, "GET /healthz HTTP/1.1", *hosts))


def test_a_hundred_idle_connections_keep_nobody_out(door):
    with contextlib.ExitStack() as closing:
        for number in range(150):
            idle = closing.enter_context(socket.create_connection(("127.0.0.1", door.port), timeout=20))
            if number % 2:
                idle.sendall(b"POST /api/sync HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Le")
        start = time.monotonic()
        assert ask(door.port, "GET", "/healthz")[0].status == 200
        assert time.monotonic() - start < 10


def test_a_body_over_the_limit_is_turned_away_before_it_is_sent(door):
    with socket.create_connection(("127.0.0.1", door.port), timeout=20) as connection:
        connection.sendall(
            b"POST /api/sync HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: 1000000000\r\n\r\n"
        )
        assert b" 413 " in connection.makefile("rb").readline()


def test_the_commands_own_door_has_these_bounds(tmp_path):
    with command(tmp_path) as (_, port, _):
        response, _ = ask(port, "GET", "/api/export.json", headers={"X-Forwarded-For": "203.0.113.9"})
        assert response.status == 401
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        connection.putrequest("POST", "/api/sync")
        connection.putheader("Content-Length", str(background.LARGEST_BODY + 1))
        connection.endheaders()
        assert connection.getresponse().status == 413


def test_network_names_that_are_malformed_are_refused_with_lan_too(tmp_path):
    with command(tmp_path, "--lan", "127.0.0.2") as (_, port, _), socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\nHost:\r\nConnection: close\r\n\r\n")
        assert b" 421 " in connection.makefile("rb").readline()


def test_a_code_ended_by_wrong_tries_is_said_on_the_terminal_and_to_the_machine(door):
    said = []
    phones = pairing.Phones()
    phones.tell = said.append
    code = phones.new_code()
    assert phones.code_ended() is None
    for number in range(pairing.WRONG_TRIES):
        with pytest.raises(pairing.Refused):
            phones.pair("99999999" if code != "99999999" else "00000000", "x", f"192.0.2.{number}")
    assert said == [phones.code_ended()] and "20 wrong codes were tried" in said[0]
    with pytest.raises(pairing.Refused):
        phones.pair(code, "x", "192.0.2.99")
    assert len(said) == 1
    phones.new_code()
    assert phones.code_ended() is None
    assert json.loads(ask(door.port, "GET", "/api/phones")[1]) == {"phones": [], "code_ended": None}


def test_it_starts_on_a_console_of_few_letters(tmp_path):
    """Code page 1252 has no blocks to draw a QR code with: the addresses are said, and it serves."""
    with command(tmp_path, "--lan", "127.0.0.2", before=FEW_LETTERS) as (_, port, said):
        assert "https://127.0.0.2:" in said and "fingerprint" in said and "█" not in said and "?" not in said
        assert ask(port, "GET", "/healthz")[0].status == 200


FEW_LETTERS = "import sys\nsys.stdout.reconfigure(encoding='cp1252')\nsys.stderr.reconfigure(encoding='cp1252')\n"


def test_a_server_whose_loop_is_awake_stops_as_well(monkeypatch):
    """It comes to what it is to do before the one who asked has woken it."""
    server = Server(lambda environ, start: (start("200 OK", [("Content-Length", "0")]), [b""])[1], "127.0.0.1", 0)
    wake = server._server.trigger._physical_pull

    def wake_late():
        wake()
        time.sleep(0.2)
        wake()

    monkeypatch.setattr(server._server.trigger, "_physical_pull", wake_late)
    server.stop()
    assert not server._thread.is_alive()


def test_a_server_may_be_stopped_twice_while_somebody_is_connected():
    """A connection that lies idle keeps the thread alive after the port was closed."""
    server = Server(lambda environ, start: (start("200 OK", [("Content-Length", "0")]), [b""])[1], "127.0.0.1", 0)
    with socket.create_connection(("127.0.0.1", server.port)) as idle:
        idle.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
        assert idle.recv(1000).startswith(b"HTTP/1.1 200")
        server.stop()
        server.stop()
