"""The log: its records (`ledger`), kept safe by a store (`store`), for several threads at a time.

An edit is in the store's journal, synced, before it is acknowledged; the document is written anew when idle and on stop.
"""

import json
import logging
import threading
import time

from webapp.log import document
from webapp.log.error import LogError
from webapp.log.ledger import Ledger
from webapp.log.store import Disk

LARGEST_JOURNAL = 4 * 1024 * 1024  # bytes; beyond it the file is rewritten without waiting for a quiet moment
IDLE = 3.0  # s


class Log:
    """The log in the file at `path` (default: `webapp.log.place.default_path()`), or in another `store`, held by this process
    alone until `close()`.

    `wall` gives the time [s since 1970]; `idle` [s] is how long nothing must come in before the file is rewritten, None
    for only on `close()`. Errors: LogError with sentences for the user; what is on the disk is then as it was.
    """

    def __init__(self, path=None, wall=time.time, idle=IDLE, store=None):
        self._wall = wall
        self._lock = threading.RLock()
        self._folding = threading.Lock()
        self._due = threading.Event()
        self._stopping = threading.Event()
        self._last_write = 0.0
        self._closed = False
        self.problem = None  # why the file could not be rewritten, where that is so
        self.store = store or Disk(path)
        self.path = self.store.path
        try:
            self._load()
        except OSError as error:
            self.store.close()
            raise LogError(f"The log {self.path} cannot be used: {error.strerror or error}.") from error
        except BaseException:
            self.store.close()
            raise
        self._folder = None
        if idle is not None:
            self._folder = threading.Thread(target=self._fold_when_idle, args=(idle,), daemon=True)
            self._folder.start()

    def _load(self):
        read, batches, altered = self.store.load()
        self._ledger = Ledger(read)
        for batch in batches:
            if "log" in batch:
                # A journal that takes up later than what is known: an older copy of the file was put back.
                altered = altered or batch["number"] > self._ledger.number
                continue
            self._due.set()
            try:
                self._ledger.replay(batch)
            except (TypeError, ValueError, KeyError) as error:
                reason = f"The journal of the log {self.path} holds an edit that does not fit it: {error} Nothing was changed."
                raise LogError(reason) from error
        if read is None:
            self._write_out()
        elif not self.store.has_journal():
            self.store.begin_journal(self._journal_head())
        if self._ledger.heal() or altered or self._ledger.needs_era():
            self._begin_era()

    # Reading

    def __len__(self):
        return len(self._ledger)

    @property
    def era(self):
        return self._ledger.era

    def get(self, record):
        """Return a record as a dict, or None."""
        with self._lock:
            return self._ledger.get(record)

    def snapshot(self):
        """Return a function that yields every record as a dict, as they are now, each time it is called."""
        with self._lock:
            records = self._ledger.all()
        return lambda: (json.loads(text) for _, text in records)

    def export(self):
        """Return the log as pieces of JSON, in the form of the file."""
        with self._lock:
            return document.write(self._ledger.head(), self._ledger.all())

    def changes(self, cursor=None):
        """Return (cursor, records, more): the JSON texts of what changed since `cursor`, a bounded piece of it."""
        with self._lock:
            if not self._ledger.knows(cursor):
                self._begin_era()
            return self._ledger.changes(cursor)

    def clock(self):
        """Return (now, latest) [ms since 1970]: this log's time, and how late a stamp may be."""
        with self._lock:
            return self._ledger.clock(self._wall() * 1000)

    # Writing

    def apply(self, edits):
        """Take edits (as `merge.read_edit` returns them) in, and return (kept, refused).

        `kept` lists ids; they are on the disk. `refused` lists `{"id", "code", "why"}`. Errors: LogError, and then
        nothing was kept.
        """
        with self._lock:
            kept, refused, changed, batch = self._ledger.weigh(edits, self._wall() * 1000)
            if batch:
                self._keep(batch)
                self._ledger.commit(changed, batch)
                self._last_write = time.monotonic()
                self._due.set()
            return kept, refused

    def _begin_era(self):
        self._keep(self._ledger.begin_era())
        self._due.set()

    def _keep(self, batch):
        """Put a batch on the disk, and first all the rest where it is not there any more. Errors: LogError."""
        if self._closed:
            raise LogError("The server is stopping; nothing of this was kept.")
        try:
            if not self.store.in_place():
                self._write_out()
            self.store.append(batch)
        except OSError as error:
            raise LogError(f"The log {self.path} cannot be written: {error.strerror or error}. Nothing of this was kept.") from error

    def _write_out(self):
        """Write out everything from memory, at once."""
        self.store.begin(self._journal_head(), document.write(self._ledger.head(), self._ledger.all()))

    def _journal_head(self):
        return {"log": self._ledger.id, "number": self._ledger.number}

    def fold(self):
        """Write the file anew with everything the journal holds. Errors: LogError; nothing is lost then."""
        with self._folding:
            self._due.clear()
            try:
                self._fold()
            except OSError as error:
                self._due.set()
                raise LogError(f"The log {self.path} cannot be written: {error.strerror or error}. {self._where_it_is()}") from error
            except LogError:
                self._due.set()
                raise
            self.problem = None

    def _fold(self):
        with self._lock:
            if not self.store.in_place():
                return self._write_out()
            self.store.turn(self._journal_head())
            pieces = self.export()
        written = self.store.write(pieces)
        with self._lock:
            self.store.replace(written)
            self.store.drop_old()

    def _where_it_is(self):
        """Say where what the file lacks is."""
        try:
            safe = self.store.in_place()
        except (LogError, OSError):
            safe = False
        return (
            f"What came in is safe in {self.path}.journal."
            if safe
            else "What came in is in this server's memory, and on the phones it came from."
        )

    def _fold_when_idle(self, idle):
        wait = idle
        while not self._stopping.wait(wait):
            wait = idle
            if not self._due.is_set() and self._is_in_place():
                continue
            quiet = time.monotonic() - self._last_write >= idle
            if not quiet and self.store.size < LARGEST_JOURNAL:
                continue
            try:
                self.fold()
            except LogError as error:
                if str(error) != self.problem:
                    logging.getLogger(__name__).warning("%s", error)
                self.problem = str(error)
                wait = max(idle, 30.0)

    def _is_in_place(self):
        try:
            with self._lock:
                return self.store.in_place()
        except (LogError, OSError):
            return False  # the rewrite says why

    def close(self):
        """Write the file and let go of it. Errors: LogError where it cannot be written; the journal has everything."""
        if self._closed:
            return
        self._stopping.set()
        if self._folder:
            self._folder.join()
        with self._lock:
            self._closed = True
        try:
            if self._due.is_set() or not self._is_in_place():
                self.fold()
        finally:
            with self._lock:
                self.store.close()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()
