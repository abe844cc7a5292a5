"""The log: every record in memory as its JSON text, one readable file on disk, and a journal for what the file lacks.

An edit is in the journal, synced, before it is acknowledged; the file is written anew when idle and on stop. The text
of a record is parsed only when the record is touched, so that an edit costs the same in a log of any length.

Order of time. Devices stamp their edits (`webapp.log.merge`). A phone whose clock is years ahead must not win for years, so
a stamp is taken only up to five minutes ahead of this machine's clock, or up to the latest stamp in the log where that
is later still: who has seen a stamp may always write a later one. An edit beyond that is refused with the code "clock",
and the phone stamps it again, in the order in which things were typed, from the `now` that the answer gave it. Where
this machine's own clock is behind its log, `now` is the latest stamp of the log, so that time never runs backwards.
What a server once told is never stamped again: phones send it back as settled, and it is taken whatever its stamp.

Who has what. Each changed record takes the next number of one sequence; a phone's cursor is `era.number`. The era
changes whenever the log may hold less or other than it told phones (edited by hand, an older copy put back): they then
fetch all anew, and send back what this log lacks.
"""

import hashlib
import io
import json
import logging
import os
import shutil
import threading
import time
import uuid
from bisect import bisect_right
from pathlib import Path

import filelock
import platformdirs

from webapp.log import journal, merge
from webapp.log.error import LogError

FORMAT = 1
MIGRATIONS = {}  # from format number: a function of the whole document that returns the next format's document
DRIFT = 5 * 60 * 1000  # ms
LARGEST_RECORD = 1024 * 1024  # bytes
LARGEST_PIECE = 256 * 1024  # bytes of records in one answer
LARGEST_JOURNAL = 4 * 1024 * 1024  # bytes; beyond it the file is rewritten without waiting for a quiet moment
IDLE = 3.0  # s


def default_path():
    """Return where the log is when nobody says: the platform's folder for a user's data."""
    return Path(platformdirs.user_data_path("overbowl", appauthor=False)) / "log.json"


class Log:
    """The log in the file at `path` (default: `default_path()`), held by this process alone until `close()`.

    `wall` gives the time [s since 1970]; `idle` [s] is how long nothing must come in before the file is rewritten, None
    for only on `close()`. Errors: LogError with sentences for the user; what is on the disk is then as it was.
    """

    def __init__(self, path=None, wall=time.time, idle=IDLE):
        self.path = _find_place(path)
        self._wall = wall
        self._lock = threading.RLock()
        self._folding = threading.Lock()
        self._due = threading.Event()
        self._stopping = threading.Event()
        self._last_write = 0.0
        self._closed = False
        self.problem = None  # why the file could not be rewritten, where that is so
        self._process_lock = _take(self.path)
        try:
            self._load()
        except OSError as error:
            self._process_lock.release()
            raise LogError(f"The log {self.path} cannot be used: {error.strerror or error}.") from error
        except BaseException:
            self._process_lock.release()
            raise
        self._folder = None
        if idle is not None:
            self._folder = threading.Thread(target=self._fold_when_idle, args=(idle,), daemon=True)
            self._folder.start()

    # Reading

    def __len__(self):
        return len(self._records)

    def get(self, record):
        """Return a record as a dict, or None."""
        known = self._records.get(record)
        return known and json.loads(known[1])

    def snapshot(self):
        """Return a function that yields every record as a dict, as they are now, each time it is called."""
        records = self._all()
        return lambda: (json.loads(text) for _, text in records)

    def export(self):
        """Yield the log as pieces of JSON, in the form of the file."""
        with self._lock:
            head, records = self._head(), self._all()
        return _document(head, records)

    def _all(self):
        with self._lock:
            return list(self._records.values())

    def changes(self, cursor=None):
        """Return (cursor, records, more): the JSON texts of what changed since `cursor`, a bounded piece of it."""
        with self._lock:
            since = self._since(cursor)
            texts, size = [], 0
            for place in range(bisect_right(self._order, (since, "\uffff")), len(self._order)):
                number, record = self._order[place]
                latest, text = self._records[record]
                if latest != number:
                    continue  # changed again further on
                if texts and size + len(text) > LARGEST_PIECE:
                    return f"{self.era}.{since}", texts, True
                texts.append(text)
                size += len(text)
                since = number
            return f"{self.era}.{self._number}", texts, False

    def _since(self, cursor):
        era, _, number = (cursor or "").partition(".")
        if era != self.era or not number.isascii() or not number.isdigit() or len(number) > 15:
            return 0
        if int(number) > self._number:
            # That phone was told of things that this log does not hold.
            self._begin_era()
            return 0
        return int(number)

    def clock(self):
        """Return (now, latest) [ms since 1970]: this log's time, and how late a stamp may be."""
        wall = int(self._wall() * 1000)
        newest = merge.milliseconds(self._newest)
        return max(wall, newest), max(wall + DRIFT, newest + 1)

    # Writing

    def apply(self, edits):
        """Take edits (as `merge.read_edit` returns them) in, and return (kept, refused).

        `kept` lists ids; they are on the disk. `refused` lists `{"id", "code", "why"}`. Errors: LogError, and then
        nothing was kept.
        """
        with self._lock:
            kept, refused, changed, written = [], [], {}, []
            sizes = {}
            settled = [merge.milliseconds(edit["at"]) + 1 for edit in edits if edit.get("settled")]
            latest = merge.stamp(max([self.clock()[1], *settled]), 0xFFFF)
            for edit in edits:
                reason = self._add(edit, latest, changed, written, sizes)
                if reason:
                    refused.append({"id": edit["id"], **reason})
                else:
                    kept.append(edit["id"])
            if written:
                self._check_untouched()
                self._journal.append({"edits": written})
                self._commit(changed, written)
            return kept, refused

    def _add(self, edit, latest, changed, written, sizes):
        """Merge one edit into `changed` (record: dict), note it in `written` where it is new; return why not.

        `sizes` holds how long the text of each record is by now [bytes].
        """
        if edit["at"] > latest:
            return {"code": "clock", "why": "The clock of the phone is ahead of the server's."}
        name = edit["record"]
        before = changed.get(name) or self.get(name)
        try:
            after = merge.merge(before, edit)
        except ValueError as error:
            return {"code": "kind", "why": str(error)}
        if after is before:
            return None
        grows = len(merge.canonical([edit["field"], edit["value"], edit["at"], edit["device"]]).encode())
        size = sizes.get(name, len(self._records.get(name, (0, b""))[1])) + grows
        if size > LARGEST_RECORD:
            return {"code": "full", "why": "This record has been changed too often; go on in a new one."}
        sizes[name] = size
        changed[name] = after
        written.append({key: edit[key] for key in ("record", "kind", "field", "value", "at", "device")})
        return None

    def _commit(self, changed, written):
        for name, record in changed.items():
            self._number += 1
            self._records[name] = (self._number, _encode(record))
            self._order.append((self._number, name))
        self._newest = max(self._newest, *(edit["at"] for edit in written))
        if len(self._order) > 2 * len(self._records) + 1000:
            self._order = sorted((number, name) for name, (number, _) in self._records.items())
        self._last_write = time.monotonic()
        self._due.set()

    def _begin_era(self):
        self.era = uuid.uuid4().hex[:12]
        self._journal.append({"era": self.era})
        self._due.set()

    # The file

    def _load(self):
        if not self.path.exists():
            self._refuse_to_start_over()
            self.id, self.era, self._number, self._newest = uuid.uuid4().hex, uuid.uuid4().hex[:12], 0, merge.stamp(0)
            self._records, self._order = {}, []
            self._known = self._replace(*self._write_aside())
            self._open_journal()
            return
        data = self.path.read_bytes()
        document = _read_document(data, self.path, self._beside("backup"))
        self._known = (_fingerprint(self.path), hashlib.sha256(data).hexdigest())
        head = document["head"]
        # A copy without these was saved from a phone.
        self.id, self.era = head.get("log") or uuid.uuid4().hex, head.get("era")
        self._number, self._newest = head.get("number", 0), head.get("newest", merge.stamp(0))
        self._records, self._order = {}, []
        for name, number, text in document["records"]:
            self._records[name] = (number, text)
        self._order = sorted((number, name) for name, (number, _) in self._records.items())
        if document["format"] != FORMAT:
            shutil.copy2(self.path, self._beside(f"format-{document['format']}"))
        older_copy = self._replay()
        if document["foreign"] or older_copy:
            self._begin_era()

    def _refuse_to_start_over(self):
        backup = self._beside("backup")
        if backup.exists():
            raise LogError(
                f"The log {self.path} is missing, but its backup {backup} is there. Copy the backup to "
                f"{self.path.name}, or move it away to begin a new log."
            )
        for path in (self._beside("journal.old"), self._beside("journal")):
            if path.exists() and len(journal.read(path)[0]) > 1:
                raise LogError(
                    f"The log {self.path} is missing, but its journal {path} is there. Put the log back, "
                    "or move the journal away to begin a new log."
                )

    def _replay(self):
        """Take in what the journals hold and open the newer one; True where they take up later than the file ends."""
        older_copy = False
        sound = 0
        for path in (self._beside("journal.old"), self._beside("journal")):
            batches, sound = journal.read(path) if path.exists() else ([], 0)
            if not batches:
                continue
            if batches[0].get("log") != self.id:
                raise LogError(f"The journal {path} belongs to another log than {self.path}. Nothing was changed. Move one of them away.")
            older_copy = older_copy or batches[0]["number"] > self._number
            for batch in batches[1:]:
                self._due.set()
                self._replay_batch(batch, path)
        self._open_journal(sound)
        return older_copy

    def _open_journal(self, sound=0):
        """Go on with the journal, `sound` bytes of which are good, or begin one."""
        path = self._beside("journal")
        self._journal = journal.Journal(path, sound) if sound else journal.Journal.create(path, self._journal_head())
        _sync_folder(path.parent)

    def _replay_batch(self, batch, path):
        self.era = batch.get("era", self.era)
        # The same records, changed in the same order, get the numbers again that phones were told.
        changed, written = {}, []
        for raw in batch.get("edits", ()):
            try:
                edit = merge.read_edit({**raw, "id": "replayed"})
                before = changed.get(edit["record"]) or self.get(edit["record"])
                after = merge.merge(before, edit)
            except (TypeError, ValueError) as error:
                raise LogError(
                    f"The journal {path} holds an edit that does not fit the log {self.path}: {error} Nothing was changed."
                ) from error
            if after is not before:
                changed[edit["record"]] = after
                written.append(edit)
        if written:
            self._commit(changed, written)

    def _journal_head(self):
        return {"log": self.id, "number": self._number}

    def _beside(self, ending):
        return self.path.with_name(f"{self.path.name}.{ending}")

    def _head(self):
        return {"format": FORMAT, "log": self.id, "era": self.era, "number": self._number, "newest": self._newest}

    def _check_untouched(self):
        """Refuse to write where somebody else wrote the file meanwhile."""
        now = _fingerprint(self.path)
        if now is None or now == self._known[0]:
            return  # a file that is gone is written again: memory has it all
        if hashlib.sha256(self.path.read_bytes()).hexdigest() != self._known[1]:
            raise LogError(
                f"The log {self.path} was changed by another program while the server ran. Nothing was "
                "written over it. Stop the server and start it again to take the change in."
            )
        self._known = (now, self._known[1])

    def fold(self):
        """Write the file anew with everything the journal holds. Errors: LogError; nothing is lost then."""
        with self._folding:
            self._due.clear()
            try:
                with self._lock:
                    self._check_untouched()
                    self._turn_journal()
                written = self._write_aside()
                with self._lock:
                    self._check_untouched()
                    self._known = self._replace(*written)
                self._beside("journal.old").unlink(missing_ok=True)
            except OSError as error:
                self._due.set()
                raise LogError(
                    f"The log {self.path} cannot be written: {error.strerror or error}. What came in is safe in {self._journal.path}."
                ) from error
            except LogError:
                self._due.set()
                raise
            self.problem = None

    def _turn_journal(self):
        """Begin a new journal; the old one goes once the file holds what it says."""
        old, path, fresh = self._beside("journal.old"), self._beside("journal"), self._beside("journal.new")
        if old.exists():
            return  # a rewrite failed before: this one takes in both
        following = journal.Journal.create(fresh, self._journal_head())
        following.close()
        self._journal.close()
        os.replace(path, old)
        os.replace(fresh, path)
        _sync_folder(self.path.parent)
        self._journal = journal.Journal(path, following.size)

    def _write_aside(self):
        """Write the document to a temporary file, synced; return (temporary file, digest)."""
        with self._lock:
            head, records = self._head(), self._all()
        aside, digest = self._beside("new"), hashlib.sha256()
        with open(aside, "wb") as file:
            for piece in _document(head, records):
                digest.update(piece)
                file.write(piece)
            file.flush()
            os.fsync(file.fileno())
        return aside, digest.hexdigest()

    def _replace(self, aside, digest):
        """Put the new file in the place of the old one, which becomes the backup."""
        if self.path.exists():
            shutil.copymode(self.path, aside)
            _keep(self.path, self._beside("backup"))
        os.replace(aside, self.path)
        _sync_folder(self.path.parent)
        return _fingerprint(self.path), digest

    def _fold_when_idle(self, idle):
        wait = idle
        while not self._stopping.wait(wait):
            wait = idle
            if not self._due.is_set() and self.path.exists():
                continue
            quiet = time.monotonic() - self._last_write >= idle
            if not quiet and self._journal.size < LARGEST_JOURNAL:
                continue
            try:
                self.fold()
            except LogError as error:
                if str(error) != self.problem:
                    logging.getLogger(__name__).warning("%s", error)
                self.problem = str(error)
                wait = max(idle, 30.0)

    def close(self):
        """Write the file and let go of it. Errors: LogError where it cannot be written; the journal has everything."""
        if self._closed:
            return
        self._closed = True
        self._stopping.set()
        if self._folder:
            self._folder.join()
        try:
            if self._due.is_set() or not self.path.exists():
                self.fold()
        finally:
            with self._lock:
                self._journal.close()
            self._process_lock.release()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


def _find_place(path):
    given = Path(path) if path else default_path()
    try:
        place = given.expanduser().resolve()
        if path is None:
            place.parent.mkdir(parents=True, exist_ok=True)
    except (OSError, RuntimeError) as error:
        raise LogError(f"The log cannot be kept at {given}: {error}.") from error
    if not place.parent.is_dir():
        raise LogError(f"The log cannot be kept at {given}: the folder {place.parent} does not exist.")
    if place.is_dir():
        raise LogError(f"The log cannot be kept at {given}: that is a folder. Name a file in it.")
    return place


def _take(path):
    lock = filelock.FileLock(f"{path}.lock", thread_local=False)
    try:
        lock.acquire(timeout=0)
    except filelock.Timeout as error:
        if not os.path.exists(lock.lock_file):
            raise LogError(f"The folder {path.parent} cannot be written to. Name a file elsewhere with --log.") from error
        reason = f"Another server is using the log {path}. Stop it first, or name another file with --log."
        raise LogError(reason) from error
    except (OSError, NotImplementedError) as error:
        reason = f"The folder {path.parent} cannot be written to: {getattr(error, 'strerror', None) or error}."
        raise LogError(f"{reason} Name a file elsewhere with --log.") from error
    return lock


def _encode(record):
    return json.dumps(record, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


_RECORDS = b'"records":['
_CHECK = b'\n],"check":"'


def _document(head, records):
    """Yield the file: a line for the head, a line a record, and a checksum that tells a file changed by hand."""
    check = hashlib.sha256()
    piece = _encode(head)[:-1] + b"," + _RECORDS
    for place, (number, text) in enumerate(records):
        check.update(piece)
        yield piece
        piece = (b"," if place else b"") + b'\n{"number":%d,' % number + text[1:]
    check.update(piece)
    yield piece
    yield _CHECK + check.hexdigest().encode() + b'"}\n'


def _read_document(data, path, backup):
    """Return {"head", "records": [(name, number, text)], "foreign", "format"}; `foreign` means that others wrote it.

    Errors: LogError.
    """
    spare = f" The version before is in {backup}." if backup.exists() else ""
    try:
        ours = _read_own(data)
        return ours if ours and ours["head"]["format"] == FORMAT else _read_any(data)
    except (ValueError, KeyError, TypeError, RecursionError, AttributeError) as error:
        reason = error if isinstance(error, _Unfit) else "It is not a log of Overbowl, or damaged."
        reason = "It is empty." if not data.strip() else reason
        raise LogError(f"The log {path} cannot be read. {reason} Nothing was changed.{spare}") from error


class _Unfit(ValueError):
    """The message says to the user what is wrong with the file."""


def _read_own(data):
    """Read a document that this program wrote and nobody touched, line by line; None for any other."""
    end = data.rfind(_CHECK)
    check = hashlib.sha256(memoryview(data)[: max(end, 0)]).hexdigest()
    if end < 0 or data[end:] != _CHECK + check.encode() + b'"}\n':
        return None
    lines = io.BytesIO(data)
    head = json.loads(lines.readline().rstrip() + b"]}")
    records = []
    while lines.tell() < end:
        start, _, rest = lines.readline().rstrip(b",\n").partition(b",")
        text = b"{" + rest
        # The name comes first in the text: `{"id":"..."`.
        records.append((text[7 : text.index(b'"', 7)].decode(), int(start[len(b'{"number":') :]), text))
    return {"head": head, "records": records, "foreign": False, "format": FORMAT}


def _read_any(data):
    """Read a document that another version, a phone or a hand wrote; every record is looked at closely."""
    try:
        document = json.loads(data)
    except (ValueError, RecursionError) as error:
        where = f" (line {error.lineno}, column {error.colno})" if isinstance(error, json.JSONDecodeError) else ""
        raise _Unfit(f"It is not whole JSON{where}.") from error
    written_as = _format_of(document)
    document = _migrate(document, written_as)
    records = [_read_record(record, place) for place, record in enumerate(document["records"], 1)]
    if len({name for name, _, _ in records}) < len(records):
        raise _Unfit("Two records have the same id.")
    head = {key: document[key] for key in ("log", "era") if isinstance(document.get(key), str)}
    head["number"] = _whole(document.get("number"))
    # Records that others wrote come without numbers of ours.
    numbered = []
    for name, record, number in records:
        head["number"] += number is None
        numbered.append((name, head["number"] if number is None else number, _encode(record)))
    head["number"] = max([head["number"], *(number for _, number, _ in numbered)])
    stamps = [entry[1] for _, record, _ in records for entries in record["fields"].values() for entry in entries]
    head["newest"] = max(stamps, default=merge.stamp(0))
    return {"head": head, "records": numbered, "foreign": True, "format": written_as}


def _format_of(document):
    number = document.get("format") if isinstance(document, dict) else None
    if not isinstance(number, int) or number < 1 or not isinstance(document.get("records"), list):
        raise _Unfit("It is not a log of Overbowl.")
    if number > FORMAT:
        raise _Unfit(f"A newer version wrote it (format {number}; this one reads up to {FORMAT}). Update Overbowl.")
    return number


def _migrate(document, number):
    for older in range(number, FORMAT):
        document = MIGRATIONS[older](document)
    return document


def _read_record(raw, place):
    """Return (name, record, number or None) of a record that others wrote."""
    try:
        record = {"id": raw["id"], "kind": raw["kind"], "fields": {}}
        for field, entries in raw["fields"].items():
            if not entries:
                raise ValueError(f"The field {field} has no value.")
            for value, at, device in entries:
                edit = {"id": "read", "record": raw["id"], "kind": raw["kind"], "field": field}
                record = merge.merge(record, merge.read_edit({**edit, "value": value, "at": at, "device": device}))
        return record["id"], record, _whole(raw.get("number")) or None
    except (AttributeError, KeyError, TypeError) as error:
        raise _Unfit(f"Record {place} is not in the form of a record.") from error
    except ValueError as error:
        raise _Unfit(f"Record {place} is wrong: {error}") from error


def _whole(value):
    return value if isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 10**15 else 0


def _fingerprint(path):
    try:
        found = os.stat(path)
    except FileNotFoundError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size


def _keep(path, backup):
    """Keep the file at `path` as the backup, too, without a moment in which either is not there."""
    spare = backup.with_name(backup.name + ".new")
    spare.unlink(missing_ok=True)
    try:
        os.link(path, spare)
    except OSError:
        # A file system without links: copy.
        shutil.copy2(path, spare)
        with open(spare, "rb+") as file:
            os.fsync(file.fileno())
    os.replace(spare, backup)


def _sync_folder(folder):
    if os.name == "nt":
        return  # Windows has no such thing
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
