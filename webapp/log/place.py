"""Where the log is kept, and that no other server keeps it: its path, its lock, its file's own lock."""

import os
import stat
from pathlib import Path

import filelock
import platformdirs

from webapp.log.error import LogError

try:
    import fcntl
except ImportError:  # Windows lets nobody delete a lock that is held
    fcntl = None


def default_path():
    """Return where the log is when nobody says: the platform's folder for a user's data."""
    return Path(platformdirs.user_data_path("overbowl", appauthor=False)) / "log.json"


def find(path):
    """Return the file's place, with links followed. Errors: LogError where there can be no log."""
    given = Path(path) if path else default_path()
    try:
        place = given.expanduser().resolve()
        if path is None:
            place.parent.mkdir(parents=True, exist_ok=True)
        folder, found = _mode(place.parent), _mode(place)
    except (OSError, RuntimeError) as error:
        raise LogError(f"The log cannot be kept at {given}: {getattr(error, 'strerror', None) or error}.") from error
    if folder is None or not stat.S_ISDIR(folder):
        raise LogError(f"The log cannot be kept at {given}: the folder {place.parent} does not exist.")
    if found is not None and stat.S_ISDIR(found):
        raise LogError(f"The log cannot be kept at {given}: that is a folder. Name a file in it.")
    if found is not None and not stat.S_ISREG(found):
        raise LogError(f"The log cannot be kept at {given}: that is no ordinary file.")
    return place


def _mode(path):
    try:
        return os.stat(path).st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None


class Hold:
    """Keeps other servers out until `release`: by a lock file beside the log and, where it can be, by a lock on the log's
    file itself, which holds even where somebody removes the lock file, or gave the file a second name."""

    def __init__(self, path):
        self._path = path
        self._lock = _take(path)
        self._files = []

    def hold(self, path):
        """Lock the file at `path`, which is or will be the log, too. Errors: LogError, OSError."""
        if fcntl is None:
            return
        while True:
            handle = os.open(path, os.O_RDONLY)
            if any(os.path.samestat(os.fstat(handle), os.fstat(held)) for held in self._files):
                os.close(handle)  # touched, and still the same file
                return
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError as error:
                os.close(handle)
                raise LogError(_taken(self._path)) from error
            except OSError:  # a file system without locks
                os.close(handle)
                return
            if os.path.samestat(os.stat(path), os.fstat(handle)):
                break
            os.close(handle)  # another was put in its place meanwhile
        self._files.append(handle)

    def let_go_of_older(self):
        """Of the files held, keep the last only."""
        self._let_go(self._files[:-1])

    def renew(self):
        """Make the lock file anew where somebody removed it. Errors: LogError."""
        if not os.path.exists(self._lock.lock_file):
            self._lock.release()
            self._lock = _take(self._path)

    def release(self):
        self._let_go(list(self._files))
        self._lock.release()

    def _let_go(self, handles):
        for handle in handles:
            self._files.remove(handle)
            os.close(handle)


def _taken(path):
    return f"Another server is using the log {path}. Stop it first, or name another file with --log."


def _take(path):
    lock = filelock.FileLock(f"{path}.lock", thread_local=False, mode=0o600)
    try:
        lock.acquire(timeout=0)
    except filelock.Timeout as error:
        if not os.path.exists(lock.lock_file):
            raise LogError(f"The folder {path.parent} cannot be written to. Name a file elsewhere with --log.") from error
        raise LogError(_taken(path)) from error
    except (OSError, NotImplementedError) as error:
        reason = f"The folder {path.parent} cannot be written to: {getattr(error, 'strerror', None) or error}."
        raise LogError(f"{reason} Name a file elsewhere with --log.") from error
    return lock
