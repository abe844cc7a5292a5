"""Files that only their owner may read, replaced whole or not at all."""

import os
import tempfile
from pathlib import Path


def write(path, data):
    """Replace the file `path` by `data` (bytes), readable by its owner only. Errors: OSError."""
    # mkstemp makes the file readable by its owner only.
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=path.name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise


def read(path):
    """Return the bytes of a file, and close it to others where they might read it. Errors: OSError."""
    if os.name == "posix" and path.stat().st_mode & 0o077:
        path.chmod(0o600)
    return path.read_bytes()
