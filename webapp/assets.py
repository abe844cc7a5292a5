"""What the phone fetches to work offline: every file once, read when the server starts, named by its content."""

import gzip
import hashlib
import json
import mimetypes
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from webapp import __version__, bundle, forms, guard, records, units

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
    """Return {path: Asset} of everything that the page needs, the pack of them all, and the service worker that keeps it.

    Read once: one server process gives out one version, whatever happens to the files meanwhile.
    """
    found = {}
    for path in sorted(STATIC_FOLDER.rglob("*")):
        if path.is_file() and path.suffix not in (".py", ".pyc"):
            type = TYPES.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
            body = path.read_bytes()
            found[_address(path)] = _asset(slim(body.decode()) if path.suffix in (".js", ".css") else body, type)
    found["/calc.js"] = _asset(slim(bundle.calc_js()), "text/javascript")
    worker = found.pop("/static/sw.js").body.decode()
    version = _digest([worker, *(f"{path} {asset.digest}" for path, asset in sorted(found.items()))])
    found["/api/forms"] = _asset(_json(_described(version)), "application/json")
    # The phone fetches the pack, one body with every file, so that it keeps all of one version or nothing.
    kept = {path: asset for path, asset in sorted(found.items()) if asset.type != "image/png"}
    found["/pack"] = _asset(_json({path: {"type": asset.type, "text": asset.body.decode()} for path, asset in kept.items()}), "application/json")
    head = f"const VERSION = {_json(version)};\nconst PACK = {_json(found['/pack'].digest)};\nconst PATHS = {_json(list(kept))};\nconst POLICY = {_json(guard.POLICY)};\n"
    found["/sw.js"] = _asset(head + worker, "text/javascript")
    return found


def _described(version):
    """What the page is drawn from. Examples are for tests and readers of the forms, and empty entries go without saying."""
    described = [{key: value for key, value in form.items() if key != "examples"} for form in forms.describe_all()]
    return {"version": version, "release": __version__, "kinds": units.kinds(), "forms": described, "records": records.describe()}


def slim(text):
    """Leave out indentation and whole-line comments: they are for readers, and a third of what a phone would fetch."""
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))


def _json(value):
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _digest(parts):
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:12]


def _address(path):
    name = path.relative_to(STATIC_FOLDER).as_posix()
    return {"index.html": "/", "manifest.webmanifest": "/manifest.webmanifest"}.get(name, f"/static/{name}")
