"""The phone's own log in a real browser: its merging is Python's, and nothing typed is lost, whatever is killed or cut off."""

import json
import os
import random
import signal
import threading
import time
from contextlib import suppress
from functools import partial
from pathlib import Path

import pytest
from flask import Flask, Response
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.serving import make_server

from tests import test_merge, test_shapes, test_sync
from tests.browser.conftest import ARGUMENTS, find_chromium, open_context, ready
from webapp.log import merge, shapes, sync
from webapp.log.logfile import Log
from webapp.page import assets

YEAR = 365 * 86_400_000  # ms


class Home:
    """The server at home, in this process: it can be stopped, started, killed, given a wrong clock or an older file."""

    def __init__(self, folder):
        self.folder = folder
        self.error = 0.0  # s that its clock is ahead
        self.open = False
        self.asked = []
        self.door = make_server("127.0.0.1", 0, self.answer, threaded=True)
        self.url = f"http://127.0.0.1:{self.door.server_port}"
        self.thread = threading.Thread(target=self.door.serve_forever, args=(0.05,), daemon=True)
        self.thread.start()
        self.start()

    def start(self):
        self.log = Log(self.folder / "log.json", wall=lambda: time.time() + self.error, idle=None)
        self.app = Flask("home", static_folder=None)
        self.app.register_blueprint(sync.blueprint(self.log))
        self.app.add_url_rule("/", "blank", lambda: "<!doctype html><title>blank</title>")
        for path in (name for name, asset in assets.all_assets().items() if asset.type == "text/javascript"):
            self.app.add_url_rule(path, path, partial(Response, assets.all_assets()[path].body, mimetype="text/javascript"))
        self.open = True

    def answer(self, environ, start_response):
        self.asked += ["/api/sync"] if environ["PATH_INFO"] == "/api/sync" else []
        if not self.open and environ["PATH_INFO"] == "/api/sync":
            start_response("503 Service Unavailable", [("Content-Type", "text/plain")])
            return [b"closed"]
        return self.app(environ, start_response)

    def stop(self):
        self.open = False
        self.log.close()

    def kill(self):
        self.open = False
        self.log.store.close()

    def records(self):
        return {record["id"]: record for record in self.log.snapshot()()}

    def end(self):
        if self.open:
            self.stop()
        self.door.shutdown()
        self.thread.join()
        self.door.server_close()


@pytest.fixture
def home(tmp_path):
    home = Home(tmp_path)
    yield home
    home.end()


OPEN = """async ([name, options]) => {
  const { openLog } = (await import("/page.js")).m_log_log;
  window.phones ??= {};
  window.clock ??= {};
  window.fate ??= {};
  const fetch = async (...sent) => {
    const fate = window.fate[name] ?? "arrives";
    if (fate === "lost on the way") throw new TypeError("no network");
    const answer = await window.fetch(...sent);
    if (fate === "answer lost") throw new TypeError("connection reset");
    if (fate === "sent twice") return window.fetch(...sent);
    return answer;
  };
  const now = () => Date.now() + (window.clock[name] ?? 0);
  window.phones[name] = await openLog({ name, fetch, now, triggers: false, ...options });
}"""


class Phone:
    """A log in a page of the browser, by name."""

    def __init__(self, page, home, name="one", **options):
        self.page, self.name = page, name
        if not page.url.startswith(home.url):
            page.goto(home.url)
        page.evaluate(OPEN, [name, options])

    def do(self, what, *arguments):
        """Call a method of the log, or give the sentence that it ends in."""
        return self.page.evaluate(
            """async ([name, what, given]) => {
          try { return await window.phones[name][what](...given); } catch (error) { return { sentence: error.message }; }
        }""",
            [self.name, what, list(arguments)],
        )

    def type(self, record, field, value, kind="pass"):
        return self.do("save", record, kind, {field: value})

    def shown(self, record, field):
        view = self.do("get", record)
        return view and view["values"].get(field)

    def base(self):
        return self.page.evaluate(
            """async (name) => {
          const { ask } = (await import("/page.js")).m_log_db;
          return window.phones[name].db.read(async ({ base }) => (await ask(base.getAll())).map(({ text }) => JSON.parse(text)));
        }""",
            self.name,
        )

    def set_clock(self, error):
        self.page.evaluate("([name, error]) => { window.clock[name] = error; }", [self.name, error])

    def set_fate(self, fate):
        self.page.evaluate("([name, fate]) => { window.fate[name] = fate; }", [self.name, fate])


@pytest.fixture
def phone(page, home):
    return Phone(page, home)


# The same rule as Python's


# Where one stamp was given twice under one name, the text decides; plain text, since only the server's word counts there.
PLAIN = (
    st.none()
    | st.booleans()
    | st.integers(-9, 9)
    | st.text("ab", max_size=2)
    | st.fixed_dictionaries({"si": st.integers(0, 3), "text": st.text("01", max_size=1)})
)
EDITS = st.builds(
    lambda field, value, at, device: {"id": "e", "record": "r", "kind": "pass", "field": field, "value": value, "at": at, "device": device},
    st.sampled_from(["place", "recording", "constructor"]),
    PLAIN,
    test_merge.STAMPS,
    test_merge.DEVICES,
)


def test_merging_is_pythons(page, home):
    page.goto(home.url)

    @settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(EDITS, min_size=1, max_size=9))
    def same(edits):
        record = page.evaluate(
            """async (edits) => {
          const { merge, isDeleted } = (await import("/page.js")).m_log_merge;
          const record = edits.reduce(merge, null);
          return { record, known: edits.every((edit) => merge(record, edit) === record), deleted: isDeleted(record) };
        }""",
            edits,
        )
        assert record == {"record": test_merge.fold(edits), "known": True, "deleted": False}

    same()


def test_the_clock_is_pythons(page, home):
    page.goto(home.url)

    @settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.integers(0, 2**42), st.integers(-2, 2), st.sampled_from([0, 1, 0xFFFE, 0xFFFF]))
    def same(ms, lead, count):
        after = merge.stamp(ms, count)
        told = page.evaluate(
            """async ([ms, lead, count, after]) => {
          const { stamp, milliseconds, next } = (await import("/page.js")).m_log_clock;
          return [stamp(ms, count), milliseconds(after), next(ms + lead, after)];
        }""",
            [ms, lead, count, after],
        )
        assert told == [after, ms, test_sync.following(ms + lead, after)] and told[2] > after

    same()


STAMPS = st.one_of(
    st.builds(merge.stamp, st.integers(0, 253_370_764_800_000), st.integers(0, 0xFFFF)),
    st.builds(
        "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z-{:04x}".format,
        st.sampled_from([0, 999, 1000, 1969, 1970, 2024, 2026, 2100, 8999, 9000, 9998, 9999]) | st.integers(0, 9999),
        st.integers(0, 13),
        st.integers(0, 32),
        st.sampled_from([0, 12, 23, 24, 25]),
        st.sampled_from([0, 59, 60]),
        st.sampled_from([0, 59, 60, 61]),
        st.sampled_from([0, 999]),
        st.integers(0, 0xFFFF),
    ),
    st.sampled_from(["", "x", "2026-11-25T07:09:00.123Z", "2026-11-25T07:09:00.123Z-000G", "2026-11-25T07:09:00.123Z-0000\n"]),
)


def test_stamps_and_healing_are_pythons(page, home):
    page.goto(home.url)

    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(STAMPS, min_size=1, max_size=30), st.randoms(use_true_random=False))
    def same(texts, randomly):
        good = [text for text in texts if merge.is_stamp(text)]
        record = None
        for at in good:
            edit = {"record": "r", "kind": "pass", "field": randomly.choice("ab"), "value": randomly.choice("xyz"), "at": at, "device": "d"}
            record = merge.merge(record, edit)
        told = page.evaluate(
            """async ([texts, record]) => {
          const page = await import("/page.js");
          return [texts.map(page.m_log_clock.isStamp), record && page.m_log_merge.heal(record)];
        }""",
            [texts, record],
        )
        assert told == [[merge.is_stamp(text) for text in texts], record and merge.heal(record)]

    same()


def test_stamping_again_is_the_models(page, home):
    page.goto(home.url)
    now = test_sync.NOW
    moments = st.integers(now - 10_000, now + 10_000) | st.integers(now + YEAR - 10_000, now + YEAR + 10_000)
    stamps = st.builds(merge.stamp, moments, st.integers(0, 3))

    @settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(st.tuples(stamps, stamps), max_size=6, unique_by=lambda pair: pair[0]), st.sampled_from([0, YEAR, -YEAR]))
    def same(pairs, skew):
        model = test_sync.Phone("a")
        model.outbox = {f"e{n}": ({"id": f"e{n}", "at": at}, after) for n, (at, after) in enumerate(pairs)}
        told = {"now": now, "latest": now + 300_000}
        before = dict(model.outbox)
        model.stamp_again(skew, told)
        expected = {name: made["at"] for name, (made, _) in model.outbox.items() if made is not before[name][0]}
        waiting = [{"edit": made, "after": after} for made, after in before.values()]
        again = page.evaluate(
            """async ([waiting, told]) => (await import("/page.js")).m_log_clock.stampAgain(waiting, told)""",
            [waiting, {"skew": skew, **told}],
        )
        assert {entry["edit"]["id"]: entry["edit"]["at"] for entry in again["again"]} == expected
        order = [at for _, at in sorted((before[name][0]["at"], at) for name, at in expected.items())]
        assert order == sorted(set(order)) and all(at <= merge.stamp(told["latest"], 0xFFFF) for at in order)

    same()


def test_what_the_phone_takes_the_server_takes(page, home):
    """The phone tells at once what the server would refuse days later, and no more than that."""
    page.goto(home.url)

    @settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
    @given(
        st.fixed_dictionaries(
            {
                "record": st.sampled_from(["p1", "P", "", "a" * 40, "a" * 41, "é"]),
                "kind": st.sampled_from([*merge.KINDS, "car"]),
                "field": st.sampled_from(["boost", "pump.voltage", "a" * 65, "_x", "_deleted", "__proto__", "a..b"]),
                "value": test_merge.VALUES | st.sampled_from([[[[[1]]]], [[[[[[1]]]]]], "x" * 8190, "x" * 8191, "é" * 4095, "é" * 4096]),
            }
        )
    )
    def same(edit):
        stamped = {**edit, "at": merge.stamp(5), "device": "d1"}
        try:
            wanted = merge.read_edit({"id": "e", **stamped})["value"]
        except ValueError:
            wanted = "refused"
        told = page.evaluate(
            """async (text) => {
          const { readStampedEdit } = (await import("/page.js")).m_log_edit;
          try { return JSON.stringify(readStampedEdit(JSON.parse(text)).value); } catch (error) { return '"refused"'; }
        }""",
            json.dumps(stamped),
        )
        assert merge.canonical(merge.read_value(json.loads(told))) == merge.canonical(wanted)

    same()


def test_numbers_that_json_would_turn_to_null_and_half_characters(phone):
    told = phone.page.evaluate("""async () => {
      const { readValue } = (await import("/page.js")).m_log_edit;
      const tell = (value) => { try { return readValue(value); } catch (error) { return error.message; } };
      return [tell(NaN), tell([Infinity]), tell(undefined), tell("a\\ud83d")];
    }""")
    assert told == ["The number is not finite.", "The number is not finite.", "The value is of no kind that can be kept.", "a\ufffd"]


# One phone


def test_what_is_typed_is_shown_kept_and_synced(phone, home):
    record = phone.do("create", "pass", {"place": "north strip", "boost": {"si": 124105.6, "text": "18", "unit": "psi"}})
    assert phone.shown(record, "place") == "north strip" and phone.do("status")["waiting"] == 2
    status = phone.do("sync")
    assert (status["state"], status["waiting"], status["problem"]) == ("resting", 0, None) and status["lastSync"]
    assert home.records()[record]["fields"]["boost"][0][0]["text"] == "18"
    assert phone.do("list", "pass")[0]["waiting"] == 0 and phone.do("list", "note") == []


def test_saving_the_same_again_writes_nothing(phone):
    phone.do("save", "p1", "pass", {"place": "a", "boost": {"si": 1, "text": "1"}})
    assert phone.do("save", "p1", "pass", {"boost": {"text": "1", "si": 1}, "place": "a"}) == []
    assert phone.do("restore", "p1") == []
    assert len(phone.do("save", "p1", "pass", {"place": "b"})) == 1


def test_the_builds_are_there_first_and_the_rest_follows(phone, home, context):
    phone.page.evaluate(
        """async (name) => {
      const log = window.phones[name];
      await log.save("b1", "build", { name: "kept by the server" });
      for (let n = 0; n < 450; n += 1) await log.save(`p${n}`, "pass", { run: n });
      await log.sync();
      await log.save("b2", "build", { name: "only here" });
      await log.save("p3", "pass", { run: 333 });
    }""",
        phone.name,
    )
    assert phone.do("status")["waiting"] == 2
    page = context.new_page()
    page.goto(home.url)
    told = page.evaluate("""async () => {
      const { openLog } = (await import("/page.js")).m_log_log;
      const log = await openLog({ name: "one", early: true, triggers: false });
      const first = log.list("build").map(({ id }) => id).sort();
      let announced = 0;
      log.onChange(({ records }) => { announced = Math.max(announced, records.size); });
      await log.loaded;
      return { first, announced, passes: log.list("pass").length, run: log.get("p3").values.run, waiting: log.get("p3").waiting };
    }""")
    assert told == {"first": ["b1", "b2"], "announced": 452, "passes": 450, "run": 333, "waiting": 1}


def test_deleting_and_restoring(phone, home):
    phone.type("p1", "place", "a")
    phone.do("remove", "p1")
    assert phone.do("list", "pass") == [] and [view["id"] for view in phone.do("list", "pass", {"deleted": True})] == ["p1"]
    phone.do("sync")
    assert merge.is_deleted(home.records()["p1"])
    phone.do("restore", "p1")
    phone.do("sync")
    assert phone.shown("p1", "place") == "a" and not merge.is_deleted(home.records()["p1"])


def test_history_has_every_value_newest_first(phone, home):
    for value in ("a", "b", "c"):
        phone.type("p1", "place", value)
        if value == "b":
            phone.do("sync")
    history = phone.do("history", "p1")["place"]
    assert [(entry["value"], entry["waiting"], entry["mine"]) for entry in history] == [
        ("c", True, True),
        ("b", False, True),
        ("a", False, True),
    ]
    phone.type("p1", "place", history[-1]["value"])
    assert phone.shown("p1", "place") == "a" and len(phone.do("history", "p1")["place"]) == 4


def test_a_page_closed_at_once_keeps_what_was_typed(phone, home, context):
    phone.type("p1", "place", "a")
    phone.page.close()
    again = Phone(context.new_page(), home)
    assert again.shown("p1", "place") == "a" and again.do("status")["waiting"] == 1
    again.do("sync")
    assert "p1" in home.records()


def test_a_browser_killed_at_once_keeps_what_was_typed(home, chromium, tmp_path):
    if not Path("/proc/self").exists():
        pytest.skip("no way to find the browser's processes here")
    from playwright.sync_api import Error as PlaywrightError

    profile = str(tmp_path / "profile")

    def launch():
        return chromium.browser_type.launch_persistent_context(profile, executable_path=find_chromium(), args=ARGUMENTS)

    context = launch()
    phone = Phone(context.new_page(), home)
    for number in range(20):
        phone.type("p1", "run", number)
    killed = list(using(profile))
    for process in killed:
        os.kill(process, signal.SIGKILL)
    with suppress(PlaywrightError):  # it may have noticed already that there is no browser any more
        context.close()
    assert killed
    context = launch()
    phone = Phone(context.new_page(), home)
    assert phone.shown("p1", "run") == 19 and phone.do("status")["waiting"] == 20
    context.close()


def using(profile):
    """Processes that were started with this profile."""
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if f"--user-data-dir={profile}" in (folder / "cmdline").read_text().split("\0"):
                yield int(folder.name)
        except OSError:
            continue


def test_with_no_server_edits_wait_and_the_reason_is_said(phone, home):
    phone.type("p1", "place", "a")
    phone.set_fate("lost on the way")
    status = phone.do("sync")
    assert (status["state"], status["waiting"], status["problem"]) == ("failed", 1, "The server cannot be reached.")
    phone.set_fate("arrives")
    home.stop()
    assert phone.do("sync")["problem"] == "The server refused to sync (503)."
    home.start()
    assert phone.do("sync")["waiting"] == 0


def test_an_answer_lost_is_asked_again_and_twice_is_once(phone, home):
    phone.type("p1", "place", "a")
    phone.set_fate("answer lost")
    assert phone.do("sync")["waiting"] == 1
    assert "p1" in home.records()
    phone.set_fate("sent twice")
    assert phone.do("sync")["waiting"] == 0
    assert len(home.records()["p1"]["fields"]["place"]) == 1


def test_many_edits_go_in_pieces(phone, home):
    words = "ü" * 3000
    phone.page.evaluate(
        """async ([name, words]) => {
      for (let n = 0; n < 60; n += 1) await window.phones[name].save(`p${n}`, "pass", { words, run: n, place: "a", track: "b" });
    }""",
        [phone.name, words],
    )
    assert phone.do("status")["waiting"] == 240
    assert phone.do("sync")["waiting"] == 0 and len(home.records()) == 60


def test_a_refused_edit_stays_and_is_shown(phone, home):
    home.log.apply([test_sync.edit(1, record="x", kind="note", at=merge.stamp(1))])
    phone.type("x", "place", "mine")
    phone.type("p1", "place", "b")
    status = phone.do("sync")
    assert (status["waiting"], status["refused"], status["state"]) == (0, 1, "resting")
    [entry] = phone.do("refused")
    assert entry["edit"]["value"] == "mine" and entry["why"] == "This record is a note, not a pass."
    assert phone.shown("x", "place") == "mine" and phone.do("history", "x")["place"][0]["refused"] is True
    assert "p1" in home.records()
    assert phone.do("retryRefused")["refused"] == 1


def test_a_full_phone_says_so_and_what_was_there_stays(phone):
    phone.type("p1", "place", "a")
    phone.page.evaluate("""() => {
      window.realAdd = IDBObjectStore.prototype.add;
      IDBObjectStore.prototype.add = () => { throw new DOMException("full", "QuotaExceededError"); };
    }""")
    assert "no room left" in phone.type("p1", "place", "b")["sentence"]
    phone.page.evaluate("() => { IDBObjectStore.prototype.add = window.realAdd; }")
    assert phone.shown("p1", "place") == "a" and phone.do("status")["waiting"] == 1
    phone.type("p1", "place", "c")
    assert phone.shown("p1", "place") == "c"


def test_two_pages_of_one_phone_see_each_other(phone, home, context):
    other = Phone(context.new_page(), home)
    phone.type("p1", "place", "a")
    other.page.wait_for_function("() => window.phones.one.get('p1')?.values.place === 'a'")
    other.type("p1", "place", "b")
    phone.page.wait_for_function("() => window.phones.one.get('p1')?.values.place === 'b'")
    stamps = [entry["at"] for entry in phone.do("history", "p1")["place"]]
    assert stamps == sorted(set(stamps), reverse=True) and phone.do("status")["device"] == other.do("status")["device"]


def test_sync_runs_by_itself_on_opening_after_a_save_and_online(page, home):
    home.stop()
    phone = Phone(page, home, triggers=True)
    page.wait_for_function("() => window.phones.one.status().state === 'failed'")
    home.start()
    page.evaluate("() => window.dispatchEvent(new Event('online'))")
    page.wait_for_function("() => window.phones.one.status().lastSync !== null")
    phone.type("p1", "place", "a")
    page.wait_for_function("() => window.phones.one.status().waiting === 0")
    assert "p1" in home.records()
    page.evaluate("() => window.phones.one.close()")


def test_listeners_are_told_of_records_and_of_the_state(phone):
    told = phone.page.evaluate(
        """async (name) => {
      const log = window.phones[name];
      const told = [];
      const stop = log.onChange(({ records }) => told.push([...records].join() || log.status().state));
      await log.save("p1", "pass", { place: "a" });
      await log.sync();
      stop();
      await log.save("p1", "pass", { place: "b" });
      return told;
    }""",
        phone.name,
    )
    assert told[0] == "p1" and "working" in told and told[-1] == "resting"


# Several phones


def test_a_recording_replaced_often_stays_short_and_what_is_let_go_is_not_sent_back(page, home):
    """What a phone still knows and the others have let go is no news to them, nor in a backup."""
    one, two = Phone(page, home, "one"), Phone(page, home, "two")
    for number in range(3):
        one.type("p1", "recording", f"file {number}")
    one.do("sync")
    two.do("sync")
    backup = two.do("exportText")
    for number in range(3, 6):
        one.type("p1", "recording", f"file {number}")
    assert one.do("sync")["waiting"] == 0
    asked = len(home.asked)
    assert two.do("sync")["waiting"] == 0 and len(home.asked) == asked + 1
    assert [entry[0] for entry in home.records()["p1"]["fields"]["recording"]] == ["file 5", "file 4", "file 3"]
    assert one.base() == two.base() == list(home.records().values())
    assert two.do("importText", backup)["added"] == 0
    two.type("p1", "recording", two.do("history", "p1")["recording"][1]["value"])
    for phone in (two, one):
        assert phone.do("sync")["waiting"] == 0
    assert one.shown("p1", "recording") == "file 4"


def test_a_conflict_ends_the_same_for_all_and_the_loser_can_be_brought_back(page, home, chromium):
    one = Phone(page, home)
    context = open_context(chromium)
    two = Phone(context.new_page(), home)
    one.type("p1", "place", "start")
    one.do("sync")
    two.do("sync")
    one.type("p1", "place", "from one")
    two.type("p1", "place", "from two")
    for phone in (two, one, two):
        phone.do("sync")
    assert one.shown("p1", "place") == two.shown("p1", "place") == "from two"
    lost = one.do("history", "p1")["place"][1]
    assert lost["value"] == "from one" and lost["mine"]
    one.type("p1", "place", lost["value"])
    one.do("sync")
    two.do("sync")
    assert two.shown("p1", "place") == "from one"
    assert context.wrong == []
    context.close()


def test_a_phone_a_year_ahead_does_not_win_for_ever(page, home):
    ahead, right = Phone(page, home, "ahead"), Phone(page, home, "right")
    ahead.set_clock(YEAR)
    ahead.type("p1", "place", "first")
    ahead.type("p1", "place", "second")
    right.type("p1", "place", "third")
    for phone in (right, ahead, right):
        assert phone.do("sync")["waiting"] == 0
    assert [entry["value"] for entry in right.do("history", "p1")["place"]] == ["third", "second", "first"]
    # From now on it minds its error.
    ahead.type("p1", "place", "fourth")
    assert ahead.shown("p1", "place") == "fourth"
    ahead.do("sync")
    right.type("p1", "place", "not seen the fourth")
    right.do("sync")
    right.type("p1", "place", "fifth")
    for phone in (right, ahead):
        phone.do("sync")
        assert phone.shown("p1", "place") == "fifth"


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_season_of_mishaps_ends_with_all_the_same(page, home, seed):
    """Edits, deletes, restores, lost answers, wrong clocks, stops, kills, and an older copy put back, with real phones."""
    randomly = random.Random(seed)
    phones = [Phone(page, home, f"{name}{seed}") for name in "abc"]
    typed, saved = [], None
    for step in range(70):
        phone = randomly.choice(phones)
        record = randomly.choice(["p1", "p2", "p3"])
        what = randomly.choice(
            ["type"] * 5 + ["sync"] * 4 + ["delete", "restore", "clock", "server clock", "stop", "kill", "save", "put back", "reopen"]
        )
        if what == "type":
            value = f"v{step}"
            phone.type(record, "place", value)
            typed.append((record, value))
            assert phone.shown(record, "place") == value
        elif what == "sync":
            phone.set_fate(randomly.choice(["arrives", "arrives", "lost on the way", "answer lost", "sent twice"]))
            phone.do("sync")
        elif what in ("delete", "restore") and phone.do("get", record):
            phone.do("remove" if what == "delete" else "restore", record)
            assert phone.do("get", record)["deleted"] == (what == "delete")
        elif what == "clock":
            phone.set_clock(randomly.choice([0, 0, 400_000, YEAR, -YEAR]))
        elif what == "server clock":
            home.error = randomly.choice([0, 0, YEAR / 1000, -YEAR / 1000])
        elif what in ("stop", "kill"):
            getattr(home, what)()
            home.start()
        elif what == "save":
            home.log.fold()
            saved = (home.folder / "log.json").read_bytes()
        elif what == "put back" and saved:
            home.stop()
            (home.folder / "log.json").write_bytes(saved)
            home.start()
        elif what == "reopen":
            phone.do("close")
            phones[phones.index(phone)] = Phone(page, home, phone.name)
    for phone in phones:
        phone.set_fate("arrives")
    for _ in range(3):
        for phone in phones:
            status = phone.do("sync")
            assert (status["state"], status["waiting"], status["refused"]) == ("resting", 0, 0), status
    server = home.records()
    for phone in phones:
        assert {record["id"]: record for record in phone.base()} == server
    for record, value in typed:
        assert value in [entry[0] for entry in server[record]["fields"]["place"]]


def test_a_lost_server_is_filled_again(phone, home, tmp_path):
    phone.do("save", "p1", "pass", {"place": "a", "run": 1})
    phone.type("p1", "place", "b")
    phone.do("sync")
    before = home.records()
    home.stop()
    home.folder = tmp_path / "new"
    home.folder.mkdir()
    home.start()
    phone.do("sync")
    assert home.records() == before and phone.do("status")["waiting"] == 0


def test_an_older_copy_put_back_is_noticed_whoever_syncs_first(page, home):
    a, b = Phone(page, home, "a"), Phone(page, home, "b")
    for number in range(5):
        a.type(f"p{number}", "place", "both")
    for phone in (a, b):
        phone.do("sync")
    home.log.fold()
    saved = (home.folder / "log.json").read_bytes()
    for number in range(3):
        a.type(f"a{number}", "place", "a alone")
    assert a.do("sync")["waiting"] == 0
    home.stop()
    (home.folder / "log.json").write_bytes(saved)
    home.start()
    for number in range(6):
        b.type(f"b{number}", "place", "b alone")
    for phone in (b, a, b, a):
        assert phone.do("sync")["waiting"] == 0
    assert len(home.records()) == 14
    for phone in (a, b):
        assert {record["id"]: record for record in phone.base()} == home.records()


def test_two_pages_take_answers_in_any_order(phone, home, context):
    """An answer that is late, and older than what another page took meanwhile, is not taken."""
    other = Phone(context.new_page(), home)
    far = Phone(phone.page, home, "far")
    far.type("p1", "boost", "7 psi")
    far.do("sync")
    phone.page.evaluate("""() => {
      const { fetch } = window.phones.one.syncing;
      window.held = new Promise((resolve) => { window.letGo = resolve; });
      window.phones.one.syncing.fetch = async (...sent) => { const answer = await fetch(...sent); await window.held; return answer; };
      window.first = window.phones.one.sync();
    }""")
    phone.page.wait_for_function("() => window.phones.one.status().state === 'working'")
    while len(home.asked) < 2:
        phone.page.wait_for_timeout(20)
    far.type("p1", "boost", "9 psi")
    far.do("sync")
    other.do("sync")
    assert other.shown("p1", "boost") == "9 psi"
    phone.page.evaluate("() => { window.letGo(); return window.first; }")
    for page in (phone, other):
        assert page.shown("p1", "boost") == "9 psi"
    assert {record["id"]: record for record in phone.base()} == home.records()


FAR = "8999-12-31T23:59:59.999Z-ffff"


def test_one_stamp_stops_nobody(page, home):
    """What an intruder or a damaged backup brings under the last of all stamps is told, and everybody writes after it."""
    a, b = Phone(page, home, "a"), Phone(page, home, "b")
    told = page.evaluate(
        """async (edit) => (await fetch("/api/sync", { method: "POST", headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ device: "d1", cursor: null, edits: [edit] }) })).json()""",
        {**test_sync.edit(1, at=FAR), "settled": True},
    )
    assert [item["code"] for item in told["refused"]] == ["clock"]
    backup = RECORD.replace("2026-11-25T07:09:00.123Z-0004", FAR)
    assert a.do("importText", f'{{"format":1,"records":[{backup}]}}')["added"] == 1
    for turn, phone in enumerate((a, b, a, b)):
        phone.type("p1", "place", f"turn {turn}")
        status = phone.do("sync")
        assert (status["waiting"], status["refused"], phone.shown("p1", "place")) == (0, 0, f"turn {turn}"), status
    assert all(at < "2100" for at in (edit["at"] for record in home.records().values() for edit in merge.edits_of(record)))


def test_a_phone_in_the_year_9500_recovers(page, home):
    far, right = Phone(page, home, "far"), Phone(page, home, "right")
    far.set_clock(7474 * YEAR)
    far.type("p1", "place", "first")
    far.type("p1", "place", "second")
    right.type("p1", "place", "third")
    for phone in (right, far, right):
        assert phone.do("sync")["waiting"] == 0
    assert [entry["value"] for entry in right.do("history", "p1")["place"]] == ["third", "second", "first"]
    far.type("p1", "place", "fourth")
    for phone in (far, right):
        assert (phone.do("sync")["waiting"], phone.shown("p1", "place")) == (0, "fourth")


def test_a_log_that_holds_such_a_stamp_is_set_right_and_phones_with_it(page, home):
    """An older version took it in: server and phone hold it, and the phone's own clock has followed it."""
    phone, other = Phone(page, home, "a"), Phone(page, home, "b")
    phone.type("p1", "place", "before")
    phone.do("sync")
    phone.page.evaluate(
        """async ([name, far]) => {
      const { ask } = (await import("/page.js")).m_log_db;
      await window.phones[name].db.write(async ({ base, meta }) => {
        const row = await ask(base.get("p1"));
        const record = JSON.parse(row.text);
        record.fields.place.unshift(["far", far, "d1"]);
        base.put({ ...row, text: JSON.stringify(record) });
        const state = await ask(meta.get("state"));
        meta.put({ ...state, seen: far }, "state");
      });
    }""",
        [phone.name, FAR],
    )
    home.stop()
    document = json.loads((home.folder / "log.json").read_text())
    document["records"][0]["fields"]["place"].insert(0, ["far", FAR, "d1"])
    (home.folder / "log.json").write_text(json.dumps(document))
    home.start()
    phone.do("close")
    phone = Phone(page, home, "a")
    phone.type("p1", "place", "after")
    for each in (phone, other, phone, other):
        assert each.do("sync")["waiting"] == 0
        assert each.shown("p1", "place") == "after"
    other.type("p1", "place", "later")
    for each in (other, phone):
        each.do("sync")
        assert each.shown("p1", "place") == "later"
    assert [entry["value"] for entry in phone.do("history", "p1")["place"]] == ["later", "after", "far", "before"]
    assert {record["id"]: record for record in phone.base()} == home.records()


# Backup


def test_a_backup_fills_an_empty_phone_and_twice_is_once(page, home):
    one, two = Phone(page, home, "one"), Phone(page, home, "two")
    one.do("save", "p1", "pass", {"place": "a", "words": '<b>ü\n"</b>', "boost": {"si": 1.5, "text": "1.5", "unit": "psi"}})
    one.do("sync")
    one.type("p1", "place", "b")
    one.do("create", "note", {"words": "dry"})
    backup = one.do("exportText")
    assert two.do("importText", backup) == {"records": 2, "added": 5, "left": []}
    assert two.do("list", "pass")[0]["values"] == one.do("list", "pass")[0]["values"]
    assert two.do("importText", backup) == {"records": 2, "added": 0, "left": []}
    for phone in (two, one, two):
        assert phone.do("sync")["waiting"] == 0
    assert two.base() == one.base() and len(home.records()["p1"]["fields"]["place"]) == 2
    assert two.do("importText", backup)["added"] == 0
    exported = b"".join(home.log.export()).decode()
    assert two.do("importText", exported)["added"] == 0
    three = Phone(page, home, "three")
    assert three.do("importText", exported)["added"] == 5


def test_a_backup_from_a_clock_ahead_does_not_undo_later_edits(page, home):
    one, two = Phone(page, home, "one"), Phone(page, home, "two")
    one.set_clock(YEAR)
    one.type("p1", "place", "ahead")
    backup = one.do("exportText")
    two.do("importText", backup)
    two.type("p1", "place", "later")
    assert two.shown("p1", "place") == "later"
    two.do("sync")
    assert two.shown("p1", "place") == "later"
    assert two.do("importText", backup)["added"] == 0
    two.do("sync")
    assert two.shown("p1", "place") == "later"


RECORD = '{"id":"p1","kind":"pass","fields":{"place":[["a","2026-11-25T07:09:00.123Z-0004","d"]]}}'


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "cut short"),
        ("{", "cut short"),
        ("[]", "not a backup"),
        ('{"format":"1","records":[]}', "not a backup"),
        ('{"format":2,"records":[]}', "newer version"),
        ('{"format":1,"records":[7]}', "Record 1 of the backup is wrong"),
        (f'{{"format":1,"records":[{RECORD},{{}}]}}', "Record 2 of the backup is wrong"),
        (f'{{"format":1,"records":[{RECORD.replace("11-25", "99-25")}]}}', "A time is not of the right form"),
        (f'{{"format":1,"records":[{RECORD.replace("place", "Place")}]}}', "field must be"),
    ],
)
def test_a_file_that_is_no_backup_says_why_and_nothing_is_taken(phone, text, says):
    told = phone.do("importText", text)
    assert says in told["sentence"] and phone.do("list", "pass") == []


def test_a_backup_taken_in_is_a_log_file_for_the_server(phone, home, tmp_path):
    phone.do("save", "p1", "pass", {"place": "a", "run": 1})
    (tmp_path / "from-phone.json").write_text(phone.do("exportText"), encoding="utf-8")
    with Log(tmp_path / "from-phone.json", idle=None) as log:
        assert log.get("p1")["fields"]["place"][0][0] == "a"


def test_what_a_backup_may_hold_is_what_the_server_takes(shared_server, page):
    """The rule of shapes stands twice; and what does not fit is left out of a backup, with its reason."""
    ready(page, shared_server.url)
    edits = [{"kind": kind, "field": field, "value": value} for kind, field in test_shapes.known() for value in test_shapes.ODD]
    told = page.evaluate(
        """async (edits) => {
      const { shapes } = (await wholePage()).m_setup_shapes;
      const described = await (await fetch("/api/forms")).json();
      return JSON.parse(edits).map(shapes({ forms: described.forms, records: described.records }));
    }""",
        json.dumps(edits),
    )
    assert told == [shapes.why_not(edit["kind"], edit["field"], edit["value"]) for edit in edits]


def test_a_value_of_the_wrong_shape_is_left_out_of_a_restore(shared_server, page):
    record = RECORD.replace('"place":', '"boost":[[{"toString":5},"2026-11-25T07:09:00.123Z-0004","d"]],"place":')
    ready(page, f"{shared_server.url}/#/link")
    page.locator("input[type=file]").set_input_files(
        {"name": "b.json", "mimeType": "application/json", "buffer": f'{{"format":1,"records":[{record}]}}'.encode()}
    )
    page.get_by_text("Left out: 1 value that cannot be read. A part of the value is named toString").wait_for()
    page.get_by_text("Restored: 1 value of 1 record").wait_for()


def test_storage_tells_how_full_it_is(page, home):
    page.goto(home.url)
    told = page.evaluate("async () => (await import('/page.js')).m_log_storage.storageState({ ask: true })")
    assert told["persisted"] in (True, False) and told["quota"] > told["used"] >= 0
