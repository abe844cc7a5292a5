"""The HTTP side: errors of one shape, never a 500, and only the machine's own names and pages are served."""

import copy
import gzip
import hashlib
import json
import math
import struct

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from webapp import forms
from webapp.access import guard
from webapp.app import create_app
from webapp.forms import FORMS, records, units
from webapp.page import assets, described

GOOD = {"inputs": {"base_pressure": "6 psi", "boost": "20 psi", "pump_pressure_limit": "30 psi"}}


@pytest.fixture(scope="module")
def app():
    return create_app({"TESTING": False})


@pytest.fixture
def client(app):
    return app.test_client()


def assert_error(response, code, field="form"):
    """The one error shape: {"errors": {field: [sentence, ...]}}."""
    assert response.status_code == code
    errors = response.get_json()["errors"]
    assert field in errors
    assert all(isinstance(sentence, str) and sentence.endswith(".") for sentences in errors.values() for sentence in sentences)


def test_answer(client):
    response = client.post("/api/calc/fuel-pressure", json=GOOD)
    assert response.status_code == 200
    body = response.get_json()
    assert body["results"]["required_pressure"] == pytest.approx(26 * 6894.757293168361)
    assert body["assumed"] == {"regulator_ratio": 1.0, "margin": pytest.approx(6894.757293168361)}
    assert all(isinstance(note, str) for note in body["notes"])


def test_forms_describe_every_calculator_and_unit(client):
    told = client.get("/api/forms").get_json()
    assert [form["name"] for form in told["forms"]] == list(FORMS)
    assert told["kinds"]["gauge_pressure"]["us"] == "psi"


def test_health(client):
    assert client.get("/healthz").get_json()["status"] == "ok"


@pytest.mark.parametrize(
    "path, code", [("/api/calc/none-such", 404), ("/none-such", 404), ("/static/none-such.js", 404), ("/static/../calc/air.py", 404)]
)
def test_no_such_address(client, path, code):
    assert_error(client.post(path, json=GOOD) if path.startswith("/api") else client.get(path), code)


def test_wrong_method(client):
    assert_error(client.get("/api/calc/fuel-pressure"), 405)


@pytest.mark.parametrize(
    "body, type, code",
    [
        (b"", "application/json", 400),
        (b"{", "application/json", 400),
        (b"[]", "application/json", 400),
        (b"{}", "application/json", 400),
        (b'{"inputs": {}}', "text/plain", 415),
        (b"\xff\xfe", "application/json", 400),
        (b"[" * 100_000, "application/json", 400),
        (b'{"inputs": [1]}', "application/json", 422),
        (b'{"inputs": {}, "more": 1}', "application/json", 400),
        (b" " * 300_000, "application/json", 413),
        (b'{"inputs": {"boost": NaN}}', "application/json", 422),
        (b'{"inputs": {"boost": 1e999}}', "application/json", 422),
    ],
)
def test_bad_bodies(client, body, type, code):
    response = client.post("/api/calc/fuel-pressure", data=body, content_type=type)
    assert response.status_code == code
    assert response.get_json()["errors"]


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["6 psi", "station", "petrol", "blend"]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_rubbish_is_never_a_500(app, data):
    name = data.draw(st.sampled_from(sorted(FORMS)))
    keys = st.sampled_from(list(FORMS[name]().fields)) | st.text(max_size=6)
    inputs = data.draw(st.dictionaries(keys, JSON, max_size=6) | JSON)
    response = app.test_client().post(f"/api/calc/{name}", data=json.dumps({"inputs": inputs}), content_type="application/json")
    assert response.status_code in (200, 422)


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "localhost@evil.example", "10.0.0.1", "[::2]", "[", "a/b"])
def test_foreign_hosts_are_refused(client, host):
    assert_error(client.get("/", headers={"Host": host}), 421)


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8087", "localhost:8087", "LOCALHOST", "[::1]:8087"])
def test_own_hosts_are_served(client, host):
    assert client.get("/healthz", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://localhost:9999", "Host": "localhost:8087"},
    ],
)
def test_cross_site_writes_are_refused(client, headers):
    assert_error(client.post("/api/calc/fuel-pressure", json=GOOD, headers=headers), 403)


def test_own_page_may_write(client):
    headers = {"Origin": "http://localhost:8087", "Host": "localhost:8087", "Sec-Fetch-Site": "same-origin"}
    assert client.post("/api/calc/fuel-pressure", json=GOOD, headers=headers).status_code == 200


@pytest.mark.parametrize("path", ["/", "/healthz", "/api/forms", "/none-such", "/calc.js", "/sw.js"])
def test_security_headers_on_every_response(client, path):
    headers = client.get(path).headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "script-src 'self';" in policy and "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy and "http" not in policy, "no third party, nothing inline"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert "Server" not in headers or "waitress" not in headers["Server"]


@pytest.mark.parametrize("path", ["/", "/calc-{}.js", "/api/forms", "/forms.json", "/page-{}.js", "/static/page-{}.css"])
def test_compressed_and_the_same(client, path):
    path = path.format(client.get("/forms.json").json["edition"])
    plain = client.get(path)
    packed = client.get(path, headers={"Accept-Encoding": "gzip"})
    assert packed.headers["Content-Encoding"] == "gzip" and "Accept-Encoding" in packed.headers["Vary"]
    assert gzip.decompress(packed.data) == plain.data
    assert len(packed.data) < len(plain.data)


def test_long_answers_are_compressed(client):
    packed = client.post("/api/calc/fuel-pressure", json=GOOD, headers={"Accept-Encoding": "gzip"})
    assert json.loads(gzip.decompress(packed.data))["results"]["state"] is None


def test_the_worker_knows_every_file_as_it_is_served(client):
    worker = client.get("/sw.js").text
    digests = json.loads(worker.split("const DIGESTS = ", 1)[1].split(";\n", 1)[0])
    edition = client.get("/forms.json").json["edition"]
    assert {"/", f"/calc-{edition}.js", f"/page-{edition}.js", "/forms.json", "/manifest.webmanifest"} <= set(digests)
    for path, digest in digests.items():
        assert hashlib.sha256(client.get(path).data).hexdigest() == digest


def relabel(told):
    """Another label on the first field of a form."""
    told[0]["fields"][0]["label"] += "!"
    return told


def scale(kinds):
    """Another last digit in a unit, as another pint may give."""
    unit = kinds["gauge_pressure"]["units"][0]
    unit["scale"] = math.nextafter(unit["scale"], math.inf)
    return kinds


CHANGES = {
    "a label": (forms, "describe_all", relabel),
    "a unit": (units, "kinds", scale),
    "a record's field": (records, "describe", lambda told: told | {"pass": {**told["pass"], "groups": []}}),
}


def version_of(assets_now):
    version = json.loads(assets_now["/forms.json"].body)["version"]
    assert version == json.loads(assets_now["/api/forms"].body)["version"]
    return version


@pytest.mark.parametrize("what", CHANGES)
def test_any_change_of_what_the_page_is_drawn_from_is_another_version(monkeypatch, what):
    place, name, change = CHANGES[what]
    before, original = version_of(assets.all_assets()), getattr(place, name)
    monkeypatch.setattr(place, name, lambda: change(copy.deepcopy(original())))
    assert version_of(assets.all_assets.__wrapped__()) != before


@pytest.mark.parametrize("what", ["the policy", "the worker", "the release", "a file", "a type"])
def test_any_change_of_what_is_served_is_another_version(monkeypatch, what):
    before, read = version_of(assets.all_assets()), assets._read
    changes = {
        "the policy": lambda: monkeypatch.setattr(guard, "POLICY", guard.POLICY + "; object-src 'none'"),
        "the worker": lambda: monkeypatch.setattr(assets, "_read", lambda name: read(name) + ("\nlet more;" if name == "sw.js" else "")),
        "the release": lambda: monkeypatch.setattr(described, "__version__", "0.0.0"),
        "a file": lambda: monkeypatch.setattr(assets, "_read", lambda name: read(name) + ("\nlet more;" if name == "start.js" else "")),
        "a type": lambda: monkeypatch.setitem(assets.TYPES, ".svg", "text/plain"),
    }
    changes[what]()
    assert version_of(assets.all_assets.__wrapped__()) != before


def test_the_same_is_the_same_version():
    assert version_of(assets.all_assets.__wrapped__()) == version_of(assets.all_assets())


def test_what_the_page_has_is_not_sent_to_its_worker_again(client):
    """The worker asks again for what the page has just fetched; the same tag is answered with no body."""
    for packed in ({}, {"Accept-Encoding": "gzip"}):
        first = client.get("/page.js", headers=packed)
        again = client.get("/page.js", headers={**packed, "If-None-Match": first.headers["ETag"]})
        assert (again.status_code, again.data) == (304, b"")
        assert first.headers["Cache-Control"] == "no-cache", "kept, and asked for anew each time"


def test_manifest_names_icons_that_exist(client):
    manifest = json.loads(client.get("/manifest.webmanifest").data)
    assert any(icon["purpose"] == "maskable" for icon in manifest["icons"])
    for icon in manifest["icons"]:
        response = client.get(icon["src"])
        assert response.status_code == 200 and response.content_type.split(";")[0] == icon["type"]


def test_manifest_shows_the_page_on_a_phone_and_on_a_laptop(client):
    """W3C, Web Application Manifest: `screenshots` with their true sizes, `form_factor`, `categories`, `lang`."""
    manifest = client.get("/manifest.webmanifest").get_json(force=True)
    assert manifest["lang"] == "en" and manifest["categories"]
    assert {shown["form_factor"] for shown in manifest["screenshots"]} == {"narrow", "wide"}
    for shown in manifest["screenshots"]:
        picture = client.get(shown["src"])
        width, height = struct.unpack(">II", picture.data[16:24])  # PNG (ISO/IEC 15948): the header chunk begins with both
        assert picture.status_code == 200 and shown["sizes"] == f"{width}x{height}" and shown["label"]
    assert {shortcut["url"] for shortcut in manifest["shortcuts"]} == {"/#/passes/new", "/#/supply"}


def test_unchanged_files_are_not_sent_again(client):
    tag = client.get("/calc.js").headers["ETag"]
    assert client.get("/calc.js", headers={"If-None-Match": tag}).status_code == 304
