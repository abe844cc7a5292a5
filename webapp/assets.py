"""What the phone fetches to work offline: every file once, read when the server starts, named by its content."""

import gzip
import hashlib
import json
import mimetypes
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from webapp import __version__, bundle, forms, records, units

STATIC_FOLDER = Path(__file__).parent.parent / "static"
TYPES = {".js": "text/javascript", ".webmanifest": "application/manifest+json", ".svg": "image/svg+xml"}


@dataclass(frozen=True)
class Asset:
    """One file as it goes to the phone."""

    body: bytes
    type: str
    packed: bytes
    digest: str


def _asset(body, type):
    body = body.encode() if isinstance(body, str) else body
    return Asset(body, type, gzip.compress(body, 9, mtime=0), hashlib.sha256(body).hexdigest()[:16])


@lru_cache(maxsize=1)
def all_assets():
    """Return {path: Asset} of everything that the page needs, and the service worker, whose text lists the others.

    Read once: one server process gives out one version, whatever happens to the files meanwhile.
    """
    found = {}
    for path in sorted(STATIC_FOLDER.rglob("*")):
        if path.is_file() and path.suffix not in (".py", ".pyc"):
            type = TYPES.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
            found[_address(path)] = _asset(path.read_bytes(), type)
    found["/calc.js"] = _asset(bundle.calc_js(), "text/javascript")
    worker = found.pop("/static/sw.js").body.decode()
    version = hashlib.sha256(repr([(path, asset.digest) for path, asset in sorted(found.items())]).encode() + worker.encode()).hexdigest()[:12]
    described = {"version": version, "release": __version__, "kinds": units.kinds(), "forms": forms.describe_all(), "records": records.describe()}
    found["/api/forms"] = _asset(json.dumps(described, ensure_ascii=False, separators=(",", ":")), "application/json")
    version = hashlib.sha256((version + found["/api/forms"].digest).encode()).hexdigest()[:12]
    files = {path: asset.digest for path, asset in sorted(found.items())}
    found["/sw.js"] = _asset(f"const VERSION = {json.dumps(version)};\nconst FILES = {json.dumps(files)};\n{worker}", "text/javascript")
    return found


def _address(path):
    name = path.relative_to(STATIC_FOLDER).as_posix()
    return {"index.html": "/", "manifest.webmanifest": "/manifest.webmanifest"}.get(name, f"/static/{name}")
