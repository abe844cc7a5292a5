"""Who may connect: doors, codes, tokens, and that nobody gets in beside them."""

import json
import os
import re
import stat
from concurrent.futures import ThreadPoolExecutor

import pytest
from flask import Flask, jsonify

from webapp.access import guard, pairing
from webapp.app import create_app

FROM_PHONE = {"base_url": "https://192.168.4.20:8088", "environ_overrides": {pairing.DOOR: "network", "REMOTE_ADDR": "192.168.4.77"}}
# What anybody on the local network may see: the page itself, and the way to pair.
OPEN_BESIDE_FILES = {("/healthz", "GET"), ("/api/pairing", "GET"), ("/api/pairing", "POST")}


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self):
        self.now = 1000.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def phones(clock):
    return pairing.Phones(clock=clock, today=lambda: clock.now)


@pytest.fixture
def app(phones):
    """The real application."""
    return create_app({"HOSTS": ("192.168.4.20", "pit", "pit.local"), "PHONES": phones})


@pytest.fixture
def here(app):
    """The machine itself."""
    return app.test_client()


@pytest.fixture
def phone(app):
    return app.test_client()


def pair(client, code, name="Blue phone", **more):
    return client.post("/api/pairing", json={"code": code, "name": name}, **{**FROM_PHONE, **more})


def wrong(code):
    return f"{(int(code) + 1) % 10**8:08d}"


def error_of(response):
    errors = response.get_json()["errors"]
    assert len(errors) == 1
    (sentence,) = next(iter(errors.values()))
    return sentence


# What is open


def every_request(app):
    for rule in app.url_map.iter_rules():
        address = re.sub(r"<[^>]*>", "1", rule.rule)
        for method in sorted(rule.methods | {"GET", "POST", "PUT", "DELETE", "PATCH", "OPTIONS"}):
            yield address, method


def test_unpaired_phones_reach_the_page_and_the_pairing_only(app, phone):
    answered, refused = set(), set()
    for address, method in every_request(app):
        response = phone.open(address, method=method, json={} if method not in ("GET", "HEAD") else None, **FROM_PHONE)
        (refused if response.status_code == 401 else answered).add((address, method))
    files = {(address, method) for address, method in answered if method in ("GET", "HEAD")}
    paths = {address for address, _ in files} - {"/healthz", "/api/pairing"}
    beside = {re.sub(r"-[0-9a-f]{10,12}\.", ".", address) for address in paths if not address.startswith("/static/")}
    parts = {f"/page-{name}.js" for name in ("build", "figures", "passes", "settings", "shared")} | {"/calc-more.js", "/forms-more.json"}
    assert beside == {"/", "/api/forms", "/calc.js", "/forms.json", "/manifest.webmanifest", "/page.js", "/sw.js"} | parts
    # Every other method of /api/pairing is "not allowed", which opens nothing.
    rest = {entry for entry in answered - files if entry[0] != "/api/pairing"}
    assert rest == set()
    assert ("/api/calc/1", "POST") in refused and ("/api/phones", "GET") in refused
    assert answered >= OPEN_BESIDE_FILES


@pytest.mark.parametrize(
    "address",
    [
        "/nothing",
        "/api/export.json",
        "/api/sync",
        "/static/../api/phones",
        "//api/phones",
        "/api/pairing/",
        "/api/pairing/../phones",
        "/healthz/x",
        "/%2e/api/phones",
    ],
)
def test_other_addresses_are_not_told_apart(phone, address):
    assert phone.get(address, **FROM_PHONE).status_code == 401


def test_401_says_what_to_do(phone):
    response = phone.get("/api/phones", **FROM_PHONE)
    assert error_of(response) == "This phone is not paired. Enter the code that the machine shows, on the Settings screen."
    # RFC 9110, 15.5.2: a 401 names a scheme.
    assert response.headers["WWW-Authenticate"]


def test_open_files_say_nothing_about_phones(app, phones, phone):
    """The same bytes for a stranger and a paired phone."""
    stranger, paired = app.test_client(), phone
    assert pair(paired, phones.new_code()).status_code == 200
    for address in ("/", "/sw.js", "/calc.js", "/api/forms", "/healthz"):
        assert stranger.get(address, **FROM_PHONE).data == paired.get(address, **FROM_PHONE).data


# Who is here


@pytest.mark.parametrize("host", ["127.0.0.1:8087", "localhost:8087", "LOCALHOST", "[::1]:8087", "127.0.0.1"])
@pytest.mark.parametrize("address", ["127.0.0.1", "::1", "::ffff:127.0.0.1"])
def test_the_machine_itself_needs_no_code(here, host, address):
    response = here.get("/api/phones", headers={"Host": host}, environ_overrides={"REMOTE_ADDR": address})
    assert response.get_json()["phones"] == []
    assert here.get("/api/pairing", headers={"Host": host}).get_json()["here"] is True


@pytest.mark.parametrize(
    "why, headers, environ",
    [
        ("another machine at a door without TLS", {}, {"REMOTE_ADDR": "192.168.4.77"}),
        ("no address", {}, {"REMOTE_ADDR": ""}),
        ("an address that is none", {}, {"REMOTE_ADDR": "localhost"}),
        ("the network's door", {}, {pairing.DOOR: "network"}),
        ("the network's door, on the machine", {}, {pairing.DOOR: "network", "REMOTE_ADDR": "127.0.0.1"}),
        ("a reverse proxy's door", {}, {pairing.DOOR: "proxy"}),
        ("a name that another machine can answer for", {"Host": "pit:8087"}, {}),
        ("a name that another machine can answer for", {"Host": "pit.local:8087"}, {}),
        ("an address that others have", {"Host": "192.168.4.20"}, {}),
        ("passed on", {"X-Forwarded-For": "127.0.0.1"}, {}),
        ("passed on", {"Forwarded": "for=127.0.0.1"}, {}),
        ("passed on", {"X-Real-IP": "127.0.0.1"}, {}),
        ("passed on", {"Via": "1.1 proxy"}, {}),
    ],
)
def test_nobody_else_is_taken_for_the_machine(here, why, headers, environ):
    request = {"headers": {"Host": "127.0.0.1:8087", **headers}, "environ_overrides": environ}
    assert here.get("/api/phones", **request).status_code == 401, why
    assert here.get("/api/pairing", **request).get_json()["here"] is False, why
    assert here.post("/api/phones/code", json={}, **request).status_code == 401, why


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1.evil.example",
        "evil.example:8087",
        "",
        "127.0.0.1@evil.example",
        "localhost.",
        "127.1",
        "2130706433",
        "[::2]",
        "a b",
        "192.168.4.21",
    ],
)
@pytest.mark.parametrize("door", [{}, {pairing.DOOR: "network"}, {pairing.DOOR: "proxy"}])
def test_a_rebound_host_is_refused(here, phones, host, door):
    phones.new_code()
    asked = (("GET", "/"), ("GET", "/api/phones"), ("POST", "/api/phones/code"), ("POST", "/api/pairing"))
    for method, address in asked:
        response = here.open(address, method=method, json={}, headers={"Host": host}, environ_overrides=door)
        assert 400 <= response.status_code < 500


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://127.0.0.1:8087"},
    ],
)
def test_another_sites_page_can_neither_read_nor_write(here, app, phones, headers):
    told = {"headers": {"Host": "127.0.0.1:8087", **headers}}
    assert here.get("/api/phones", **told).status_code == 403
    for method, address in (("POST", "/api/phones/code"), ("DELETE", "/api/phones/1"), ("POST", "/api/pairing")):
        response = here.open(address, method=method, json={"code": "12345678", "name": "x"}, **told)
        assert response.status_code == 403
        assert not any(name.lower().startswith("access-control") for name, _ in response.headers)
    # And a paired phone's cookie is no help to it.
    paired = app.test_client()
    pair(paired, phones.new_code())
    on_network = {**FROM_PHONE, "headers": headers}
    assert paired.post("/api/calc/pump-check", json={"inputs": {}}, **on_network).status_code == 403


def test_only_json_is_read(here):
    """A form of another site can send these three types without asking first (Fetch, "CORS-safelisted")."""
    for type in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"):
        assert here.post("/api/phones/code", data="{}", content_type=type).status_code == 415
        assert here.post("/api/pairing", data="{}", content_type=type, **FROM_PHONE).status_code == 415


# Codes


def test_a_code_pairs_a_phone(here, phone, phones):
    told = here.post("/api/phones/code", json={}).get_json()
    assert re.fullmatch("[0-9]{8}", told["code"]) and told["seconds"] == 600
    response = pair(phone, told["code"], "Blue phone")
    assert response.status_code == 200 and response.get_json()["phone"]["name"] == "Blue phone"
    assert phone.post("/api/calc/nothing", json={}, **FROM_PHONE).status_code == 404
    state = phone.get("/api/pairing", **FROM_PHONE).get_json()
    assert state["here"] is False and state["phone"]["name"] == "Blue phone"
    assert [told["name"] for told in here.get("/api/phones").get_json()["phones"]] == ["Blue phone"]


@pytest.mark.parametrize("typed", ["{0} {1}", " {0}{1} ", "{0}-{1}", "{0}\u00a0{1}"])
def test_a_code_may_be_typed_with_gaps(phone, phones, typed):
    code = phones.new_code()
    assert pair(phone, typed.format(code[:4], code[4:])).status_code == 200


def test_the_cookie(phone, phones):
    cookie = pair(phone, phones.new_code()).headers["Set-Cookie"]
    name, _, rest = cookie.partition("=")
    token, *attributes = rest.split("; ")
    # RFC 6265bis, 4.1.3.2: __Host- holds the browser to Secure, Path=/ and no Domain.
    assert name == "__Host-overbowl"
    assert {"Secure", "HttpOnly", "SameSite=Strict", "Path=/"} <= set(attributes)
    assert not any(attribute.startswith("Domain") for attribute in attributes)
    assert len(token) >= 43, "32 bytes in base 64"


def test_a_code_is_not_taken_without_tls(phone, phones):
    """With --host somebody may open the machine's own door to the network: no code goes over that."""
    code = phones.new_code()
    response = pair(phone, code, base_url="http://192.168.4.20:8087", environ_overrides={"REMOTE_ADDR": "192.168.4.77"})
    assert response.status_code == 403 and "HTTPS" in error_of(response)
    assert pair(phone, code).status_code == 200


def test_a_code_works_once(app, phones):
    code = phones.new_code()
    assert pair(app.test_client(), code).status_code == 200
    response = pair(app.test_client(), code)
    assert response.status_code == 403 and "once" in error_of(response)
    assert len(phones.listed()) == 1


def test_a_code_works_once_even_for_two_at_a_time(phones):
    code = phones.new_code()

    def attempt(number):
        try:
            return phones.pair(code, "x", f"10.0.0.{number}")
        except pairing.Refused:
            return None

    with ThreadPoolExecutor(16) as pool:
        assert sum(result is not None for result in pool.map(attempt, range(32))) == 1


@pytest.mark.parametrize("later, status", [(599, 200), (600, 403), (10_000, 403)])
def test_a_code_is_over_after_ten_minutes(phone, phones, clock, later, status):
    code = phones.new_code()
    clock.now += later
    assert pair(phone, code).status_code == status


def test_a_new_code_ends_the_old_one(phone, phones, clock):
    old, new = phones.new_code(), phones.new_code()
    assert pair(phone, old).status_code == 403
    clock.now += 60
    assert pair(phone, new).status_code == 200


def test_without_a_code_nobody_is_paired(phone):
    assert pair(phone, "00000000").status_code == 403


def test_codes_differ(phones):
    assert len({phones.new_code() for _ in range(50)}) > 45


def test_wrong_codes_are_slowed_more_and_more(phone, phones, clock):
    code = phones.new_code()
    waits = []
    for _ in range(9):
        response = pair(phone, wrong(code))
        assert response.status_code == 403
        waits.append(int(response.headers["Retry-After"]))
        # Too soon, even the right one is not looked at.
        too_soon = pair(phone, code)
        assert too_soon.status_code == 429 and int(too_soon.headers["Retry-After"]) == waits[-1]
        clock.now += waits[-1]
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60, 60]
    assert pair(phone, code).status_code == 200


def test_one_address_does_not_slow_another(phone, app, phones):
    code = phones.new_code()
    pair(phone, wrong(code))
    other = {**FROM_PHONE, "environ_overrides": {pairing.DOOR: "network", "REMOTE_ADDR": "192.168.4.78"}}
    assert pair(app.test_client(), code, **other).status_code == 200


def test_addresses_of_one_ipv6_network_are_one(phones):
    """A single subscriber has at least 2**64 addresses (RFC 4291, 2.5.1)."""
    code = phones.new_code()
    with pytest.raises(pairing.Refused):
        phones.pair(wrong(code), "x", "fd00::1")
    with pytest.raises(pairing.Refused) as refused:
        phones.pair(code, "x", "fd00::2:3:4")
    assert refused.value.status == 429
    phones.pair(code, "x", "fd00:0:0:1::1")


def test_twenty_wrong_tries_of_many_end_the_code(phones):
    code = phones.new_code()
    for number in range(19):
        with pytest.raises(pairing.Refused):
            phones.pair(wrong(code), "x", f"10.0.0.{number}")
    again = phones.new_code()
    for number in range(20):
        with pytest.raises(pairing.Refused):
            phones.pair(wrong(again), "x", f"10.0.1.{number}")
    with pytest.raises(pairing.Refused) as refused:
        phones.pair(again, "x", "10.0.2.1")
    assert refused.value.status == 403


def test_guessing_with_patience_gets_twenty_tries_at_most(phones, clock):
    """As fast as allowed, from 60 addresses, for ten minutes: how many guesses were compared with the code?"""
    code, compared = phones.new_code(), 0
    end = clock.now + 600
    while clock.now < end:
        for number in range(60):
            alive = phones._code is not None
            with pytest.raises(pairing.Refused) as refused:
                phones.pair(wrong(code), "x", f"10.0.0.{number}")
            compared += alive and refused.value.status == 403
        clock.now += 1
    assert compared == 20


def test_what_is_remembered_of_wrong_tries_is_bounded(phones):
    for number in range(2000):
        with pytest.raises(pairing.Refused):
            phones.pair("00000000", "x", f"10.0.{number // 250}.{number % 250}")
    assert len(phones._wrong) <= pairing.MOST_SOURCES


@pytest.mark.parametrize(
    "body, status",
    [
        ({}, 400),
        ({"code": "12345678"}, 400),
        ({"code": "12345678", "name": "x", "more": 1}, 400),
        ([], 400),
        ({"code": 12345678, "name": "x"}, 422),
        ({"code": "1234567", "name": "x"}, 422),
        ({"code": "123456789", "name": "x"}, 422),
        ({"code": "١٢٣٤٥٦٧٨", "name": "x"}, 422),
        ({"code": "²²²²²²²²", "name": "x"}, 422),
        ({"code": None, "name": "x"}, 422),
        ({"code": "12345678", "name": ""}, 422),
        ({"code": "12345678", "name": "  "}, 422),
        ({"code": "12345678", "name": 5}, 422),
        ({"code": "12345678", "name": "x" * 41}, 422),
        ({"code": "12345678", "name": "a\nb"}, 422),
        ({"code": "12345678", "name": "a\u202eb"}, 422),
    ],
)
def test_bad_bodies_get_a_sentence_and_cost_no_try(phone, phones, body, status):
    code = phones.new_code()
    response = phone.post("/api/pairing", json=body, **FROM_PHONE)
    assert response.status_code == status and error_of(response).endswith(".")
    assert pair(phone, code).status_code == 200


@pytest.mark.parametrize("data", [b"", b"{", b"\xff\xfe", b"[" * 100_000, b'{"code": NaN}'])
def test_bodies_that_are_no_json_object(phone, data):
    response = phone.post("/api/pairing", data=data, content_type="application/json", **FROM_PHONE)
    assert response.status_code == 400 and error_of(response)


# Tokens and phones


@pytest.mark.parametrize("token", ["", "x", "a" * 43, "é" * 43, "\udcff", "a" * 5000])
def test_a_made_up_token_is_nobody(phones, token):
    phones.pair(phones.new_code(), "x", "10.0.0.1")
    assert phones.with_token(token) is None


def test_a_made_up_cookie_is_nobody(phone):
    for token in ("x", '"', "%00", "a" * 3000):
        response = phone.get("/api/phones", headers={"Cookie": f"__Host-overbowl={token}"}, **FROM_PHONE)
        assert response.status_code == 401


def test_a_phone_may_not_do_what_the_machine_may(phone, phones):
    pair(phone, phones.new_code())
    id = phones.listed()[0]["id"]
    for method, address in (("GET", "/api/phones"), ("POST", "/api/phones/code"), ("DELETE", f"/api/phones/{id}")):
        response = phone.open(address, method=method, json={}, **FROM_PHONE)
        assert response.status_code == 403
        assert error_of(response) == "Only the machine itself may do this."


def test_a_removed_phone_is_out_at_once(app, here, phone, phones):
    other = app.test_client()
    pair(phone, phones.new_code(), "Lost")
    pair(other, phones.new_code(), "Kept")
    lost = next(told["id"] for told in phones.listed() if told["name"] == "Lost")
    assert phone.post("/api/calc/nothing", json={}, **FROM_PHONE).status_code == 404
    assert here.delete(f"/api/phones/{lost}").status_code == 204
    assert phone.post("/api/calc/nothing", json={}, **FROM_PHONE).status_code == 401
    assert phone.get("/api/pairing", **FROM_PHONE).get_json()["phone"] is None
    assert other.post("/api/calc/nothing", json={}, **FROM_PHONE).status_code == 404
    assert here.delete(f"/api/phones/{lost}").status_code == 404
    assert [told["name"] for told in here.get("/api/phones").get_json()["phones"]] == ["Kept"]


def test_pairing_again_replaces_the_phone(phone, phones):
    pair(phone, phones.new_code(), "Old name")
    old = phone.get_cookie("__Host-overbowl", domain="192.168.4.20").value
    pair(phone, phones.new_code(), "New name")
    assert [told["name"] for told in phones.listed()] == ["New name"]
    assert phones.with_token(old) is None


def test_the_list_is_bounded(phone, phones):
    for number in range(pairing.MOST_PHONES):
        phones.pair(phones.new_code(), f"Phone {number}", "10.0.0.1")
    code = phones.new_code()
    response = pair(phone, code)
    assert response.status_code == 403 and "Remove one" in error_of(response)
    phones.remove(phones.listed()[0]["id"])
    assert pair(phone, code).status_code == 200, "the code was not used up"


def small_app(phones):
    """Guard, pairing, and a route where the log syncs."""
    app = Flask(__name__)
    app.config["HOSTS"] = ("192.168.4.20",)
    guard.protect(app)
    pairing.protect(app, phones, open_paths=())
    status = {"now": 200}

    @app.post("/api/sync")
    def sync():
        return jsonify(kept=[]), status["now"]

    return app, status


def test_a_sync_is_noted_and_renews_the_cookie(phones, clock):
    app, status = small_app(phones)
    phone = app.test_client()
    assert phone.post("/api/sync", json={}, **FROM_PHONE).status_code == 401
    pair(phone, phones.new_code())
    assert phones.listed()[0]["last_sync"] is None
    status["now"] = 422
    phone.post("/api/sync", json={}, **FROM_PHONE)
    assert phones.listed()[0]["last_sync"] is None
    status["now"] = 200
    clock.now = 5000
    response = phone.post("/api/sync", json={}, **FROM_PHONE)
    assert response.headers["Set-Cookie"].startswith("__Host-overbowl=")
    assert phones.listed()[0]["last_sync"] == 5000


def test_a_disk_that_is_full_does_not_fail_the_sync(phones, monkeypatch, tmp_path):
    phones.path = tmp_path / "phones.json"
    app, _ = small_app(phones)
    phone = app.test_client()
    pair(phone, phones.new_code())
    monkeypatch.setattr(pairing.private, "write", _no_space)
    assert phone.post("/api/sync", json={}, **FROM_PHONE).status_code == 200


def _no_space(*_):
    raise OSError(28, "No space left on device")


def test_a_disk_that_is_full_refuses_in_words(app, here, phone, phones, monkeypatch, tmp_path):
    phones.path = tmp_path / "phones.json"
    pair(phone, phones.new_code())
    monkeypatch.setattr(pairing.private, "write", _no_space)
    response = pair(app.test_client(), phones.new_code())
    assert response.status_code == 503 and "No space left" in error_of(response)
    response = here.delete(f"/api/phones/{phones.listed()[0]['id']}")
    assert response.status_code == 503 and "could not be removed" in error_of(response)
    assert len(phones.listed()) == 1, "what the list says is what is kept"


# The file


def test_phones_are_kept_without_their_tokens(tmp_path):
    path = tmp_path / "phones.json"
    first = pairing.Phones(path)
    token, phone = first.pair(first.new_code(), "Blue phone", "10.0.0.1")
    again = pairing.Phones(path)
    assert again.with_token(token) == phone
    assert token not in path.read_text()
    again.remove(phone["id"])
    assert pairing.Phones(path).with_token(token) is None


def test_a_code_is_never_kept(tmp_path):
    phones = pairing.Phones(tmp_path / "phones.json")
    phones.pair(phones.new_code(), "x", "10.0.0.1")
    code = phones.new_code()
    phones.remove(phones.listed()[0]["id"])
    assert code not in (tmp_path / "phones.json").read_text()


@pytest.mark.skipif(os.name != "posix", reason="other systems have no permission bits")
def test_the_file_is_the_owners_only(tmp_path):
    usual = os.umask(0)
    try:
        phones = pairing.Phones(tmp_path / "phones.json")
        phones.pair(phones.new_code(), "x", "10.0.0.1")
    finally:
        os.umask(usual)
    assert stat.S_IMODE((tmp_path / "phones.json").stat().st_mode) == 0o600


@pytest.mark.parametrize(
    "damage",
    [
        "",
        "{",
        "[]",
        "{}",
        '{"format": 2, "phones": []}',
        '{"format": 1, "phones": [{}]}',
        '{"format": 1, "phones": 5}',
        '{"format": 1, "phones": [5]}',
    ],
)
def test_a_damaged_file_is_named_and_left_alone(tmp_path, damage):
    path = tmp_path / "phones.json"
    path.write_text(damage)
    with pytest.raises(pairing.PhonesError, match=r"phones\.json is damaged"):
        pairing.open_phones(tmp_path)
    assert path.read_text() == damage
    path.unlink()
    pairing.open_phones(tmp_path)[1].release()


def test_one_process_at_a_time(tmp_path):
    _, lock = pairing.open_phones(tmp_path)
    with pytest.raises(pairing.PhonesError, match="Another overbowl"):
        pairing.open_phones(tmp_path)
    lock.release()
    pairing.open_phones(tmp_path)[1].release()


def test_the_file_is_readable(tmp_path):
    phones = pairing.Phones(tmp_path / "phones.json", today=lambda: 1767225600)
    phones.pair(phones.new_code(), "Blue phone", "10.0.0.1")
    told = json.loads((tmp_path / "phones.json").read_text())
    assert told["format"] == 1
    assert set(told["phones"][0]) == {"id", "name", "paired", "last_sync", "token_sha256"}
    assert told["phones"][0]["paired"] == 1767225600
