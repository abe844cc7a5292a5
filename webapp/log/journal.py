"""The journal beside the log file: what was acknowledged since the file was last written.

One line a batch: the CRC-32 of what follows, and JSON, which counts the lines. A batch is one write and one fsync, so that
it is kept whole or not at all. The first line says which log the journal belongs to and where it takes up.
"""

import json
import os
import zlib

from webapp.log.error import LogError


class Journal:
    """An open journal; `size` [bytes] is the length of what is surely kept, `lines` how many lines that is."""

    def __init__(self, path, size, lines):
        self.path = path
        self.size = size
        self.lines = lines
        self._file = os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
        self._broken = True
        self._mend()

    @classmethod
    def create(cls, path, header):
        """Start a journal at `path` with one line."""
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600))
        journal = cls(path, 0, 0)
        try:
            journal.append(header)
        except LogError:
            journal.close()
            raise
        return journal

    def in_place(self):
        """True where the journal at the path is this one, as long as it was left. Errors: OSError."""
        if self._file is None:
            return False
        try:
            there, here = os.stat(self.path), os.fstat(self._file)
        except FileNotFoundError:
            return False
        return os.path.samestat(there, here) and (self._broken or here.st_size == self.size)

    def append(self, batch):
        """Add a batch; it is on the disk when this returns. Errors: LogError, and then nothing of it is kept."""
        line = encode({"line": self.lines + 1, **batch})
        try:
            self._mend()
            self._broken = True
            left = memoryview(line)
            while left:
                left = left[os.write(self._file, left) :]
            os.fsync(self._file)
        except OSError as error:
            self._forget_rest()
            reason = f"The log cannot be written: {error.strerror} ({self.path}). Nothing of this was kept."
            raise LogError(reason) from error
        self._broken = False
        self.size += len(line)
        self.lines += 1

    def close(self):
        """Let go of the file; a second time does nothing."""
        if self._file is not None:
            os.close(self._file)
        self._file = None

    def _mend(self):
        """Cut off what a write that failed left behind."""
        if self._broken:
            os.ftruncate(self._file, self.size)
            os.lseek(self._file, self.size, os.SEEK_SET)
            self._broken = False

    def _forget_rest(self):
        try:
            self._mend()
            os.fsync(self._file)
        except OSError:
            self._broken = True  # the next append tries again before it writes


def encode(batch):
    text = json.dumps(batch, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
    return b"%08x %s\n" % (zlib.crc32(text), text)


def read(path):
    """Return (batches, bytes that are sound). A stop in mid-write leaves a damaged last line, never acknowledged.

    Errors: LogError for damage anywhere else.
    """
    data = path.read_bytes()
    lines = data.split(b"\n")
    batches, sound = [], 0
    for number, line in enumerate(lines, 1):
        last = number >= len(lines) - 1 and not (number < len(lines) and lines[number])
        # Without its end a line was cut short, even where what is left happens to make sense.
        batch = _decode(line) if number < len(lines) else None
        if batch is None and last:
            break
        if batch is None or batch.get("line", number) != number:
            what = "is damaged" if batch is None else "is not the one that was written there"
            raise LogError(f"Line {number} of the journal {path} {what}. Nothing was changed. Move it away to go on without what it holds.")
        batches.append(batch)
        sound += len(line) + 1
    return batches, sound


def _decode(line):
    try:
        check, text = line[:8], line[9:]
        if int(check, 16) != zlib.crc32(text):
            return None
        batch = json.loads(text)
        return batch if isinstance(batch, dict) else None
    except (ValueError, RecursionError):
        return None
