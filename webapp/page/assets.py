"""What the phone fetches to work offline: every file once, read when the server starts, named by its content."""

import gzip
import hashlib
import re
from dataclasses import dataclass
from functools import lru_cache

from webapp.access import guard
from webapp.page import bundle, described, pagescript

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
    scripts = dict(bundle.calc_files())
    if unjoined:
        scripts["/page.js"] = pagescript.unjoined_js()
        found |= {f"/static/{path}": _asset(text, "text/javascript") for path, text in pagescript.read_modules().items()}
    else:
        scripts |= pagescript.page_files()
    scripts["/static/start.js"] = _read("start.js")
    told = described.everything()
    # Each of the files that a page begins with says which others it belongs to: a browser may take a new worker over between two.
    edition = _digest([*scripts.values(), described.as_json(told)])
    for path in ("/page.js", "/calc.js"):
        scripts[path] += f'\nexport const edition = "{edition}";\n'
    found |= {address: _asset(slim(text), "text/javascript") for address, text in scripts.items()}
    worker = slim(_read("sw.js"))
    version = _digest(
        [worker, guard.POLICY, described.as_json(told), *(f"{path} {asset.type} {asset.digest}" for path, asset in sorted(found.items()))]
    )
    found |= {address: _asset(text, "application/json") for address, text in described.files({"edition": edition, **told}, version).items()}
    kept = {path: asset.digest for path, asset in sorted(found.items()) if asset.type != "image/png"}
    constants = {"VERSION": version, "DIGESTS": kept, "POLICY": guard.POLICY}
    head = "".join(f"const {name} = {described.as_json(value)};\n" for name, value in constants.items())
    found["/sw.js"] = _asset(head + worker, "text/javascript")
    # For whoever asks the API: the page has its own, in two parts.
    found["/api/forms"] = _asset(described.as_json({"version": version, **told}), "application/json")
    return found


def _read(name):
    return (STATIC_FOLDER / name).read_text(encoding="utf-8")


def slim(text):
    """Leave out indentation and whole-line comments: they are for readers, and a third of what a phone would fetch.

    Errors: ValueError for a template literal over several lines, whose text this would change.
    """
    for line in text.splitlines():
        if not line.lstrip().startswith("//") and QUOTED.sub("", line).count("`") % 2:
            raise ValueError(f"A template literal must end on its own line: “{line.strip()}”.")
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))


def _digest(parts):
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:12]


def _address(path):
    name = path.relative_to(STATIC_FOLDER).as_posix()
    return {"index.html": "/", "manifest.webmanifest": "/manifest.webmanifest"}.get(name, f"/static/{name}")
