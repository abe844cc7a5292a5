"""The page's script: the modules of `static`, joined into a few files that the phone fetches, compiles and keeps.

A phone spends longer on asking for a hundred small files than on running them. Each module becomes a function of its own, in
the order of their imports, so nothing leaks from one to another; a file exports one object a module, named by its path
(`static/log/log.js` is `m_log_log`), as `/calc.js` does for `calc`. `/page.js` is what the first screen needs. What a module asks
for with `import("./other.js")` comes in a file of its own when it is wanted. `webapp.page.assets.by_edition` then gives each file
an address that no other edition has.
"""

import posixpath
import re
from functools import lru_cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

_PACKAGE = Path(__file__).parent.parent
# Installed from a wheel, the page lies in the package.
STATIC_FOLDER = next(folder for folder in (_PACKAGE / "static", _PACKAGE.parent / "static") if (folder / "index.html").is_file())
APART = ("start.js", "sw.js")
FIRST = "main.js"

IMPORT = re.compile(r'^import \{ ([^}]+) \} from "(\.[^"]+)";$', re.M)
OUTER_NAME = re.compile(r'^import \* as (\w+) from "/[^"]+";$', re.M)
OUTER = re.compile(r'^import \* as \w+ from "/[^"]+";\n', re.M)
EXPORT = re.compile(r"^export (?=(?:async )?(?:function|class|const) (\w+))", re.M)
WANTED = re.compile(r'\bimport\("(\.[^"]+)"\)')
WANTED_NAME = re.compile(r'\bimport\("(\.[^"]+)"\)\)\.(\w+)')
LEFT_OVER = re.compile(r"^(?:import|export)\b(?!\().*", re.M)


def read_modules():
    """Return {path in `static`: text} of the modules that are joined."""
    paths = {path.relative_to(STATIC_FOLDER).as_posix(): path for path in sorted(STATIC_FOLDER.rglob("*.js"))}
    return {name: path.read_text(encoding="utf-8") for name, path in paths.items() if name not in APART}


def page_files():
    """The page's script as {address: text of an ES module}. Errors: see `split`."""
    return split(read_modules(), FIRST)


def split(modules, first):
    """Join {path: text of an ES module} into files: what `first` imports, `/page.js`, and one for each module that is loaded when it is wanted.

    `/page.js` also exports `parts`, the addresses of the others. What several of them need, and the
    first does not, is a file of its own. Errors: see `join`; ValueError for a module that nothing imports.
    """
    order = _in_import_order(modules)
    start = _closure(modules, first)
    wanted = {_resolved(path, other): path for path, text in modules.items() for other in WANTED.findall(text)}
    if lost := sorted(wanted.keys() - modules.keys()):
        raise ValueError(f"static/{wanted[lost[0]]} asks for {lost[0]}, which is not there.")
    wanted = sorted(wanted.keys() - start)
    more = {path: _closure(modules, path) - start for path in wanted}
    several = {path for path in order if sum(path in needed for needed in more.values()) > 1}
    parts = {_address(path): needed - several for path, needed in more.items()} | {_address("shared.js"): several}
    parts = {"/page.js": start} | {address: paths for address, paths in parts.items() if paths}
    lies = {path: address for address, paths in parts.items() for path in paths}
    if lost := [path for path in order if path not in lies]:
        raise ValueError(f"Nothing imports static/{lost[0]}.")
    files = {address: join({path: modules[path] for path in order if path in paths}, modules, lies) for address, paths in parts.items()}
    files["/page.js"] += f"\nexport const parts = {sorted(set(files) - {'/page.js'})};"
    return files


def _closure(modules, first):
    """The paths of a module and of all that it imports, and so on."""
    found, waiting = set(), [first]
    while waiting:
        path = waiting.pop()
        if path not in found:
            found.add(path)
            waiting += _imports(path, modules[path])
    return found


def _address(path):
    return f"/page-{posixpath.basename(path)}"


def join(modules, everything=None, lies=None):
    """Join {path: text of an ES module} into the text of one.

    `everything` and `lies`: {path: text} of all modules and {path: address} of the file that each is joined into, where there are
    several. Errors: ValueError for modules that import one another in a circle, for a module or an export that is not there (native
    modules would refuse to load), and for an import or export that is not written as those of this project are.

    >>> print(join({"b.js": 'import { one } from "./a.js";\\nexport const two = one + 1;', "a.js": "export const one = 1;"}))
    export const m_a = (() => {
    const one = 1;
    return { one };
    })();
    export const m_b = (() => {
    const { one } = m_a;
    const two = one + 1;
    return { two };
    })();
    """
    everything, lies = everything or modules, lies or {}
    order = [path for path in _in_import_order(everything) if path in modules]
    for path, text in modules.items():
        for other, name, _ in _taken(path, text):
            if name not in EXPORT.findall(everything[other]):
                raise ValueError(f"static/{path} imports {name} from {other}, which exports no such thing.")
    outer = sorted({line for text in modules.values() for line in OUTER.findall(text)})
    elsewhere = {}
    for path in order:
        for other in _imports(path, modules[path]):
            if other not in modules:
                elsewhere.setdefault(lies[other], set()).add(name_of(other))
    taken = [f'import {{ {", ".join(sorted(names))} }} from "{address}";\n' for address, names in sorted(elsewhere.items())]
    return "".join(outer + taken) + "\n".join(_as_function(path, modules[path], lies) for path in order)


def unused_imports(modules):
    """Return [(path, name)] of what a module imports and never uses.

    >>> unused_imports({"a.js": "export const one = 1;", "b.js": 'import { one as two } from "./a.js";\\nlet one;'})
    [('b.js', 'two')]
    """
    found = []
    for path, text in modules.items():
        used = _names_used(text)
        found += [(path, own) for _, _, own in _taken(path, text) if own not in used]
        found += [(path, own) for own in OUTER_NAME.findall(text) if own not in used]
    return found


def needless_exports(modules):
    """Return [(path, name)] of what a module exports and no other imports.

    >>> needless_exports({"a.js": "export const one = 1;\\nexport const two = 2;", "b.js": 'import { one } from "./a.js";'})
    [('a.js', 'two')]
    """
    taken = {(other, name) for path, text in modules.items() for other, name, _ in _taken(path, text)}
    taken |= {(_resolved(path, other), name) for path, text in modules.items() for other, name in WANTED_NAME.findall(text)}
    return [(path, name) for path, text in modules.items() for name in EXPORT.findall(text) if (path, name) not in taken]


def unjoined_js():
    """The text of a `/page.js` that only hands on the modules of `static`, each at its own address, for whoever looks for a fault."""
    names = [(name_of(path), path) for path in read_modules()]
    imports = "".join(f'import * as {name} from "/static/{path}";\n' for name, path in names)
    return f"{imports}export {{ {', '.join(name for name, _ in names)} }};\nexport const parts = [];\n"


def name_of(path):
    """Name under which `/page.js` exports the module at a path in `static`.

    >>> name_of("log/log.js")
    'm_log_log'
    """
    return "m_" + path.removesuffix(".js").replace("/", "_")


@lru_cache(maxsize=256)  # each part asks for the order of all modules, which is a third of what joining them costs
def _imports(path, text):
    return [_resolved(path, other) for _, other in IMPORT.findall(text)]


def _resolved(path, other):
    return posixpath.normpath(posixpath.join(posixpath.dirname(path), other))


def _taken(path, text):
    """(module, name there, name here) of everything that a module imports from its own kind."""
    for names, other in IMPORT.findall(text):
        for part in names.split(","):
            name, _, own = part.strip().partition(" as ")
            yield _resolved(path, other), name, own or name


def _names_used(text):
    """Words of the code that are no one's property; comments and imports aside. Text counts as code: it may hold `${name}`."""
    code = re.sub(r"^\s*//.*|\s//\s.*", "", OUTER.sub("", IMPORT.sub("", text)), flags=re.M)
    return set(re.findall(r"(?:(?<![\w$.])|(?<=\.\.\.))[A-Za-z_$][\w$]*", code))


def _in_import_order(modules):
    imported = {path: _imports(path, text) for path, text in modules.items()}
    for path, others in imported.items():
        for other in others:
            if other not in modules:
                raise ValueError(f"static/{path} imports {other}, which is not there.")
    try:
        return list(TopologicalSorter(imported).static_order())
    except CycleError as error:
        raise ValueError(f"Modules of static import one another in a circle: {', '.join(error.args[1])}.") from None


def _as_function(path, text, lies):
    exported = EXPORT.findall(text)
    others = iter(_imports(path, text))

    def taken(found):
        return f"const {{ {found[1].replace(' as ', ': ')} }} = {name_of(next(others))};"

    def wanted(found):
        other = _resolved(path, found[1])
        return f'import("{lies[other]}").then((part) => part.{name_of(other)})'

    body = WANTED.sub(wanted, EXPORT.sub("", IMPORT.sub(taken, OUTER.sub("", text))))
    if wrong := LEFT_OVER.search(body):
        raise ValueError(f"static/{path}: cannot join “{wrong[0]}”.")
    return f"export const {name_of(path)} = (() => {{\n{body.rstrip()}\nreturn {{ {', '.join(exported)} }};\n}})();"
