"""Where logs meet: several phones and one server agree in the end, nothing typed is lost, and no body does harm."""

import csv
import io
import json
import os
import re
import shutil
import tempfile
from pathlib import Path

import pytest
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from webapp.forms import records, units
from webapp.log import ledger, merge, sync
from webapp.log.error import LogError
from webapp.log.logfile import Log

NOW = 1_795_590_540_000  # ms; any moment does
YEAR = 365 * 86_400_000  # ms


def client(log):
    app = Flask(__name__)
    app.register_blueprint(sync.blueprint(log))
    return app.test_client()


@pytest.fixture
def log(tmp_path):
    with Log(tmp_path / "log.json", wall=lambda: NOW / 1000, idle=None) as opened:
        yield opened


@pytest.fixture
def server(log):
    return client(log)


def edit(number=1, **more):
    return {
        "id": f"e{number}",
        "record": "p1",
        "kind": "pass",
        "field": "place",
        "value": f"v{number}",
        "at": merge.stamp(NOW + number),
        "device": "d1",
        **more,
    }


def send(server, *edits, cursor=None):
    return server.post("/api/sync", json={"device": "d1", "cursor": cursor, "edits": list(edits)})


# One request


def test_edits_in_and_changed_records_out(server):
    told = send(server, edit(1), edit(2)).get_json()
    assert told["kept"] == ["e1", "e2"] and told["refused"] == [] and told["more"] is False
    [record] = told["records"]
    assert record["fields"]["place"] == [["v2", merge.stamp(NOW + 2), "d1"], ["v1", merge.stamp(NOW + 1), "d1"]]
    again = send(server, edit(1), cursor=told["cursor"]).get_json()
    assert again["kept"] == ["e1"] and again["records"] == [] and again["cursor"] == told["cursor"]


def test_what_is_refused_is_named_with_its_reason_and_the_rest_is_kept(server):
    told = send(server, edit(1), edit(2, field="No"), edit(3, at=merge.stamp(NOW + YEAR)), edit(4, kind="note")).get_json()
    assert told["kept"] == ["e1"]
    assert {item["id"]: item["code"] for item in told["refused"]} == {"e2": "unfit", "e3": "clock", "e4": "kind"}
    assert all(item["why"].endswith(".") for item in told["refused"])


def test_the_log_is_told_in_pieces(server, monkeypatch):
    monkeypatch.setattr(ledger, "LARGEST_PIECE", 400)
    seen, more = [], True
    told = send(server, *(edit(number, record=f"p{number}") for number in range(12))).get_json()
    while more:
        seen += [record["id"] for record in told["records"]]
        more = told["more"]
        told = send(server, cursor=told["cursor"]).get_json()
    assert sorted(seen) == sorted(f"p{number}" for number in range(12))


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, "device"),
        ({"device": "D"}, "device"),
        ({"device": "d", "cursor": 7}, "cursor"),
        ({"device": "d", "cursor": "x" * 81}, "cursor"),
        ({"device": "d", "edits": {}}, "edits"),
        ({"device": "d", "edits": [7]}, "edits"),
        ({"device": "d", "edits": [{"id": 7}]}, "edits"),
        ({"device": "d", "edits": [{"id": "a"}] * 501}, "edits"),
        ({"device": "d", "more": 1}, "more"),
    ],
)
def test_a_request_that_is_wrong_as_a_whole_says_where(server, body, field):
    told = server.post("/api/sync", json=body)
    assert told.status_code == 422 and list(told.get_json()["errors"]) == [field]
    assert told.get_json()["errors"][field][0].endswith(".")


@pytest.mark.parametrize(
    ("data", "kind", "code"),
    [
        (b"{", "application/json", 400),
        (b"[]", "application/json", 400),
        (b"\xff", "application/json", 400),
        (b"[" * 100_000, "application/json", 400),
        (b"{}", "text/plain", 415),
        (b" " * (sync.LARGEST_BODY + 1), "application/json", 413),
        (b'{"device": ' + b"9" * 5000 + b"}", "application/json", 400),
    ],
)
def test_a_body_that_is_no_request(server, data, kind, code):
    told = server.post("/api/sync", data=data, content_type=kind)
    assert told.status_code == code and list(told.get_json()["errors"]) == ["form"]


def test_a_log_that_cannot_be_written_is_no_fault_of_the_request(server, log, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    told = send(server, edit(1))
    assert told.status_code == 503 and "No space left on device" in told.get_json()["errors"]["log"][0]
    monkeypatch.undo()
    assert send(server, edit(1)).get_json()["kept"] == ["e1"]


# Taking the log away


def test_the_json_export_is_a_log_file(server, log, tmp_path):
    send(server, edit(1), edit(2), edit(3, record="n1", kind="note"))
    told = server.get("/api/export.json")
    assert told.mimetype == "application/json" and "attachment" in told.headers["Content-Disposition"]
    (tmp_path / "copy.json").write_bytes(told.data)
    with Log(tmp_path / "copy.json", idle=None) as copy:
        assert list(copy.snapshot()()) == list(log.snapshot()())


def table(server):
    told = server.get("/api/export.csv")
    assert told.content_type == "text/csv; charset=utf-8"
    text = told.data.decode("utf-8")
    assert text.startswith("\ufeff")
    return list(csv.reader(io.StringIO(text[1:], newline="")))


def psi(text):
    si, unit = units.read_text("gauge_pressure", f"{text} psi", None, None)
    return {"si": si, "text": text, "unit": unit}


def test_the_table_has_a_row_a_pass_and_units_in_the_header(server):
    send(
        server,
        edit(1, field="hat", value=psi("18")),
        edit(2, field="number", value=3),
        edit(3, field="good", value=True),
        edit(4, record="p2", field="hat", value=psi("20.5")),
        edit(5, record="p2", field="place", value='Süd, "B"\nneu'),
        edit(6, record="n1", kind="note"),
        edit(7, record="p3"),
        edit(8, record="p3", field=merge.DELETED, value=True),
    )
    assert table(server) == [
        ["pass", "hat (psi)", "number", "good", records.PassRecord.describe_fields()[1]["label"]],
        ["p1", "18", "3", "yes", ""],
        ["p2", "20.5", "", "", 'Süd, "B"\nneu'],
    ]


def test_a_column_is_in_the_unit_most_often_typed_and_the_rest_is_converted(server):
    # 1 psi = 6894.757 Pa (NIST SP 811, table B.8), so 100 kPa is 14.5038 psi.
    kilopascal = {"si": 100_000, "text": "100", "unit": "kPa", "kind": "gauge_pressure"}
    send(
        server,
        *(edit(number, record=f"p{number}", field="hat", value=psi("18")) for number in (1, 2)),
        edit(3, record="p3", field="hat", value=kilopascal),
    )
    rows = table(server)
    assert rows[0] == ["pass", "hat (psi)"] and [row[1] for row in rows[1:3]] == ["18", "18"]
    assert float(rows[3][1]) == pytest.approx(14.5038, abs=5e-5)


def test_what_looks_measured_but_is_not_is_written_as_it_is(server):
    odd = [
        {"si": "x", "unit": "psi"},
        {"si": 1, "unit": "furlong"},
        {"si": 1, "unit": "psi", "kind": []},
        [1, {"a": None}],
        ["a", "b"],
        None,
        -2.5,
    ]
    send(server, *(edit(number, record=f"p{number}", field="hat", value=value) for number, value in enumerate(odd)))
    cells = {row[0]: row[1:] for row in table(server)[1:]}
    assert cells["p0"][0] == '{"si":"x","unit":"psi"}' and cells["p4"][0] == "a; b" and cells["p5"][0] == "" and cells["p6"][0] == "-2.5"


# OWASP, "CSV Injection": cells that begin with one of = + - @ tab or carriage return are taken for formulas.
@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "+1+1",
        "-1+1",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        " =1",
        "＝1+1",
        "a;=1+1",
        "a\t@x",
        "\u00a0=1",
        "\ufeff=1",
        "lifted early\n=1+1",
        "a\r\n +1+1",
        "a\u2028@x",
    ],
)
def test_text_like_a_formula_is_made_safe(server, text):
    send(server, edit(1, value=text))
    cell = table(server)[1][1]
    assert cell != text and cell.replace("'", "") == text
    for part in re.split("[;\t\r\n\u2028]", cell):
        assert not part.strip("\ufeff ").startswith(("=", "+", "-", "@", "＝"))


@pytest.mark.parametrize("text", ["-5", "+5.5", "1e5", "north strip", "jets 72, plugs -1", "", "'quoted'"])
def test_text_that_is_no_formula_is_left_alone(server, text):
    send(server, edit(1, value=text))
    assert table(server)[1][1] == text


# Bodies of all sorts


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(["\ud800", "x" * 9000, "__proto__", "\x00", 10**400]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


def almost(strategy):
    """Mostly what fits, now and then anything."""
    return st.one_of(strategy, strategy, strategy, JSON)


EDITS = st.fixed_dictionaries(
    {
        "id": almost(st.sampled_from(["e1", "e2", "e3"])),
        "record": almost(st.sampled_from(["p1", "p2"])),
        "kind": almost(st.sampled_from(merge.KINDS)),
        "field": almost(st.sampled_from(["place", "boost", merge.DELETED])),
        "value": JSON,
        "at": almost(st.builds(merge.stamp, st.integers(0, NOW * 2), st.integers(0, 0xFFFF))),
        "device": almost(st.just("d1")),
    },
    optional={"more": JSON, "settled": almost(st.just(True))},
)
BODIES = st.fixed_dictionaries(
    {"device": almost(st.just("d1"))},
    optional={"cursor": almost(st.none() | st.text(max_size=12)), "edits": almost(st.lists(almost(EDITS), max_size=4)), "more": JSON},
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
@given(st.one_of(BODIES, JSON))
def test_no_body_gives_a_fault_or_harms_the_file(server, log, body):
    told = server.post("/api/sync", data=json.dumps(body), content_type="application/json")
    assert 200 <= told.status_code < 300 or 400 <= told.status_code < 500, told.data
    answer = json.loads(told.data)
    if told.status_code == 200:
        assert len(answer["kept"]) + len(answer["refused"]) == len(body.get("edits", []))
    else:
        assert all(isinstance(sentence, str) for sentences in answer["errors"].values() for sentence in sentences)
    log.fold()
    stored = json.loads(log.path.read_bytes())
    copy = log.path.with_name("copy.json")
    shutil.copy(log.path, copy)
    with Log(copy, idle=None) as again:
        assert list(again.snapshot()()) == list(log.snapshot()())
        assert len(again) == len(stored["records"])
    for left in log.path.parent.glob("copy.json*"):
        left.unlink()


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=200))
def test_no_bytes_give_a_fault(server, data):
    assert 400 <= server.post("/api/sync", data=data, content_type="application/json").status_code < 500


# Several phones, one server


class Phone:
    """The phone's side of sync as static/log does it, in few lines; the browser tests run the real one."""

    def __init__(self, name):
        self.name = name
        self.error = 0  # ms that its clock is ahead
        self.base, self.outbox, self.refused = {}, {}, {}
        self.cursor, self.era, self.sweep = None, None, False
        self.round, self.rounds = 0, {}
        self.last = self.seen = merge.stamp(0)
        self.skew, self.made = 0, 0

    def write(self, now, record, kind, field, value):
        after = max(self.last, self.seen)
        self.last = following(now + self.error - self.skew, after)
        self.made += 1
        made = {
            "id": f"{self.name}-{self.made}",
            "record": record,
            "kind": kind,
            "field": field,
            "value": value,
            "at": self.last,
            "device": self.name,
        }
        self.outbox[made["id"]] = (made, after)

    def shown(self, record):
        held = self.base.get(record)
        for made, _ in [*self.outbox.values(), *self.refused.values()]:
            held = merge.merge(held, made) if made["record"] == record else held
        return held

    def records(self):
        return {made["record"] for made, _ in self.outbox.values()} | set(self.base)

    def ask(self, most=3):
        waiting = [made for made, _ in self.outbox.values()]
        waiting = [made for made in waiting if "settled" in made] or waiting
        return {"device": self.name, "cursor": self.cursor, "edits": waiting[:most]}

    def take_in(self, told, now, asked):
        if asked["cursor"] != self.cursor:
            return
        if told["era"] != self.era:
            self.era, self.sweep, self.round = told["era"], True, self.round + 1
        skew = now + self.error - told["now"]
        self.skew = skew if abs(skew) > 60_000 else 0
        sent = {made["id"]: made for made in asked["edits"]}
        for kept in told["kept"]:
            if self.outbox.pop(kept, None):
                record = sent[kept]["record"]
                self.rounds.setdefault(record, self.round)
                self.base[record] = merge.merge(self.base.get(record), sent[kept])
        for item in told["refused"]:
            if item["code"] != "clock" and item["id"] in self.outbox:
                self.refused[item["id"]] = self.outbox.pop(item["id"])
        if any(item["code"] == "clock" for item in told["refused"]):
            self.stamp_again(skew, told)
        for record in told["records"]:
            self.rounds[record["id"]] = self.round
            self.send_back(self.base.get(record["id"]), record)
            self.base[record["id"]] = record
            self.seen = max(self.seen, *(made["at"] for made in merge.edits_of(record)))
        if self.sweep and not told["more"]:
            for record in [record for record in self.base if self.rounds[record] != self.round]:
                self.send_back(self.base.pop(record), None)
                del self.rounds[record]
            self.sweep = False
        self.cursor = told["cursor"]

    def stamp_again(self, skew, told):
        if self.sweep or any("settled" in made for made, _ in self.outbox.values()):
            return
        bound, last = merge.stamp(told["latest"], 0xFFFF), merge.stamp(0)
        for name, (made, after) in sorted(self.outbox.items(), key=lambda item: item[1][0]["at"]):
            if made["at"] > bound:
                knew = merge.stamp(0) if after > bound else after
                last = following(min(merge.milliseconds(made["at"]) - skew, told["now"]), max(knew, last))
                self.outbox[name] = ({**made, "at": last}, after)
        if merge.milliseconds(self.last) > told["latest"] and last > merge.stamp(0):
            self.last = last
        if merge.milliseconds(self.seen) > told["latest"]:
            self.seen = merge.stamp(told["now"], 0xFFFF)

    def send_back(self, known, theirs):
        held = [{**made} for made in merge.edits_of(theirs)] if theirs else []
        for made in merge.edits_of(merge.heal(known)) if known else []:
            if made not in held:
                self.made += 1
                name = f"{self.name}-{self.made}"
                self.outbox[name] = ({"id": name, **made, "settled": True}, merge.stamp(0))


def following(now, after):
    told = merge.stamp(max(0, now))
    if told > after:
        return told
    return merge.following(after)


RECORDS = ["p1", "p2", "n1"]
KIND = {"p1": "pass", "p2": "pass", "n1": "note"}


class Season(RuleBasedStateMachine):
    """Edits, deletes, restores, lost answers, repeats, wrong clocks, restarts, kills, an old copy put back."""

    @initialize()
    def begin(self):
        self.folder = Path(tempfile.mkdtemp())
        self.piece, ledger.LARGEST_PIECE = ledger.LARGEST_PIECE, 300
        self.now = NOW
        self.server_error = 0
        self.phones = [Phone(name) for name in "abc"]
        self.typed = []
        self.late = []
        self.count = 0
        self.saved = None
        self.start()

    def start(self):
        self.log = Log(self.folder / "log.json", wall=lambda: (self.now + self.server_error) / 1000, idle=None)
        self.server = client(self.log)

    def teardown(self):
        if hasattr(self, "folder"):
            try:
                self.all_agree()
            finally:
                ledger.LARGEST_PIECE = self.piece
                self.log.close()
                shutil.rmtree(self.folder)

    phone = st.integers(0, 2)

    @rule(
        phone=phone, record=st.sampled_from(RECORDS), field=st.sampled_from(["place", "boost"]), wait=st.sampled_from([0, 1, 50, 3_600_000])
    )
    def type(self, phone, record, field, wait):
        self.now += wait
        self.count += 1
        value = f"v{self.count}"
        self.phones[phone].write(self.now, record, KIND[record], field, value)
        self.typed.append((record, field, value))
        # What one types is what one sees, whatever the clock says.
        assert self.phones[phone].shown(record)["fields"][field][0][0] == value

    @rule(phone=phone, record=st.sampled_from(RECORDS), gone=st.booleans())
    def delete_or_restore(self, phone, record, gone):
        if self.phones[phone].shown(record):
            self.phones[phone].write(self.now, record, KIND[record], merge.DELETED, gone)
            assert merge.is_deleted(self.phones[phone].shown(record)) == gone

    @rule(
        phone=phone, fate=st.sampled_from(["arrives", "arrives", "arrives", "lost on the way", "answer lost", "sent twice", "answer late"])
    )
    def sync(self, phone, fate):
        phone = self.phones[phone]
        if fate == "lost on the way":
            return
        asked = phone.ask()
        told = self.post(asked)
        if fate == "answer lost":
            return
        if fate == "answer late":
            self.late.append((phone, told, asked))
            return
        if fate == "sent twice":
            told = self.post(asked)
        phone.take_in(told, self.now, asked)

    @rule()
    @precondition(lambda self: self.late)
    def a_late_answer_arrives(self):
        phone, told, asked = self.late.pop(0)
        phone.take_in(told, self.now, asked)

    @rule(phone=phone, error=st.sampled_from([0, 0, 30_000, 400_000, YEAR, -YEAR, 20 * YEAR]))
    def the_phones_clock_is_changed(self, phone, error):
        self.phones[phone].error = error

    @rule(error=st.sampled_from([0, 0, 400_000, YEAR, -40 * YEAR]))
    def the_servers_clock_is_changed(self, error):
        self.server_error = error

    @rule(how=st.sampled_from(["stop", "kill", "fold"]))
    def restart(self, how):
        if how == "fold":
            return self.log.fold()
        if how == "stop":
            self.log.close()
        else:
            self.log.store.close()
        self.start()

    @rule()
    def save_a_copy(self):
        self.log.fold()
        self.saved = (self.folder / "log.json").read_bytes()

    @rule()
    @precondition(lambda self: self.saved)
    def put_the_copy_back(self):
        self.log.close()
        (self.folder / "log.json").write_bytes(self.saved)
        self.start()

    @invariant()
    def no_stamp_is_far_ahead_of_all_clocks_the_server_ever_had(self):
        if hasattr(self, "log"):
            assert self.log.clock()[0] <= self.now + YEAR + ledger.DRIFT + 1000

    def post(self, asked):
        told = self.server.post("/api/sync", json=asked)
        assert told.status_code == 200, told.data
        told = told.get_json()
        assert all(item["code"] == "clock" for item in told["refused"])
        return told

    def finish(self, phone):
        for _ in range(200):
            asked = phone.ask()
            told = self.post(asked)
            phone.take_in(told, self.now, asked)
            if not told["more"] and not phone.outbox:
                return
        raise AssertionError("a phone never came to rest")

    def all_agree(self):
        for _ in range(3):
            for phone in self.phones:
                self.finish(phone)
        server = {record["id"]: record for record in self.log.snapshot()()}
        for phone in self.phones:
            assert phone.base == server and not phone.refused
        for record, field, value in self.typed:
            assert value in [entry[0] for entry in server[record]["fields"][field]]
        # A wrong clock does not win for ever: who types now, having seen all, wins.
        for phone in self.phones:
            self.count += 1
            value = f"v{self.count}"
            phone.write(self.now, "p1", "pass", "place", value)
            self.finish(phone)
            for other in self.phones:
                self.finish(other)
                assert other.base["p1"]["fields"]["place"][0][0] == value


Season.TestCase.settings = settings(max_examples=40, stateful_step_count=40, deadline=None)
TestSeason = Season.TestCase


def test_wrong_clocks_keep_the_order_in_which_things_were_typed(tmp_path):
    """A phone a year ahead types at noon, another at one o'clock, both offline; the later one shows, though it syncs first."""
    now = [NOW]
    with Log(tmp_path / "log.json", wall=lambda: now[0] / 1000, idle=None) as log:
        server = client(log)
        ahead, right = Phone("ahead"), Phone("right")
        ahead.error = YEAR
        ahead.write(now[0], "p1", "pass", "place", "noon")
        ahead.write(now[0], "p1", "pass", "place", "just after noon")
        now[0] += 3_600_000
        right.write(now[0], "p1", "pass", "place", "one o'clock")
        now[0] += 3_600_000
        for phone in (right, ahead, ahead, ahead, right):
            asked = phone.ask()
            phone.take_in(server.post("/api/sync", json=asked).get_json(), now[0], asked)
        assert not ahead.outbox and ahead.base == right.base
        assert [entry[0] for entry in right.base["p1"]["fields"]["place"]] == ["one o'clock", "just after noon", "noon"]


def test_a_lost_server_is_filled_again_by_a_phone(tmp_path):
    phone = Phone("a")
    for folder in ("first", "second"):
        (tmp_path / folder).mkdir()
        with Log(tmp_path / folder / "log.json", wall=lambda: NOW / 1000, idle=None) as log:
            server = client(log)
            if folder == "first":
                for number in range(5):
                    phone.write(NOW, f"p{number}", "pass", "place", f"v{number}")
            for _ in range(5):
                asked = phone.ask()
                phone.take_in(server.post("/api/sync", json=asked).get_json(), NOW, asked)
            assert len(log) == 5 and not phone.outbox


def test_log_errors_are_told_by_every_route(tmp_path, monkeypatch):
    with Log(tmp_path / "log.json", idle=None) as log:

        def fail(*_):
            raise LogError("The log is away.")

        monkeypatch.setattr(log, "apply", fail)
        told = client(log).post("/api/sync", json={"device": "d"})
        assert (told.status_code, told.get_json()) == (503, {"errors": {"log": ["The log is away."]}})


def test_an_older_copy_put_back_is_noticed_whoever_syncs_first(tmp_path):
    """Phone B passes the copy's number before A, who was told more, syncs again."""

    def sync(*phones):
        with Log(tmp_path / "log.json", wall=lambda: NOW / 1000, idle=None) as log:
            server = client(log)
            for phone in phones:
                for _ in range(9):
                    asked = phone.ask()
                    phone.take_in(server.post("/api/sync", json=asked).get_json(), NOW, asked)
            return {record["id"]: record for record in log.snapshot()()}

    a, b = Phone("a"), Phone("b")
    for number in range(5):
        a.write(NOW, f"p{number}", "pass", "place", "both")
    sync(a, b)
    shutil.copy(tmp_path / "log.json", tmp_path / "copy")
    for number in range(3):
        a.write(NOW, f"a{number}", "pass", "place", "a alone")
    sync(a)
    shutil.copy(tmp_path / "copy", tmp_path / "log.json")
    for number in range(6):
        b.write(NOW, f"b{number}", "pass", "place", "b alone")
    log = sync(b, a, b)
    assert len(log) == 14 and a.base == log == b.base
