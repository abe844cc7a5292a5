"""Random histories of several phones and one server, with all that can go wrong: python -m tests.histories [how many] [first]

Phones type, delete and restore, with wrong clocks; requests and answers are lost, repeated, late and out of order; the
server is stopped, killed, given a wrong clock, and older copies of its log are put back: the file, the file with its
journal, or the whole folder. In the end all phones sync. A history is lost where a value that somebody typed is not in the
log then, parted where a phone holds anything else than the log, stuck where a phone does not come to rest, and stale where
a value typed last, by one who had seen everything, does not show.
"""

import random
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.test_sync import NOW, YEAR, Phone, client
from webapp.log import ledger, merge
from webapp.log.logfile import Log

KINDS = {"p1": "pass", "p2": "pass", "p3": "pass", "n1": "note", "b1": "build"}
STEPS = 60
WHAT = {
    "type": 12,
    "delete or restore": 2,
    "sync": 10,
    "answer comes": 4,
    "phone's clock": 2,
    "server's clock": 1,
    "fold": 1,
    "stop": 1,
    "kill": 1,
    "copy": 2,
    "put back": 2,
}
FATES = ["arrives"] * 4 + ["lost on the way", "answer lost", "sent twice", "answer late", "answer late"]


class History:
    """One history, told by `seed`; `end` says how it ended."""

    def __init__(self, seed, folder):
        self.random = random.Random(seed)
        self.place = Path(folder) / "log"
        self.kept = Path(folder) / "copy"
        self.place.mkdir()
        self.now, self.error, self.count = NOW, 0, 0
        self.phones = [Phone(name) for name in "abcde"[: self.random.randint(3, 5)]]
        self.typed, self.late, self.copied = [], [], None
        self.start()

    def start(self):
        self.log = Log(self.place / "log.json", wall=lambda: (self.now + self.error) / 1000, idle=None)
        self.server = client(self.log)

    def end(self):
        for _ in range(STEPS):
            what = self.random.choices(list(WHAT), WHAT.values())[0]
            self.step(what, self.random.choice(self.phones))
        try:
            return self.compare()
        finally:
            self.log.close()

    def step(self, what, phone):
        if what == "type":
            self.now += self.random.choice([0, 1, 50, 60_000, 3_600_000])
            self.type(phone, self.random.choice(list(KINDS)), self.random.choice(["place", "words"]))
        elif what == "delete or restore":
            record = self.random.choice(list(KINDS))
            if phone.shown(record):
                phone.write(self.now, record, KINDS[record], merge.DELETED, self.random.random() < 0.5)
        elif what == "sync":
            self.sync(phone, self.random.choice(FATES))
        elif what == "answer comes" and self.late:
            phone, told, asked = self.late.pop(self.random.randrange(len(self.late)))
            phone.take_in(told, self.now, asked)
        elif what == "phone's clock":
            phone.error = self.random.choice([0, 0, 30_000, 400_000, YEAR, -YEAR, -60 * YEAR, 20 * YEAR, 5000 * YEAR])
        elif what == "server's clock":
            self.error = self.random.choice([0, 0, 400_000, YEAR, -57 * YEAR])
        elif what == "fold":
            self.log.fold()
        elif what in ("stop", "kill"):
            self.stop(what)
            self.start()
        elif what == "copy":
            self.copy()
        elif what == "put back" and self.copied:
            self.put_back()

    def type(self, phone, record, field):
        self.count += 1
        phone.write(self.now, record, KINDS[record], field, f"v{self.count}")
        self.typed.append((record, field, f"v{self.count}"))

    def sync(self, phone, fate):
        asked = phone.ask()
        if fate == "lost on the way":
            return
        told = self.post(asked)
        if fate == "sent twice":
            told = self.post(asked)
        if fate == "answer late":
            self.late.append((phone, told, asked))
        elif fate != "answer lost":
            phone.take_in(told, self.now, asked)

    def post(self, asked):
        told = self.server.post("/api/sync", json=asked)
        assert told.status_code == 200, told.data
        return told.get_json()

    def stop(self, how):
        self.log.store.close() if how == "kill" else self.log.close()

    def copy(self):
        if self.random.random() < 0.5:
            self.log.fold()
        shutil.rmtree(self.kept, ignore_errors=True)
        shutil.copytree(self.place, self.kept)
        self.copied = self.random.choice(["file", "file and journal", "folder"])

    def put_back(self):
        self.stop(self.random.choice(["stop", "kill"]))
        if self.copied == "folder":
            shutil.rmtree(self.place)
            shutil.copytree(self.kept, self.place)
        else:
            shutil.copy(self.kept / "log.json", self.place)
            if self.copied == "file and journal":
                shutil.copy(self.kept / "log.json.journal", self.place)
        self.start()

    def finish(self, phone):
        for _ in range(300):
            asked = phone.ask()
            told = self.post(asked)
            phone.take_in(told, self.now, asked)
            if not told["more"] and not phone.outbox:
                return True
        return False

    def compare(self):
        if not all(self.finish(phone) for _ in range(3) for phone in self.phones):
            return "stuck"
        log = {record["id"]: record for record in self.log.snapshot()()}
        for record, field, value in self.typed:
            if value not in [entry[0] for entry in log.get(record, {"fields": {}})["fields"].get(field, ())]:
                return "lost"
        if any(phone.base != log or phone.refused for phone in self.phones):
            return "parted"
        for phone in self.phones:
            self.type(phone, "p1", "place")
            if not all(self.finish(each) for each in (phone, *self.phones)):
                return "stuck"
            if any(merge.shown(each.base["p1"])["place"] != f"v{self.count}" for each in self.phones):
                return "stale"
        return "fine"


def run(seed):
    """Return how the history of this seed ends."""
    piece, ledger.LARGEST_PIECE = ledger.LARGEST_PIECE, 300
    try:
        with tempfile.TemporaryDirectory() as folder:
            return History(seed, folder).end()
    finally:
        ledger.LARGEST_PIECE = piece


def main(many=2000, first=0):
    ends = Counter()
    for seed in range(first, first + many):
        how = run(seed)
        ends[how] += 1
        if how != "fine":
            print(f"history {seed}: {how}", flush=True)
    print(dict(ends))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
