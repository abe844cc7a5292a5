"""A log on the disk: one readable file, its journal, and the version before as its backup.

A store does this for `webapp.log.logfile`: `load`; `append` for a batch that must be safe before it is acknowledged; a
rewrite in steps (`turn`, `write`, `replace`, `drop_old`), of which the second, the long one, may run beside appends; and
`begin`, which writes out everything at once where it is not in its place any more. `webapp.log.memory` is another store.
"""

import hashlib
import os
import shutil

from webapp.log import document, journal, place
from webapp.log.error import LogError

LEFT_OVER = ("new", "journal.new", "backup.new")


class Disk:
    """The file at `path` (default: `place.default_path()`), held by this process alone until `close`. Errors: LogError."""

    def __init__(self, path=None):
        self.path = place.find(path)
        self._hold = place.Hold(self.path)
        self._journal = None
        self._known = None  # (fingerprint, digest) of the file as this process wrote or read it
        self.size = 0  # bytes in the journal

    # Reading

    def load(self):
        """Return (document or None, batches, altered): what the file holds; what the journals add, each beginning with its
        head; and whether the file may hold less than phones were told. Errors: LogError, OSError."""
        for ending in LEFT_OVER:
            self.beside(ending).unlink(missing_ok=True)
        if not self.path.exists():
            self._refuse_to_start_over()
            return None, [], False
        self._hold.hold(self.path)
        data = self.path.read_bytes()
        backup = self.beside("backup")
        read = document.read(data, self.path, f" The version before is in {backup}." if backup.exists() else "")
        self._known = (_fingerprint(self.path), hashlib.sha256(data).hexdigest())
        if read["format"] != document.FORMAT:
            shutil.copy2(self.path, self.beside(f"format-{read['format']}"))
        batches, altered = self._read_journals(read["head"])
        return read, batches, altered or read["foreign"]

    def _refuse_to_start_over(self):
        backup = self.beside("backup")
        if backup.exists():
            raise LogError(
                f"The log {self.path} is missing, but its backup {backup} is there. Copy the backup to "
                f"{self.path.name}, or move it away to begin a new log."
            )
        for path in (self.beside("journal.old"), self.beside("journal")):
            if path.exists() and len(journal.read(path)[0]) > 1:
                raise LogError(
                    f"The log {self.path} is missing, but its journal {path} is there. Put the log back, "
                    "or move the journal away to begin a new log."
                )

    def _read_journals(self, head):
        """Return (batches, altered) and open the newer journal, where it can go on."""
        all_batches, altered, sound = [], False, 0
        for path in (self.beside("journal.old"), self.beside("journal")):
            if not path.exists():
                sound = 0
                continue
            batches, sound = journal.read(path)
            altered = altered or not batches  # a journal is put in its place with its first line: there was one
            if batches and batches[0].get("log") != head.get("log"):
                if len(batches) > 1:
                    raise LogError(
                        f"The journal {path} belongs to another log than {self.path}. Nothing was changed. Move one of them away."
                    )
                batches, sound = [], 0
            all_batches += batches
        if sound:
            self._journal = journal.Journal(self.beside("journal"), sound, len(batches))
            self.size = sound
        return all_batches, altered

    # Writing

    def in_place(self):
        """True where file and journal are where they belong. Errors: LogError where others wrote the file; OSError."""
        self._check_untouched()
        return self.path.exists() and self._journal is not None and self._journal.in_place()

    def _check_untouched(self):
        """Refuse to write where somebody else wrote the file meanwhile."""
        now = _fingerprint(self.path)
        if now is None or now == (self._known and self._known[0]):
            return  # a file that is gone is written again: memory has it all
        if self.path.is_dir():
            raise LogError(f"In the place of the log {self.path} there is a folder now. Nothing of this was kept. Move it away.")
        if self._known is None or hashlib.sha256(self.path.read_bytes()).hexdigest() != self._known[1]:
            raise LogError(
                f"The log {self.path} was changed by another program while the server ran. Nothing was "
                "written over it. Stop the server and start it again to take the change in."
            )
        self._hold.hold(self.path)
        self._hold.let_go_of_older()
        self._known = (now, self._known[1])

    def append(self, batch):
        """Add a batch to the journal; it is on the disk when this returns. Errors: LogError, and nothing of it is kept."""
        self._journal.append(batch)
        self.size = self._journal.size

    def begin(self, head, pieces):
        """Write everything to where it belongs, the folder too where that is gone. Errors: LogError, OSError."""
        self.path.parent.mkdir(exist_ok=True)
        self._hold.renew()
        self.replace(self.write(pieces))
        self.begin_journal(head)

    def begin_journal(self, head):
        """Begin the journal where there is none to go on with. A strange one in its place is kept aside."""
        path = self.beside("journal")
        if self._journal is not None:
            strange = path.exists() and not self._journal.in_place()
            self._journal.close()
            if strange and path.stat().st_size:
                os.replace(path, self.beside("journal.found"))
        self._put_journal(head)
        self.beside("journal.old").unlink(missing_ok=True)

    def has_journal(self):
        return self._journal is not None

    def turn(self, head):
        """Begin a new journal; the old one goes once the file holds what it says."""
        old, path = self.beside("journal.old"), self.beside("journal")
        if old.exists():
            return  # a rewrite failed before: this one takes in both
        self._put_journal(head, lambda: os.replace(path, old))

    def _put_journal(self, head, make_room=None):
        """Put a new journal in its place, whole with its first line; `make_room` moves the one there away."""
        fresh, path, before = self.beside("journal.new"), self.beside("journal"), self._journal
        try:
            following = journal.Journal.create(fresh, head)
            following.close()  # an open file cannot be moved everywhere
            if make_room:
                before.close()
                make_room()
            os.replace(fresh, path)
            self._journal = journal.Journal(path, following.size, following.lines)
        except BaseException as error:
            if isinstance(error, Exception):
                fresh.unlink(missing_ok=True)
            if make_room and path.exists():
                self._journal = journal.Journal(path, before.size, before.lines)
            raise
        self.size = self._journal.size
        _sync_folder(path.parent)

    def write(self, pieces):
        """Write the document to a temporary file, synced; return what `replace` takes. Where that fails, nothing is left of it."""
        aside, digest = self.beside("new"), hashlib.sha256()
        try:
            with open(os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
                for piece in pieces:
                    digest.update(piece)
                    file.write(piece)
                file.flush()
                os.fsync(file.fileno())
        except Exception:
            aside.unlink(missing_ok=True)
            raise
        return aside, digest.hexdigest()

    def replace(self, written):
        """Put the new file in the place of the old one, which becomes the backup."""
        aside, digest = written
        try:
            self._check_untouched()
            if self.path.exists():
                _keep(self.path, self.beside("backup"))
            self._hold.hold(aside)
            os.replace(aside, self.path)
        except Exception:
            aside.unlink(missing_ok=True)
            raise
        self._hold.let_go_of_older()
        self._known = (_fingerprint(self.path), digest)
        _sync_folder(self.path.parent)

    def drop_old(self):
        """The file holds what the old journal says."""
        self.beside("journal.old").unlink(missing_ok=True)

    def close(self):
        """Let go of everything; nothing is written any more."""
        if self._journal is not None:
            self._journal.close()
        self._hold.release()

    def beside(self, ending):
        return self.path.with_name(f"{self.path.name}.{ending}")


def _fingerprint(path):
    try:
        found = os.stat(path)
    except (FileNotFoundError, NotADirectoryError):
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
        try:
            shutil.copy2(path, spare)
            with open(spare, "rb+") as file:
                os.fsync(file.fileno())
        except OSError:
            spare.unlink(missing_ok=True)
            raise
    os.replace(spare, backup)


def _sync_folder(folder):
    if os.name == "nt":
        return  # Windows has no such thing
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
