"""The log's file: what was acknowledged survives kills, full disks and foreign hands, and nothing unreadable is overwritten."""

import errno
import json
import math
import os
import random
import shutil
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from webapp.log import document, journal, ledger, logfile, merge, place
from webapp.log.error import LogError
from webapp.log.logfile import Log
from webapp.log.memory import Memory

NOW = 1_795_590_540.0  # s; any moment does
ROOT = Path(__file__).parent.parent


def wall():
    return NOW


def edit(number, record="p1", field="place", value=None, at=None, kind="pass"):
    return {
        "id": f"e{number}",
        "record": record,
        "kind": kind,
        "field": field,
        "value": f"v{number}" if value is None else value,
        "at": at or merge.stamp(int(NOW * 1000) + number // 1000, number % 1000),
        "device": "d1",
    }


def open_log(where, **more):
    """Open the log at a path, or in a store."""
    place = {"store": where} if isinstance(where, Memory) else {"path": where}
    return Log(**place, **{"wall": wall, "idle": None, **more})


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log.json"


@pytest.fixture(params=["disk", "memory"])
def anywhere(request, path):
    """Where a log may be kept: what it promises holds in each."""
    return path if request.param == "disk" else Memory()


def drop(log):
    """Let go as a killed process does: nothing is written any more."""
    log.store.close()


def fields(log, record="p1"):
    return log.get(record)["fields"]


def everything(log):
    return {record["id"]: record for record in log.snapshot()()}


# What is kept


def test_an_acknowledged_edit_survives_a_kill_and_a_stop(path):
    log = open_log(path)
    assert log.apply([edit(1), edit(2)]) == (["e1", "e2"], [])
    drop(log)
    with open_log(path) as log:
        assert [entry[0] for entry in fields(log)["place"]] == ["v2", "v1"]
    with open_log(path) as log:
        assert [entry[0] for entry in fields(log)["place"]] == ["v2", "v1"]
    assert json.loads(path.read_text())["format"] == 1


def test_a_repeated_edit_is_named_as_kept_and_changes_nothing(anywhere):
    with open_log(anywhere) as log:
        log.apply([edit(1)])
        cursor = log.changes()[0]
        size = log.store.size
        assert log.apply([edit(1)]) == (["e1"], [])
        assert log.changes(cursor) == (cursor, [], False) and log.store.size == size


def test_the_version_before_is_the_backup(path):
    with open_log(path) as log:
        log.apply([edit(1)])
        log.fold()
        first = path.read_bytes()
        log.apply([edit(2)])
        log.fold()
        assert (path.parent / "log.json.backup").read_bytes() == first != path.read_bytes()


def no_links(*_):
    raise OSError(errno.EPERM, "Operation not permitted")


def test_a_file_system_without_links_has_a_backup_too(path, monkeypatch):
    monkeypatch.setattr(os, "link", no_links)
    test_the_version_before_is_the_backup(path)


def test_the_file_is_rewritten_when_idle(path):
    with open_log(path, idle=0.05) as log:
        log.apply([edit(1)])
        limit = time.monotonic() + 20
        while "v1" not in path.read_text() and time.monotonic() < limit:
            time.sleep(0.02)
        assert "v1" in path.read_text()


def test_a_link_to_the_file_stays_a_link(path, tmp_path):
    link = tmp_path / "link.json"
    with open_log(path):
        pass
    link.symlink_to(path)
    with open_log(link) as log:
        log.apply([edit(1)])
    assert link.is_symlink() and "v1" in path.read_text()


def test_the_default_place_is_the_users_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(place.platformdirs, "user_data_path", lambda name, appauthor: tmp_path / name)
    with Log(idle=None) as log:
        assert log.path == (tmp_path / "overbowl" / "log.json").resolve() and log.path.exists()


# Cursors


def test_changes_come_in_bounded_pieces_each_once_and_resume(anywhere, monkeypatch):
    monkeypatch.setattr(ledger, "LARGEST_PIECE", 500)
    with open_log(anywhere) as log:
        log.apply([edit(number, record=f"p{number}") for number in range(20)])
        cursor, seen, more = None, [], True
        while more:
            cursor, texts, more = log.changes(cursor)
            assert sum(map(len, texts)) <= 500 + max(map(len, texts))
            seen += [json.loads(text)["id"] for text in texts]
        assert sorted(seen) == sorted(f"p{number}" for number in range(20)) and len(seen) == 20
        log.apply([edit(30, record="p3")])
        assert [json.loads(text)["id"] for text in log.changes(cursor)[1]] == ["p3"]


def test_cursors_hold_across_kill_and_stop(anywhere):
    log = open_log(anywhere)
    log.apply([edit(1, "p1"), edit(2, "p2")])
    cursor, _, _ = log.changes()
    log.apply([edit(3, "p1")])
    late, texts, _ = log.changes(cursor)
    drop(log)
    for _ in range(2):
        with open_log(anywhere) as log:
            assert log.changes(late) == (late, [], False)
            assert log.changes(cursor) == (late, texts, False)


@pytest.mark.parametrize("cursor", ["", "x", "x.1", "None.5", ".", "٣.٣"])
def test_a_strange_cursor_means_from_the_start(anywhere, cursor):
    with open_log(anywhere) as log:
        log.apply([edit(1)])
        assert len(log.changes(cursor)[1]) == 1
        assert len(log.changes(f"{log.era}.٣")[1]) == 1


def test_an_older_copy_put_back_begins_a_new_era(path, tmp_path):
    with open_log(path) as log:
        log.apply([edit(1)])
    shutil.copy(path, tmp_path / "kept")
    with open_log(path) as log:
        log.apply([edit(2, "p2")])
        cursor = log.changes()[0]
    os.replace(tmp_path / "kept", path)
    with open_log(path) as log:
        assert log.era != cursor.partition(".")[0]
        assert [json.loads(text)["id"] for text in log.changes(cursor)[1]] == ["p1"]
        era = log.era
    with open_log(path) as log:
        assert log.era == era


def test_a_cursor_from_a_future_this_log_does_not_know_begins_a_new_era(anywhere):
    with open_log(anywhere) as log:
        log.apply([edit(1)])
        era = log.era
        cursor, texts, _ = log.changes(f"{era}.99")
        assert len(texts) == 1 and log.era != era and cursor.startswith(log.era)
        era = log.era
        drop(log)
        log = open_log(anywhere)
        assert log.era == era
        drop(log)


# Time


def test_a_stamp_far_ahead_is_refused_and_one_after_what_was_seen_is_not(anywhere):
    with open_log(anywhere) as log:
        ms = int(NOW * 1000)
        far = edit(1, at=merge.stamp(ms + ledger.DRIFT + 1))
        kept, refused = log.apply([far, edit(2, at=merge.stamp(ms + ledger.DRIFT, 9))])
        assert kept == ["e2"] and [(item["id"], item["code"]) for item in refused] == [("e1", "clock")]
        assert log.clock() == (ms + ledger.DRIFT, ms + ledger.DRIFT + 1)
    # The server's clock has fallen back by a year: who saw the latest stamp may still write after it.
    with open_log(anywhere, wall=lambda: NOW - 365 * 86400) as log:
        assert log.apply([edit(3, at=merge.stamp(ms + ledger.DRIFT, 10))])[0] == ["e3"]
        assert log.clock()[0] == ms + ledger.DRIFT


def test_stamps_cannot_creep_ahead(anywhere):
    with open_log(anywhere) as log:
        for number in range(50):
            log.apply([edit(number, at=merge.stamp(log.clock()[1], 0xFFFF))])
        assert log.clock()[0] <= NOW * 1000 + ledger.DRIFT + 50


# Limits


def test_a_record_that_grows_without_end_is_refused(anywhere, monkeypatch):
    monkeypatch.setattr(ledger, "LARGEST_RECORD", 2000)
    with open_log(anywhere) as log:
        kept, refused = log.apply([edit(number) for number in range(50)])
        assert 5 < len(kept) < 50 and {item["code"] for item in refused} == {"full"}
        singly = [log.apply([edit(number)]) for number in range(100, 150)]
        assert singly[-1][1][0]["code"] == "full"
        assert len(log.changes()[1][0]) <= 2000
        assert log.apply([edit(100, record="p2")])[0] == ["e100"]


def test_an_edit_of_another_kind_is_refused(anywhere):
    with open_log(anywhere) as log:
        log.apply([edit(1)])
        assert log.apply([edit(2, kind="note")])[1][0]["why"] == "This record is a pass, not a note."


# Files that are not as they should be: each ends in its sentence, and nothing is touched


BROKEN = {
    "empty": (b"", "It is empty"),
    "blank": (b" \n", "It is empty"),
    "truncated": (b'{"format":1,"log":"x","records":[\n{"id":"p1","ki', r"not whole JSON \(line 2, column"),
    "not text": (b"\xff\xfe\x00\x89PNG", "not whole JSON"),
    "foreign": (b'{"bookmarks": []}', "not a log of Overbowl"),
    "a list": (b"[1, 2]", "not a log of Overbowl"),
    "a number": (b"7", "not a log of Overbowl"),
    "newer": (b'{"format": 99, "records": []}', "A newer version wrote it .format 99"),
    "format zero": (b'{"format": 0, "records": []}', "not a log of Overbowl"),
    "deep": (b"[" * 100_000, "not whole JSON"),
    "bad record": (b'{"format": 1, "records": [{"id": "p1"}]}', "Record 1 is not in the form of a record"),
    "bad value": (
        b'{"format": 1, "records": [{"id": "p1", "kind": "pass", "fields": {"boost": [[NaN, "2026-11-25T07:09:00.123Z-0000", "d"]]}}]}',
        "not finite",
    ),
    "bad stamp": (
        b'{"format": 1, "records": [{"id": "p1", "kind": "pass", "fields": {"boost": [[1, "today", "d"]]}}]}',
        "Record 1 is wrong: The time",
    ),
    "no entry": (b'{"format": 1, "records": [{"id": "p1", "kind": "pass", "fields": {"boost": []}}]}', "has no value"),
    "twice": (
        b'{"format": 1, "records": [{"id": "p", "kind": "pass", "fields": {}}, {"id": "p", "kind": "pass", "fields": {}}]}',
        "the same id",
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_file_that_cannot_be_read_is_left_alone(path, name):
    data, says = BROKEN[name]
    path.write_bytes(data)
    with pytest.raises(LogError, match=says) as told:
        open_log(path)
    assert str(path) in str(told.value) and "Nothing was changed." in str(told.value) and "backup" not in str(told.value)
    assert path.read_bytes() == data
    (path.parent / "log.json.backup").write_text("{}")
    with pytest.raises(LogError, match="The version before is in .*log.json.backup"):
        open_log(path)
    assert path.read_bytes() == data


def test_every_truncation_of_a_real_file_is_noticed(path, tmp_path):
    with open_log(path) as log:
        log.apply([edit(1, value="ü" * 5), edit(2, "p2")])
    whole = path.read_bytes()
    cut = tmp_path / "cut.json"
    for length in range(len(whole) - 1):  # the last byte is the end of the line
        cut.write_bytes(whole[:length])
        with pytest.raises(LogError, match="cannot be read"):
            open_log(cut)
        assert cut.read_bytes() == whole[:length]


def test_a_missing_file_is_not_begun_anew_over_a_backup_or_a_journal(path):
    log = open_log(path)
    log.apply([edit(1)])
    drop(log)
    content = path.read_bytes()
    path.unlink()
    with pytest.raises(LogError, match="journal .* is there. Put the log back"):
        open_log(path)
    path.write_bytes(content)
    with open_log(path):
        pass
    path.unlink()
    with pytest.raises(LogError, match="is missing, but its backup"):
        open_log(path)


def test_a_folder_and_a_missing_folder(path):
    with pytest.raises(LogError, match="that is a folder"):
        open_log(path.parent)
    with pytest.raises(LogError, match="does not exist"):
        open_log(path / "deeper" / "log.json")


def test_two_servers_on_one_file(path):
    with open_log(path), pytest.raises(LogError, match="Another server is using the log .*--log"):
        open_log(path)
    with open_log(path):
        pass


def test_two_processes_on_one_file(path):
    program = "import sys; from webapp.log import logfile; logfile.Log(sys.argv[1])"
    with open_log(path):
        told = subprocess.run([sys.executable, "-c", program, str(path)], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert told.returncode != 0 and "Another server is using the log" in told.stderr


def in_mount(options, folder, program, before=""):
    """Run a program with a file system of its own at `folder`, which goes with it; root or not."""
    command = f'{before} mount -t tmpfs -o {options} tmpfs "$0" && exec "$1" -c "$2" "$0/log.json"'
    try:
        told = subprocess.run(
            ["unshare", "-rm", "sh", "-c", command, str(folder), sys.executable, textwrap.dedent(program)],
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=120,
        )
    except FileNotFoundError:
        pytest.skip("no way to mount here")
    if "permission" in told.stderr or "not permitted" in told.stderr and "Traceback" not in told.stderr:
        pytest.skip("not allowed to mount here")
    return told


def test_a_folder_that_cannot_be_written(tmp_path):
    told = in_mount(
        "ro",
        tmp_path,
        """
        import sys
        from tests.test_logfile import open_log
        open_log(sys.argv[1])
    """,
    )
    assert f"The folder {tmp_path} cannot be written to: Read-only file system. Name a file elsewhere with --log." in told.stderr


def test_a_folder_that_is_closed_to_this_user(path):
    if os.name == "nt" or os.geteuid() == 0:
        pytest.skip("root may write anywhere")
    path.parent.chmod(0o500)
    try:
        with pytest.raises(LogError, match="cannot be written to"):
            open_log(path)
    finally:
        path.parent.chmod(0o700)


def test_a_lock_that_cannot_be_made():
    if not Path("/proc/self").exists():
        pytest.skip("no /proc here")
    with pytest.raises(LogError, match="/proc cannot be written to"):
        open_log("/proc/log.json")


def test_a_file_changed_by_hand_is_noticed_and_taken_in_at_the_next_start(path):
    with open_log(path) as log:
        log.apply([edit(1), edit(2, "p2")])
    log = open_log(path)
    cursor = log.changes()[0]
    log.apply([edit(3)])
    by_hand = path.read_text().replace("v2", "by hand")
    path.write_text(by_hand)
    with pytest.raises(LogError, match="changed by another program while the server ran. Nothing was written over it"):
        log.apply([edit(4)])
    with pytest.raises(LogError, match="changed by another program"):
        log.fold()
    with pytest.raises(LogError, match="changed by another program"):
        log.close()
    assert path.read_text() == by_hand
    with open_log(path) as log:
        assert fields(log, "p2")["place"][0][0] == "by hand"
        assert [entry[0] for entry in fields(log)["place"]] == ["v3", "v1"]
        assert len(log.changes(cursor)[1]) == 2  # phones fetch all anew
    assert "by hand" in path.read_text()


def test_a_file_broken_by_hand_meanwhile_is_not_written_over(path):
    log = open_log(path)
    log.apply([edit(1)])
    path.write_text("{")
    with pytest.raises(LogError):
        log.close()
    with pytest.raises(LogError, match="not whole JSON"):
        open_log(path)
    assert path.read_text() == "{"


def test_a_file_touched_or_copied_but_the_same_is_no_change(path):
    with open_log(path) as log:
        log.apply([edit(1)])
        log.fold()
        os.utime(path, (1, 1))
        log.apply([edit(2)])
        shutil.copy(path, path.with_name("copy"))
        os.replace(path.with_name("copy"), path)
        assert log.apply([edit(3)])[0] == ["e3"]


def test_a_file_removed_while_the_server_runs_is_written_again(path):
    with open_log(path) as log:
        log.apply([edit(1)])
        log.fold()
        path.unlink()
    with open_log(path) as log:
        assert fields(log)["place"][0][0] == "v1"


def test_a_pretty_printed_file_and_a_phones_backup_are_read(path):
    record = {"id": "p1", "kind": "pass", "fields": {"place": [["old", merge.stamp(1), "d"], ["new", merge.stamp(2), "d"]]}}
    path.write_text(json.dumps({"format": 1, "records": [record]}, indent=2), encoding="utf-8-sig")
    with open_log(path) as log:
        assert [entry[0] for entry in fields(log)["place"]] == ["new", "old"]
        assert len(log.changes()[1]) == 1
        log.apply([edit(1)])
    with open_log(path) as log:
        assert fields(log)["place"][0][0] == "v1"


def test_a_file_of_an_older_format_is_brought_forward_and_kept(path, monkeypatch):
    older = {"format": 1, "passes": [], "records": []}
    path.write_text(json.dumps(older))
    record = {"id": "p1", "kind": "pass", "fields": {"place": [["carried", merge.stamp(1), "d"]]}}
    monkeypatch.setattr(document, "FORMAT", 2)
    monkeypatch.setattr(ledger, "FORMAT", 2)
    monkeypatch.setattr(document, "MIGRATIONS", {1: lambda document: {**document, "records": [record]}})
    with open_log(path) as log:
        assert fields(log)["place"][0][0] == "carried"
    assert json.loads(path.read_text())["format"] == 2
    assert json.loads((path.parent / "log.json.format-1").read_text()) == older


# The journal


@pytest.fixture
def killed(path):
    """A log whose process died with three batches in the journal."""
    log = open_log(path)
    for number in (1, 2, 3):
        log.apply([edit(number)])
    drop(log)
    return path.with_name("log.json.journal")


def test_a_journal_cut_anywhere_in_its_last_line_keeps_the_rest(path, killed):
    whole = killed.read_bytes()
    last = whole.rstrip(b"\n").rfind(b"\n") + 1
    for length in range(last, len(whole)):
        killed.write_bytes(whole[:length])
        log = open_log(path)
        assert [entry[0] for entry in fields(log)["place"]] == ["v2", "v1"]
        assert log.apply([edit(9)])[0] == ["e9"]
        drop(log)
        log = open_log(path)
        assert [entry[0] for entry in fields(log)["place"]] == ["v9", "v2", "v1"]
        drop(log)


def test_a_last_line_of_zeros_was_never_acknowledged(path, killed):
    whole = killed.read_bytes()
    last = whole.rstrip(b"\n").rfind(b"\n") + 1
    killed.write_bytes(whole[: last + 12] + b"\0" * (len(whole) - last - 13) + b"\n")
    with open_log(path) as log:
        assert [entry[0] for entry in fields(log)["place"]] == ["v2", "v1"]


def test_damage_within_the_journal_stops_the_start(path, killed):
    whole = killed.read_bytes()
    place = whole.index(b"v1")
    killed.write_bytes(whole[:place] + b"w" + whole[place + 1 :])
    damaged = killed.read_bytes()
    with pytest.raises(LogError, match="Line 2 of the journal .* is damaged"):
        open_log(path)
    assert killed.read_bytes() == damaged


def test_a_journal_without_a_whole_first_line_is_begun_anew(path, killed):
    killed.write_bytes(killed.read_bytes()[:5])
    with open_log(path) as log:
        assert log.apply([edit(1)])[0] == ["e1"]


@pytest.mark.parametrize("batches", [1, 3])
def test_a_journal_of_another_log_stops_the_start(path, killed, tmp_path, batches):
    lines = killed.read_bytes().splitlines(keepends=True)
    killed.write_bytes(b"".join(lines[: 1 + batches]))
    other = tmp_path / "other.json"
    with open_log(other):
        pass
    os.replace(other, path)
    with pytest.raises(LogError, match="belongs to another log"):
        open_log(path)


def test_a_rewrite_cut_off_at_any_step_loses_nothing(path, monkeypatch):
    """Fail at the first, second, third ... step that touches the disk, drop everything there, and start again."""

    class Cut(BaseException):
        pass

    def run(steps):
        left = [steps]

        def counted(function):
            def call(*arguments, **more):
                left[0] -= 1
                if left[0] < 0:
                    raise Cut
                return function(*arguments, **more)

            return call

        log = open_log(path)
        log.apply([edit(number) for number in range(3)])
        with monkeypatch.context() as patch:
            for name in ("replace", "fsync", "link", "open", "write", "unlink"):
                patch.setattr(os, name, counted(getattr(os, name)))
            try:
                log.fold()
                return True
            except Cut:
                return False
            finally:
                drop(log)

    done, steps = False, 0
    while not done:
        for file in path.parent.iterdir():
            file.unlink()
        done = run(steps)
        with open_log(path) as log:
            assert [entry[0] for entry in fields(log)["place"]] == ["v2", "v1", "v0"], steps
            assert log.apply([edit(5)])[0] == ["e5"]
        with open_log(path) as log:
            assert fields(log)["place"][0][0] == "v5"
        steps += 1
    assert steps > 8


# A full disk


@pytest.mark.parametrize("written", [0, 1, 30])
def test_a_full_disk_keeps_nothing_of_the_edit_and_goes_on_when_there_is_room(path, monkeypatch, written):
    log = open_log(path)
    log.apply([edit(1)])
    real = os.write

    def full(file, data):
        if written:
            real(file, bytes(data[:written]))
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", full)
        with pytest.raises(LogError, match="No space left on device"):
            log.apply([edit(2)])
        assert len(fields(log)["place"]) == 1
    assert log.apply([edit(3)])[0] == ["e3"]
    drop(log)
    with open_log(path) as log:
        assert [entry[0] for entry in fields(log)["place"]] == ["v3", "v1"]


def test_a_disk_that_fails_to_sync_acknowledges_nothing(path, monkeypatch):
    log = open_log(path)

    def fail(_):
        raise OSError(errno.EIO, "Input/output error")

    journal = path.with_name("log.json.journal")
    before = journal.read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fail)
        with pytest.raises(LogError, match="Input/output error"):
            log.apply([edit(1)])
        assert journal.read_bytes() == before, "what was refused must not come back after a crash"
    assert log.get("p1") is None
    assert log.apply([edit(2)])[0] == ["e2"]
    drop(log)
    with open_log(path) as log:
        assert [entry[0] for entry in fields(log)["place"]] == ["v2"]


def test_a_disk_that_really_fills_up(tmp_path):
    """On a file system of 128 kB: edits until it is full, then room is made, and it goes on with all that was acknowledged."""
    told = in_mount(
        "size=128k",
        tmp_path,
        """
        import os, sys
        from tests.test_logfile import edit, open_log
        from webapp.log.error import LogError
        path = sys.argv[1]
        ballast = os.path.join(os.path.dirname(path), "ballast")
        open(ballast, "wb").write(bytes(40_000))
        log, kept, number = open_log(path), set(), 0
        def fill():
            global number
            while True:
                number += 1
                try:
                    kept.update(log.apply([edit(number)])[0])
                    if number % 50 == 0:
                        log.fold()
                except LogError as error:
                    return str(error)
        print(fill())
        os.remove(ballast)
        print(fill())
        try:
            log.close()
        except LogError as error:
            print(error)
        log = open_log(path)
        held = {"e" + entry[0][1:] for entry in log.get("p1")["fields"]["place"]}
        print(len(kept) > 100, kept <= held)
    """,
    )
    full, again, *_, last = told.stdout.splitlines() or [told.stderr]
    assert "No space left on device" in full and "No space left on device" in again, told
    assert last == "True True", told


def test_a_real_file_size_limit(tmp_path):
    """A process that may write no file beyond 20 kB: it says so, keeps what it acknowledged, and can be started again."""
    if os.name == "nt":
        pytest.skip("no such limit here")
    path = tmp_path / "log.json"
    program = textwrap.dedent("""
        import resource, signal, sys
        from tests.test_logfile import edit, open_log
        from webapp.log.error import LogError
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        log = open_log(sys.argv[1])
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
        for number in range(1000):
            try:
                log.apply([edit(number)])
            except LogError as error:
                print(error, flush=True)
                break
            print(number, flush=True)
    """)
    told = subprocess.run([sys.executable, "-c", program, str(path)], cwd=ROOT, capture_output=True, text=True, timeout=120)
    *kept, last = told.stdout.splitlines()
    assert "cannot be written: File too large" in last, told.stderr
    with open_log(path) as log:
        assert {entry[0] for entry in fields(log)["place"]} == {f"v{number}" for number in kept}


def test_a_rewrite_that_fails_leaves_file_and_journal_and_says_so(path, monkeypatch):
    log = open_log(path)
    log.apply([edit(1)])
    before = path.read_bytes()

    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(document, "write", full)
        with pytest.raises(LogError, match="No space left on device. What came in is safe in .*journal"):
            log.fold()
        assert path.read_bytes() == before
        log.apply([edit(2)])
    log.close()
    with open_log(path) as log:
        assert [entry[0] for entry in fields(log)["place"]] == ["v2", "v1"]


def test_after_closing_nothing_is_acknowledged(anywhere):
    log = open_log(anywhere)
    log.close()
    log.close()
    with pytest.raises(LogError, match="server is stopping"):
        log.apply([edit(1)])


# A real process killed under load

WRITER = textwrap.dedent("""
    import sys, threading
    from tests.test_logfile import edit, open_log
    log = open_log(sys.argv[1], idle=0.01)
    start = int(sys.argv[2])
    def write(thread):
        for number in range(start + thread, start + 100_000, 3):
            log.apply([edit(number, record=f"p{number % 7}")])
            sys.stdout.write(f"{number}\\n")
            sys.stdout.flush()
    def fold():
        while True:
            log.fold()
    threads = [threading.Thread(target=write, args=(number,)) for number in range(3)] + [threading.Thread(target=fold)]
    [thread.start() for thread in threads]
""")


@pytest.mark.skipif(os.name == "nt", reason="no SIGKILL here")
def test_a_process_killed_at_random_moments_loses_nothing_acknowledged(path):
    acknowledged = set()
    randomly = random.Random(7)
    for turn in range(6):
        process = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(turn * 100_000)], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        acknowledged.add(int(process.stdout.readline()))
        time.sleep(randomly.uniform(0.0, 0.25))
        process.send_signal(signal.SIGKILL)
        # A line cut short by the kill was not told to anybody.
        acknowledged |= {int(line) for line in process.stdout.read().splitlines(keepends=True) if line.endswith("\n")}
        process.stdout.close()
        process.wait(60)
        log = open_log(path)
        held = {entry[0] for record in everything(log).values() for entry in record["fields"]["place"]}
        assert {f"v{number}" for number in acknowledged} <= held
        drop(log) if turn % 2 else log.close()
    assert len(acknowledged) > 20


def test_numbers_after_a_kill_are_those_that_phones_were_told(anywhere):
    randomly = random.Random(3)
    log, told = open_log(anywhere), {}
    for number in range(60):
        log.apply([edit(number, record=f"p{randomly.randrange(5)}"), edit(number + 1000, record=f"p{randomly.randrange(5)}")])
        told[log.changes()[0]] = everything(log)
        if randomly.random() < 0.3:
            log.fold()
        if randomly.random() < 0.3:
            drop(log)
            log = open_log(anywhere)
    now = everything(log)
    for cursor, then in told.items():
        changed = {json.loads(text)["id"] for text in log.changes(cursor)[1]}
        assert changed == {name for name in now if now[name] != then.get(name)}
    log.close()


def test_a_long_journal_is_folded_without_a_quiet_moment(path, monkeypatch):
    monkeypatch.setattr(logfile, "LARGEST_JOURNAL", 2000)
    with open_log(path, idle=0.2) as log:
        limit = time.monotonic() + 20
        number = 0
        while b"v1" not in path.read_bytes() and time.monotonic() < limit:
            log.apply([edit(number)])
            number += 1
        assert b"v1" in path.read_bytes()


def test_journal_lines_that_are_no_batches_are_damage():
    assert journal._decode(b"zz") is None
    assert journal._decode(journal.encode({"a": 1})[:-1]) == {"a": 1}
    assert journal._decode(b"%08x %s" % (journal.zlib.crc32(b"[1]"), b"[1]")) is None


# Files taken away, replaced or closed while the server runs


def reopened(path):
    with open_log(path) as log:
        return {entry[0] for record in everything(log).values() for entry in record["fields"]["place"]}


def take_journal(path, tmp_path):
    path.with_name("log.json.journal").unlink()


def empty_journal(path, tmp_path):
    os.truncate(path.with_name("log.json.journal"), 0)


def take_all_files(path, tmp_path):
    for file in path.parent.iterdir():
        file.unlink()


def take_folder(path, tmp_path):
    shutil.rmtree(path.parent)


def move_folder(path, tmp_path):
    os.rename(path.parent, tmp_path / "elsewhere")


def replace_journal(path, tmp_path):
    os.replace(shutil.copy(path.with_name("log.json.journal"), tmp_path / "copy"), path.with_name("log.json.journal"))


TAKEN = [take_journal, empty_journal, take_all_files, take_folder, move_folder, replace_journal]


@pytest.mark.skipif(os.name == "nt", reason="open files cannot be taken away there")
@pytest.mark.parametrize("how", ["killed", "stopped"])
@pytest.mark.parametrize("take", TAKEN)
def test_what_is_taken_away_is_written_again_before_anything_is_acknowledged(tmp_path, take, how):
    path = tmp_path / "folder" / "log.json"
    path.parent.mkdir()
    log = open_log(path)
    log.apply([edit(1), edit(2)])
    log.fold()
    log.apply([edit(3)])
    take(path, tmp_path)
    assert log.apply([edit(4)])[0] == ["e4"]
    drop(log) if how == "killed" else log.close()
    assert reopened(path) == {"v1", "v2", "v3", "v4"}


@pytest.mark.parametrize("take", TAKEN[:-1])
def test_what_is_taken_away_is_written_again_on_stop(tmp_path, take):
    path = tmp_path / "folder" / "log.json"
    path.parent.mkdir()
    log = open_log(path)
    log.apply([edit(1)])
    take(path, tmp_path)
    log.close()
    assert reopened(path) == {"v1"}


def test_where_it_cannot_be_written_again_nothing_is_acknowledged_and_it_does_not_say_stopping(tmp_path):
    path = tmp_path / "folder" / "log.json"
    path.parent.mkdir()
    log = open_log(path)
    log.apply([edit(1)])
    shutil.rmtree(path.parent)
    path.parent.write_text("a file now")
    for _ in range(2):
        with pytest.raises(LogError, match="cannot be written: .*Nothing of this was kept") as told:
            log.apply([edit(2)])
        assert "stopping" not in str(told.value)
    with pytest.raises(LogError, match="in this server's memory"):
        log.fold()
    path.parent.unlink()
    assert log.apply([edit(3)])[0] == ["e3"]
    log.close()
    assert reopened(path) == {"v1", "v3"}


def test_a_log_turned_into_a_folder_is_said(path):
    log = open_log(path)
    log.apply([edit(1)])
    path.unlink()
    path.mkdir()
    with pytest.raises(LogError, match="there is a folder now"):
        log.apply([edit(2)])
    path.rmdir()
    assert log.apply([edit(3)])[0] == ["e3"]
    log.close()
    assert reopened(path) == {"v1", "v3"}


def test_a_rewrite_that_fails_takes_its_own_part_away(path, monkeypatch):
    log = open_log(path)
    log.apply([edit(1)])

    def full(*_):
        yield b"x" * 10_000
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(document, "write", full)
        with pytest.raises(LogError, match="No space left"):
            log.fold()
    assert not path.with_name("log.json.new").exists()
    log.close()


def test_what_a_crash_left_over_goes_at_the_next_start(path):
    with open_log(path):
        pass
    left = [path.with_name(f"log.json.{ending}") for ending in ("new", "journal.new", "backup.new")]
    for file in left:
        file.write_text("left over")
    with open_log(path):
        assert not any(file.exists() for file in left)


@pytest.mark.skipif(os.name == "nt", reason="no modes here")
def test_files_are_the_owners_only(path):
    old = os.umask(0)
    try:
        with open_log(path) as log:
            log.apply([edit(1)])
            log.fold()
            log.apply([edit(2)])
            log.fold()
            modes = {file.name: file.stat().st_mode & 0o777 for file in path.parent.iterdir()}
    finally:
        os.umask(old)
    assert set(modes) >= {"log.json", "log.json.journal", "log.json.backup"} and set(modes.values()) == {0o600}, modes


HOLDER = "import sys; from tests.test_logfile import open_log; log = open_log(sys.argv[1]); print('open', flush=True); sys.stdin.read()"


@pytest.mark.skipif(os.name == "nt", reason="a lock that is held cannot be deleted there")
@pytest.mark.parametrize("how", ["lock removed", "hard link"])
def test_no_second_server_whatever_becomes_of_the_lock_file(path, how):
    with open_log(path):
        pass
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(path)], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout.readline() == "open\n"
        other = path
        if how == "lock removed":
            path.with_name("log.json.lock").unlink()
        else:
            other = path.with_name("second.json")
            os.link(path, other)
        with pytest.raises(LogError, match="Another server is using the log"):
            open_log(other)
    finally:
        process.kill()
        process.communicate()
    with open_log(path):
        pass


@pytest.mark.skipif(os.name == "nt", reason="a lock that is held cannot be deleted there")
def test_no_second_server_after_the_file_was_written_anew(path):
    """The new file is another one to the system, and is held as well."""
    with open_log(path) as log:
        log.apply([edit(1)])
        log.fold()
        path.with_name("log.json.lock").unlink()
        with pytest.raises(LogError, match="Another server is using the log"):
            open_log(path)


COUNTED = pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="nothing tells here which files are open")


def open_in(folder):
    """The files of a folder that this process holds open."""
    handles = Path("/proc/self/fd")
    found = [os.readlink(handles / name) for name in os.listdir(handles) if os.path.lexists(handles / name)]
    return sorted(name for name in found if name.startswith(str(folder)))


@COUNTED
def test_a_closed_log_leaves_no_file_open(path):
    with open_log(path) as log:
        for number in range(3):
            log.apply([edit(number)])
            log.fold()
    assert open_in(path.parent) == []


@pytest.mark.skipif(os.name == "nt", reason="no such files here")
@pytest.mark.parametrize("which", ["fifo", "/dev/full"])
def test_what_is_no_ordinary_file_is_refused_at_once(tmp_path, which):
    path = which
    if which == "fifo":
        path = tmp_path / "log.json"
        os.mkfifo(path)
    with pytest.raises(LogError, match="no ordinary file"):
        open_log(path)


def test_a_folder_that_may_not_be_entered(tmp_path):
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        pytest.skip("only root can become somebody else")
    closed = tmp_path / "closed"
    closed.mkdir(0o700)
    program = f"import os; os.setuid(65534); from webapp.log import place; place.find({str(closed / 'log.json')!r})"
    told = subprocess.run(
        [sys.executable, "-c", "import webapp.log.place\n" + program], cwd=ROOT, capture_output=True, text=True, timeout=60
    )
    assert "cannot be kept at" in told.stderr and "Permission denied" in told.stderr, told.stderr


def test_an_empty_journal_of_another_log_stops_nothing(path, tmp_path):
    """A phone's backup put in the place of a closed log."""
    with open_log(path):
        pass
    record = {"id": "p1", "kind": "pass", "fields": {"place": [["saved", merge.stamp(1), "d"]]}}
    path.write_text(json.dumps({"format": 1, "records": [record]}))
    assert reopened(path) == {"saved"}
    assert reopened(path) == {"saved"}


@pytest.mark.parametrize("data", [b"", b"\0" * 300])
def test_a_journal_that_was_wiped_begins_a_new_era(path, killed, data):
    era = json.loads(path.read_text())["era"]
    killed.write_bytes(data)
    with open_log(path) as log:
        assert log.era != era, "phones send back what is missing"


def test_a_line_missing_from_the_journal_stops_the_start(path, killed):
    lines = killed.read_bytes().splitlines(keepends=True)
    killed.write_bytes(b"".join(lines[:2] + lines[3:]))
    with pytest.raises(LogError, match="Line 3 of the journal .* is not the one"):
        open_log(path)


def test_an_old_journal_without_its_log_is_not_begun_anew_over(path, killed):
    os.replace(killed, path.with_name("log.json.journal.old"))
    path.unlink()
    with pytest.raises(LogError, match=r"journal .*journal\.old is there. Put the log back"):
        open_log(path)


def test_a_journal_that_holds_nothing_stops_no_new_log(path):
    drop(open_log(path))
    path.unlink()
    with open_log(path) as log:
        assert log.apply([edit(1)])[0] == ["e1"]


@pytest.mark.parametrize("links", [True, False])
def test_a_new_file_is_on_the_disk_before_it_takes_the_place_of_the_old(path, monkeypatch, links):
    """A power cut may keep a rename and lose what was written before it, unless that was synced."""
    done, written, copied = [], [str(path), f"{path}.journal"], None if links else f"{path}.backup"
    fsync, replace = os.fsync, os.replace
    log = open_log(path)
    log.apply([edit(1)])

    def synced(handle):
        done.append(("synced", os.fstat(handle).st_ino, os.fstat(handle).st_size))
        fsync(handle)

    def replaced(source, target):
        found = os.stat(source)
        if str(target) in written or str(target) == copied:
            assert ("synced", found.st_ino, found.st_size) in done
            done.append(str(target))
        replace(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", synced)
        patch.setattr(os, "replace", replaced)
        if not links:
            patch.setattr(os, "link", no_links)
        log.fold()
    assert links or copied in done
    folder = os.stat(path.parent).st_ino
    for target in written:
        assert done[done.index(target) + 1][:2] == ("synced", folder), "and then its name"
    log.close()


def test_no_number_of_a_files_records_is_given_again(path):
    """A file that a hand touched keeps the numbers that phones were told; new records come after the greatest."""
    with open_log(path) as log:
        log.apply([edit(number, record=f"p{number}") for number in range(3)])
    told = json.loads(path.read_text())
    told["number"] = 1
    told["records"][0]["number"] = 40
    del told["records"][1]["number"]
    path.write_text(json.dumps(told))
    with open_log(path) as log:
        log.apply([edit(9, record="p9")])
    numbers = [record["number"] for record in json.loads(path.read_text())["records"]]
    assert len(set(numbers)) == 4 and max(numbers) > 40 and json.loads(path.read_text())["number"] == max(numbers)


def test_a_settled_stamp_is_taken_and_one_of_no_clock_is_not(anywhere):
    """What a server once told is taken whatever this machine's clock says; what was typed is not."""
    ms = int(NOW * 1000)
    late = merge.stamp(ms + 20 * 365 * 86_400_000)
    with open_log(anywhere) as log:
        assert log.apply([edit(1, at=late)])[1][0]["code"] == "clock"
        settled = {**edit(1, at=late), "settled": True}
        # Together with it comes what was typed on top of it.
        kept, refused = log.apply([settled, edit(2, at=merge.following(late)), edit(3, at=merge.stamp(merge.milliseconds(late) + 2))])
        assert kept == ["e1", "e2"] and [item["code"] for item in refused] == ["clock"]
        for at in (merge.LAST_SETTLED, "8999-12-31T23:59:59.999Z-ffff", "9500-01-01T00:00:00.000Z-0000"):
            assert log.apply([{**edit(4, at=at), "settled": True}])[1][0]["code"] == "clock"
        last = merge.stamp(merge.milliseconds(merge.LAST_SETTLED) - 1, 0xFFFF)
        assert log.apply([{**edit(5, at=last), "settled": True}])[0] == ["e5"]
        assert log.apply([edit(6, at=merge.following(last))])[0] == ["e6"], "even then there is a later stamp for the next"
    with open_log(anywhere) as log:
        stamps = [entry[1] for entry in fields(log)["place"]]
        assert [entry[0] for entry in fields(log)["place"]] == ["v6", "v5", "v2", "v1"]
        assert stamps == sorted(stamps, reverse=True) and stamps[0] < merge.LAST_BELIEVED
        era = log.era
    with open_log(anywhere) as log:
        assert log.era == era, "set right once"


def test_a_cursor_of_another_history_begins_a_new_era(path, tmp_path):
    """The number is there, but another run of the server took it."""
    with open_log(path) as log:
        log.apply([edit(1, "p1")])
    shutil.copy(path, tmp_path / "copy")
    with open_log(path) as log:
        log.apply([edit(2, "p2")])
        told = log.changes()[0]
    shutil.copy(tmp_path / "copy", path)
    path.with_name("log.json.journal").unlink()
    with open_log(path) as log:
        log.apply([edit(3, "p3"), edit(4, "p4")])
        ours, era = log.changes()[0], log.era
        assert log.changes(ours) == (ours, [], False) and log.era == era
        assert len(log.changes(told)[1]) == 3 and log.era != era


def test_too_many_marks_begin_a_new_era(path, monkeypatch):
    monkeypatch.setattr(ledger, "MOST_MARKS", 3)
    eras = set()
    for number in range(8):
        with open_log(path) as log:
            log.apply([edit(number)])
            eras.add(log.era)
            assert len(log.store.path.read_bytes()) < 3000
    assert 2 <= len(eras) < 8


def test_a_wrong_entry_by_hand_is_said_in_words(path):
    for value, says in [
        (["x"], "An entry of place must be a list"),
        ("xyz", "An entry of place must be a list"),
        ([{"toString": 5}, merge.stamp(1), "d"], "A part of the value is named toString"),
        ([5, merge.stamp(1), "d"], "Place must be text"),
    ]:
        path.write_text(json.dumps({"format": 1, "records": [{"id": "p1", "kind": "pass", "fields": {"place": [value]}}]}))
        with pytest.raises(LogError, match=says):
            open_log(path)


# The same on the disk and in memory


@pytest.mark.parametrize("end", [Log.close, drop])
def test_any_store_gives_back_what_was_acknowledged(anywhere, end):
    randomly, kept, cursors = random.Random(5), set(), {}
    for turn in range(6):
        log = open_log(anywhere)
        assert {entry[0] for record in everything(log).values() for entry in record["fields"]["place"]} == kept
        for cursor, then in cursors.items():
            changed = {json.loads(text)["id"] for text in log.changes(cursor)[1]}
            assert changed == {name for name, record in everything(log).items() if record != then.get(name)}
        for number in range(turn * 10, turn * 10 + 10):
            kept |= {f"v{name[1:]}" for name in log.apply([edit(number, record=f"p{randomly.randrange(4)}")])[0]}
            if randomly.random() < 0.2:
                log.fold()
        cursors[log.changes()[0]] = everything(log)
        end(log)


def test_any_store_refuses_after_closing_and_exports_itself(anywhere):
    log = open_log(anywhere)
    log.apply([edit(1)])
    exported = b"".join(log.export())
    assert json.loads(exported)["records"][0]["fields"]["place"][0][0] == "v1"
    log.close()
    with pytest.raises(LogError, match="server is stopping"):
        log.apply([edit(2)])


@COUNTED
def test_being_refused_the_lock_leaves_no_file_open(path):
    with open_log(path):
        before = open_in(path.parent)
        for _ in range(3):
            with pytest.raises(LogError):
                open_log(path)
        assert open_in(path.parent) == before


@COUNTED
def test_a_journal_that_was_taken_away_and_begun_again_leaves_none_open(path):
    with open_log(path) as log:
        log.apply([edit(0)])
        before = open_in(path.parent)
        for number in range(1, 4):
            path.with_name(path.name + ".journal").unlink()
            log.apply([edit(number)])
        assert open_in(path.parent) == before


def test_every_change_of_a_record_is_one_number_further(anywhere):
    with open_log(anywhere) as log:
        for number in range(3):
            log.apply([edit(number, record=f"p{number}")])
            assert log._ledger.number == number + 1


def test_a_short_journal_is_left_alone_while_there_is_no_quiet_moment(path):
    with open_log(path, idle=0.02) as log:
        log.apply([edit(1)])
        log._last_write = math.inf  # as if written to all the time
        time.sleep(0.3)
        assert b"v1" not in path.read_bytes(), "each rewrite costs; it waits for rest"


def test_a_log_that_cannot_be_used_says_why_and_no_number(path, monkeypatch):
    def refuse(*_):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(logfile.Log, "_load", refuse)
    with pytest.raises(LogError, match=r"cannot be used: Input/output error\.$"):
        open_log(path)
