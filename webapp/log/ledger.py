"""Every record in memory as its JSON text, who has what, and the order of time. No file, no lock, no clock of its own.

The text of a record is parsed only when the record is touched, so that an edit costs the same in a log of any length.

Order of time. Devices stamp their edits (`webapp.log.merge`). A phone whose clock is years ahead must not win for years, so
a stamp is taken only up to five minutes ahead of this machine's clock, or up to the latest stamp in the log where that
is later still: who has seen a stamp may always write a later one. An edit beyond that is refused with the code "clock",
and the phone stamps it again, in the order in which things were typed, from the `now` that the answer gave it. Where
this machine's own clock is behind its log, `now` is the latest stamp of the log, so that time never runs backwards.
What a server once told is never stamped again: phones send it back as settled, and it is taken whatever its stamp, as
long as that is one that a clock can show (`merge.LAST_SETTLED`). No stamp can thus leave the others without a later one.

Who has what. Each changed record takes the next number of one sequence. A phone's cursor is `era.number.top.mark`: how
far it was told, how far the log went then, and a random mark of the server's run in which that last number was taken.
The marks are kept with the log. A log whose number `top` is missing or bears another mark went another way since, for
an older copy of it was put back; it then begins a new era, as it does when it was edited by hand. Who knows another era
fetches all anew, and sends back what this log lacks.
"""

import json
import uuid
from bisect import bisect_right

from webapp.log import merge

FORMAT = 1
DRIFT = 5 * 60 * 1000  # ms
LARGEST_RECORD = 1024 * 1024  # bytes
LARGEST_PIECE = 256 * 1024  # bytes of records in one answer
MOST_MARKS = 1000  # runs of the server that wrote something; then a new era takes their place


class Ledger:
    """The records that `document` (from `webapp.log.document.read`) holds; none where it is None."""

    def __init__(self, document=None):
        head = document["head"] if document else {}
        # A copy without these was saved from a phone.
        self.id, self.era = head.get("log") or uuid.uuid4().hex, head.get("era") or _new_era()
        self.number, self.newest = head.get("number", 0), head.get("newest", merge.stamp(0))
        self._marks = [(first, mark) for first, mark in head.get("marks", ())]
        self._mark = uuid.uuid4().hex[:8]
        self._records = {name: (number, text) for name, number, text in document["records"]} if document else {}
        self._sort()

    def __len__(self):
        return len(self._records)

    def get(self, name):
        """Return a record as a dict, or None."""
        known = self._records.get(name)
        return known and json.loads(known[1])

    def all(self):
        """Return [(number, text)] of all records, as they are now."""
        return list(self._records.values())

    def head(self):
        """Return what stands before the records in the document."""
        head = {"format": FORMAT, "log": self.id, "era": self.era, "number": self.number, "newest": self.newest}
        return {**head, "marks": self._marks}

    # Who has what

    def knows(self, cursor):
        """False where the phone with this cursor was told of things that this log does not hold."""
        era, _, top, mark = _read_cursor(cursor)
        return era != self.era or (top <= self.number and mark == self._mark_of(top))

    def changes(self, cursor=None):
        """Return (cursor, records, more): the JSON texts of what changed since `cursor`, a bounded piece of it."""
        era, since, _, _ = _read_cursor(cursor)
        since = since if era == self.era else 0
        texts, size = [], 0
        for place in range(bisect_right(self._order, (since, "\uffff")), len(self._order)):
            number, name = self._order[place]
            latest, text = self._records[name]
            if latest != number:
                continue  # changed again further on
            if texts and size + len(text) > LARGEST_PIECE:
                return self._cursor(since), texts, True
            texts.append(text)
            size += len(text)
            since = number
        return self._cursor(self.number), texts, False

    def _cursor(self, since):
        return f"{self.era}.{since}.{self.number}.{self._mark_of(self.number)}"

    def _mark_of(self, number):
        """The mark of the run in which a number was taken; "" for one that an older version took."""
        place = bisect_right(self._marks, (number, "\uffff")) - 1
        return self._marks[place][1] if place >= 0 else ""

    def begin_era(self):
        """Begin a new era; return its batch for the journal."""
        self.era, self._marks = _new_era(), []
        return {"era": self.era}

    def needs_era(self):
        """True where the marks have become too many."""
        return len(self._marks) > MOST_MARKS

    # Time

    def clock(self, wall):
        """Return (now, latest) [ms since 1970] at `wall` [ms]: this log's time, and how late a stamp may be."""
        wall = min(int(wall), merge.milliseconds(merge.LAST_BELIEVED))
        newest = merge.milliseconds(self.newest)
        return max(wall, newest), max(wall + DRIFT, newest + 1)

    def heal(self):
        """Set stamps right that no clock can have shown (`merge.heal`); True where there were any."""
        if self.newest < merge.LAST_BELIEVED:
            return False
        healed = {}
        for name in self._records:
            record = self.get(name)
            better = merge.heal(record)
            if better is not record:
                healed[name] = better
        for name, record in healed.items():
            self._put(name, record)
        self._sort()
        self.newest = max((edit["at"] for name in self._records for edit in merge.edits_of(self.get(name))), default=merge.stamp(0))
        return bool(healed)

    # Writing

    def weigh(self, edits, wall):
        """Merge edits without taking them in yet: return (kept, refused, changed, batch).

        `kept` lists ids, `refused` lists `{"id", "code", "why"}`. `changed` ({name: record}) and `batch`, which is for the
        journal, are what `commit` takes; the batch is None where nothing is new.
        """
        kept, refused, changed, written, sizes = [], [], {}, [], {}
        settled = [merge.milliseconds(edit["at"]) + 1 for edit in edits if _is_settled(edit)]
        latest = merge.stamp(max([self.clock(wall)[1], *settled]), 0xFFFF)
        for edit in edits:
            reason = self._add(edit, latest, changed, written, sizes)
            if reason:
                refused.append({"id": edit["id"], **reason})
            else:
                kept.append(edit["id"])
        return kept, refused, changed, {"mark": self._mark, "edits": written} if written else None

    def _add(self, edit, latest, changed, written, sizes):
        """Merge one edit into `changed` (record: dict), note it in `written` where it is new; return why not.

        `sizes` holds how long the text of each record is by now [bytes].
        """
        if not _is_settled(edit) and edit["at"] > latest:
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

    def commit(self, changed, batch):
        """Take in what `weigh` gave, once its batch is in the journal."""
        mark = batch.get("mark", "")
        if mark != self._mark_of(self.number):
            self._marks.append((self.number + 1, mark))
        for name, record in changed.items():
            self._put(name, record)
        self.newest = max(self.newest, *(edit["at"] for edit in batch["edits"]))
        if len(self._order) > 2 * len(self._records) + 1000:
            self._sort()

    def replay(self, batch):
        """Take in a batch of the journal; what is known already takes no number. Errors: ValueError, TypeError."""
        if batch.get("era", self.era) != self.era:
            self.era, self._marks = batch["era"], []
        # The same records, changed in the same order, get the numbers again that phones were told.
        changed, written = {}, []
        for raw in batch.get("edits", ()):
            edit = merge.read_edit({**raw, "id": "replayed"})
            before = changed.get(edit["record"]) or self.get(edit["record"])
            after = merge.merge(before, edit)
            if after is not before:
                changed[edit["record"]] = after
                written.append(edit)
        if written:
            self.commit(changed, {**batch, "edits": written})

    def _put(self, name, record):
        self.number += 1
        self._records[name] = (self.number, merge.encode(record))
        self._order.append((self.number, name))

    def _sort(self):
        self._order = sorted((number, name) for name, (number, _) in self._records.items())


def _new_era():
    return uuid.uuid4().hex[:12]


def _is_settled(edit):
    return bool(edit.get("settled")) and edit["at"] < merge.LAST_SETTLED


def _read_cursor(cursor):
    """Return (era, number, top, mark) of a cursor; era "" for one that is none. Older ones end after the number."""
    era, number, top, mark = [*(cursor or "").split("."), "", "", ""][:4]
    top = top or number
    if not all(part.isascii() and part.isdigit() and len(part) <= 15 for part in (number, top)):
        return "", 0, 0, ""
    return era, int(number), int(top), mark
