"""The page's script: the modules of `static`, joined into one that the phone fetches, compiles and keeps as a whole.

A phone spends longer on asking for sixty small files than on running them. Each module becomes a function of its own, in
the order of their imports, so nothing leaks from one to another; `/page.js` exports one object a module, named by its path
(`static/log/log.js` is `m_log_log`), as `/calc.js` does for `calc`.
"""

import posixpath
import re
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

_PACKAGE = Path(__file__).parent.parent
# Installed from a wheel, the page lies in the package.
STATIC_FOLDER = next(folder for folder in (_PACKAGE / "static", _PACKAGE.parent / "static") if (folder / "index.html").is_file())
APART = ("start.js", "sw.js")

IMPORT = re.compile(r'^import \{ ([^}]+) \} from "(\.[^"]+)";$', re.M)
OUTER = re.compile(r'^import \* as \w+ from "/[^"]+";\n', re.M)
EXPORT = re.compile(r"^export (?=(?:async )?(?:function|class|const) (\w+))", re.M)
LEFT_OVER = re.compile(r"^(?:import|export)\b.*", re.M)


def read_modules():
    """Return {path in `static`: text} of the modules that are joined."""
    paths = {path.relative_to(STATIC_FOLDER).as_posix(): path for path in sorted(STATIC_FOLDER.rglob("*.js"))}
    return {name: path.read_text(encoding="utf-8") for name, path in paths.items() if name not in APART}


def page_js():
    """The text of the ES module. Errors: see `join`."""
    return join(read_modules())


def join(modules):
    """Join {path: text of an ES module} into the text of one.

    Errors: ValueError for modules that import one another in a circle, for one that is not there, and for an import or
    export that is not written as those of this project are.

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
    outer = sorted({line for text in modules.values() for line in OUTER.findall(text)})
    return "".join(outer) + "\n".join(_as_function(path, modules[path]) for path in _in_import_order(modules))


def name_of(path):
    """Name under which `/page.js` exports the module at a path in `static`.

    >>> name_of("log/log.js")
    'm_log_log'
    """
    return "m_" + path.removesuffix(".js").replace("/", "_")


def _imports(path, text):
    return [posixpath.normpath(posixpath.join(posixpath.dirname(path), other)) for _, other in IMPORT.findall(text)]


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


def _as_function(path, text):
    exported = EXPORT.findall(text)
    others = iter(_imports(path, text))

    def taken(found):
        return f"const {{ {found[1].replace(' as ', ': ')} }} = {name_of(next(others))};"

    body = EXPORT.sub("", IMPORT.sub(taken, OUTER.sub("", text)))
    if wrong := LEFT_OVER.search(body):
        raise ValueError(f"static/{path}: cannot join “{wrong[0]}”.")
    return f"export const {name_of(path)} = (() => {{\n{body.rstrip()}\nreturn {{ {', '.join(exported)} }};\n}})();"
