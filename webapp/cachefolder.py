"""Where work that can always be done again is kept between starts: the unit registry and the compiled calc."""

import contextlib
import hashlib
import os
import tempfile
from functools import lru_cache
from pathlib import Path

import platformdirs


@lru_cache(maxsize=1)
def folder():
    """Return the cache folder, its owner's only, or None where there can be none (then everything is made anew)."""
    path = Path(platformdirs.user_cache_dir("overbowl", appauthor=False))
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=path):
            return path
    except OSError:
        return None


def kept_text(name, sources, make):
    """Return the text kept under `name` for exactly these sources, or make it and keep it.

    Inputs: `name` of the file; `sources`, the bytes that the text is made from; `make()`, which makes it. A text made from
    other sources has another file name, so nothing stale is ever read.
    """
    if folder() is None:
        return make()
    path = folder() / f"{name}-{hashlib.sha256(b''.join(sources)).hexdigest()[:32]}"
    with contextlib.suppress(OSError, UnicodeDecodeError):
        text = path.read_text(encoding="utf-8")
        if text.endswith("\n"):
            return text
    text = make()
    with contextlib.suppress(OSError):
        for old in folder().glob(f"{name}-*"):
            old.unlink(missing_ok=True)
        _write(path, text)
    return text


def _write(path, text):
    """Whole or not at all, whoever else starts at the same time."""
    handle, temporary = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text)
    os.replace(temporary, path)
