"""What the phone fetches to work offline: every file once, read when the server starts, named by its content."""

import gzip
import hashlib
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from webapp.access import guard
from webapp.page import bundle, described, pagescript

STATIC_FOLDER = pagescript.STATIC_FOLDER
# Never the platform's: there a registry may call a style sheet plain text, and the browser then refuses it.
TYPES = {
    ".css": "text/css",
    ".html": "text/html",
    ".js": "text/javascript",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}
PAGE, CALC = "/page.js", "/calc.js"
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
        if path.is_file() and path.suffix not in (".py", ".pyc", ".js", ".css", ".html"):
            found[_address(path)] = _asset(path.read_bytes(), TYPES[path.suffix])
    texts = dict(bundle.calc_files())
    if unjoined:
        texts["/page.js"] = pagescript.unjoined_js()
        found |= {f"/static/{path}": _asset(text, "text/javascript") for path, text in pagescript.read_modules().items()}
    else:
        texts |= pagescript.page_files()
    texts |= {"/static/start.js": _read("start.js"), "/static/page.css": _read("page.css")}
    texts = {address: slim(text) for address, text in texts.items()}
    told = described.everything()
    edition = _digest([*texts.values(), described.as_json(told)])
    texts[PAGE] += f'\nexport const edition = "{edition}";\n'
    texts, page = by_edition(texts, _read("index.html"), edition)
    found |= {address: _asset(text, TYPES[Path(address).suffix]) for address, text in texts.items()}
    found["/"] = _asset(page, TYPES[".html"])
    worker = slim(_read("sw.js"))
    version = _digest(
        [worker, guard.POLICY, described.as_json(told), *(f"{path} {asset.type} {asset.digest}" for path, asset in sorted(found.items()))]
    )
    found |= {address: _asset(text, "application/json") for address, text in described.files({"edition": edition, **told}, version).items()}
    kept = {path: asset.digest for path, asset in sorted(found.items()) if asset.type != "image/png" and path not in (PAGE, CALC)}
    constants = {"VERSION": version, "DIGESTS": kept, "POLICY": guard.POLICY}
    head = "".join(f"const {name} = {described.as_json(value)};\n" for name, value in constants.items())
    found["/sw.js"] = _asset(head + worker, "text/javascript")
    # For whoever asks the API: the page has its own, in two parts.
    found["/api/forms"] = _asset(described.as_json({"version": version, **told}), "application/json")
    return found


def by_edition(texts, page, edition):
    """Scripts and sheet under addresses that name their edition, and the page that begins with them.

    A browser may go on with what it has in its memory of an address, whatever the worker has there by now (WebKit does): an address
    never has two contents. Inputs: `texts`, {address: text}; `page`, the HTML; `edition`. Result: ({address: text}, the HTML), in which
    they name one another so; the plain addresses of `/page.js` and `/calc.js`, for whoever tests or debugs, hand on the same. Errors: none.

    >>> by_edition({"/calc.js": "", "/page.js": 'import "/calc.js";'}, '<link href="/page.js">', "e1")[0]["/page-e1.js"]
    'import "/calc-e1.js";'
    """
    now = {address: re.sub(r"(\.\w+)$", rf"-{edition}\1", address) for address in texts}
    quoted = re.compile("([\"'])(" + "|".join(map(re.escape, now)) + r")\1")

    def renamed(text):
        return quoted.sub(lambda found: f"{found[1]}{now[found[2]]}{found[1]}", text)

    plain = {address: f'export * from "{now[address]}";' for address in (PAGE, CALC)}
    return {now[address]: renamed(text) for address, text in texts.items()} | plain, renamed(page)


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
    return {"manifest.webmanifest": "/manifest.webmanifest"}.get(name, f"/static/{name}")
