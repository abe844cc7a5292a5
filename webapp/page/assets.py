"""What the phone fetches to work offline: every file once, read when the server starts, named by its content."""

import gzip
import hashlib
import json
import re
from dataclasses import dataclass
from functools import lru_cache

from webapp import __version__, forms
from webapp.access import guard
from webapp.forms import records, stored, units
from webapp.forms.quick import QUICK
from webapp.page import bundle, pagescript

STATIC_FOLDER = pagescript.STATIC_FOLDER
# Never the platform's: there a registry may call a style sheet plain text, and the browser then refuses it.
TYPES = {
    ".css": "text/css",
    ".html": "text/html",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}
QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"')


@dataclass(frozen=True)
class Asset:
    """One file as it goes to the phone."""

    body: bytes
    type: str
    packed: bytes
    digest: str


def _asset(body, type):
    body = body.encode() if isinstance(body, str) else body
    return Asset(body, type, gzip.compress(body, 9, mtime=0), hashlib.sha256(body).hexdigest())


@lru_cache(maxsize=2)
def all_assets(unjoined=False):
    """Return {path: Asset} of everything that the page needs, and the service worker that keeps it.

    Read once: one server process gives out one version, whatever happens to the files meanwhile. The version is a digest of
    everything that is served (files and their types, forms, units, records, policy, worker), since the worker names its cache by it.
    `unjoined`: the page's modules one by one, as they are written.
    """
    found = {}
    for path in sorted(STATIC_FOLDER.rglob("*")):
        if path.is_file() and path.suffix not in (".py", ".pyc", ".js"):
            type = TYPES[path.suffix]
            body = path.read_bytes()
            found[_address(path)] = _asset(slim(body.decode()) if path.suffix == ".css" else body, type)
    found["/calc.js"] = _asset(slim(bundle.calc_js()), "text/javascript")
    if unjoined:
        found["/page.js"] = _asset(pagescript.unjoined_js(), "text/javascript")
        found |= {f"/static/{path}": _asset(text, "text/javascript") for path, text in pagescript.read_modules().items()}
    else:
        found["/page.js"] = _asset(slim(pagescript.page_js()), "text/javascript")
    found["/static/start.js"] = _asset(slim(_read("start.js")), "text/javascript")
    worker = slim(_read("sw.js"))
    described = _described()
    version = _digest(
        [worker, guard.POLICY, _json(described), *(f"{path} {asset.type} {asset.digest}" for path, asset in sorted(found.items()))]
    )
    found["/api/forms"] = _asset(_json({"version": version, **described}), "application/json")
    kept = {path: asset.digest for path, asset in sorted(found.items()) if asset.type != "image/png"}
    head = f"const VERSION = {_json(version)};\nconst DIGESTS = {_json(kept)};\nconst POLICY = {_json(guard.POLICY)};\n"
    found["/sw.js"] = _asset(head + worker, "text/javascript")
    return found


def _read(name):
    return (STATIC_FOLDER / name).read_text(encoding="utf-8")


def _described():
    """What the page is drawn from. Examples are for tests and readers of the forms, and empty entries go without saying."""
    described = [{key: value for key, value in form.items() if key != "examples"} for form in forms.describe_all()]
    told = {"release": __version__, "kinds": units.kinds(), "forms": described, "records": records.describe()}
    return told | {"renamed": stored.renamed(), "quick": QUICK}


def slim(text):
    """Leave out indentation and whole-line comments: they are for readers, and a third of what a phone would fetch.

    Errors: ValueError for a template literal over several lines, whose text this would change.
    """
    for line in text.splitlines():
        if not line.lstrip().startswith("//") and QUOTED.sub("", line).count("`") % 2:
            raise ValueError(f"A template literal must end on its own line: “{line.strip()}”.")
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))


def _json(value):
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _digest(parts):
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:12]


def _address(path):
    name = path.relative_to(STATIC_FOLDER).as_posix()
    return {"index.html": "/", "manifest.webmanifest": "/manifest.webmanifest"}.get(name, f"/static/{name}")
