"""The modules of `static` joined into one."""

import json
import posixpath
import re
from pathlib import Path

import pytest

from webapp.page import assets, bundle, described, pagescript

MODULES = pagescript.read_modules()
# Folders of static import downwards only; what stands on one line does not import one another.
LEVELS = ["core", "log form answer", "car recording", "supply figures passes", "setup", "places", "."]


def test_every_module_is_in_one_file_once_and_after_those_it_imports():
    begins = {path: f"export const {pagescript.name_of(path)} = " for path in MODULES}
    files = pagescript.page_files()
    assert {path: sum(text.count(begin) for text in files.values()) for path, begin in begins.items()} == dict.fromkeys(MODULES, 1)
    for path, source in MODULES.items():
        text = next(text for text in files.values() if begins[path] in text)
        for other in re.findall(r"from \"(\.[^\"]+)\"", source):
            before = begins[posixpath.normpath(posixpath.join(posixpath.dirname(path), other))]
            assert before not in text or text.index(before) < text.index(begins[path]), (path, other)


def test_nothing_exported_is_lost_and_names_are_kept():
    text = pagescript.join(
        {
            "a/one.js": "export async function load() {}\nexport class Box {}\nexport const few = 1;\nconst own = 2;",
            "two.js": 'import * as calc from "/calc.js";\nimport { load as fetchIt, few } from "./a/one.js";\nfetchIt(few, calc);',
        }
    )
    assert text.startswith('import * as calc from "/calc.js";\nexport const m_a_one = (() => {\n')
    assert "return { load, Box, few };" in text
    assert "const { load: fetchIt, few } = m_a_one;" in text


@pytest.mark.parametrize(
    ("modules", "words"),
    [
        ({"a.js": 'import { b } from "./b.js";', "b.js": 'import { a } from "./a.js";'}, "in a circle: a.js, b.js, a.js"),
        ({"a.js": 'import { b } from "./c.js";'}, "c.js, which is not there"),
        ({"a.js": "export default 1;"}, "export default"),
        ({"a.js": "export let a = 1;"}, "export let"),
        ({"a.js": 'import b from "./b.js";', "b.js": ""}, "import b"),
        ({"a.js": "export { a };"}, "export { a }"),
        ({"a.js": 'import { titel as title } from "./b.js";', "b.js": "export const title = 1;"}, "imports titel from b.js"),
    ],
)
def test_what_cannot_be_joined_is_named(modules, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        pagescript.join(modules)


def test_no_module_imports_what_it_does_not_use():
    assert pagescript.unused_imports(MODULES) == []


@pytest.mark.parametrize(
    ("text", "unused"),
    [
        ('import { a } from "./b.js";\n// a is not used', ["a"]),
        ('import { a } from "./b.js";\nthing.a();', ["a"]),
        ('import { a } from "./b.js";\nthing(...a);', []),
        ('import { a } from "./b.js";\nconst told = `${a}`;', []),
        ('import { b as a } from "./b.js";\nb();', ["a"]),
        ('import * as calc from "/calc.js";\n', ["calc"]),
    ],
)
def test_an_unused_import_is_seen(text, unused):
    assert [name for _, name in pagescript.unused_imports({"x.js": text})] == unused


def test_folders_import_downwards_only():
    level = {folder: number for number, folders in enumerate(LEVELS) for folder in folders.split()}
    for path, text in MODULES.items():
        own = posixpath.dirname(path) or "."
        for other in re.findall(r'from "(\.[^"]+)"', text):
            folder = posixpath.dirname(posixpath.normpath(posixpath.join(posixpath.dirname(path), other))) or "."
            assert folder == own or level[folder] < level[own], f"static/{path} imports {other}"


def test_a_template_literal_over_several_lines_is_refused():
    """Its text would lose its indentation on the way to the phone."""
    with pytest.raises(ValueError, match="must end on its own line"):
        assets.slim("const told = `one\n  two`;")
    assert (
        assets.slim('const mark = "`";\n  // a ` in a comment\nconst told = `one ${`two`}`;')
        == 'const mark = "`";\nconst told = `one ${`two`}`;'
    )


def test_unjoined_the_modules_are_served_as_they_are_written():
    files = assets.all_assets(unjoined=True)
    for path, text in MODULES.items():
        assert files[f"/static/{path}"].body.decode() == text
    edition = json.loads(files["/forms.json"].body)["edition"]
    assert 'import * as m_main from "/static/main.js";' in files[f"/page-{edition}.js"].body.decode()
    joined = {re.sub("-[0-9a-f]{12}", f"-{edition}", address) for address in assets.all_assets()}
    assert set(files) >= {address for address in joined if not re.match(r"/page-[a-z]+-", address)}


def test_nothing_is_exported_for_nobody():
    """What another module or a test asks for, and what start.js runs."""
    folder = Path(__file__).parent / "browser"
    askers = [*sorted(folder.glob("*.py")), pagescript.STATIC_FOLDER / "start.js"]
    text = "\n".join(path.read_text(encoding="utf-8") for path in askers)
    asked = set(re.findall(r"(m_\w+)\.(\w+)", text))
    asked |= {
        (module, name.strip()) for names, module in re.findall(r"const \{([^}]+)\} = [^\n]*(m_\w+)", text) for name in names.split(",")
    }
    needless = [(path, name) for path, name in pagescript.needless_exports(MODULES) if (pagescript.name_of(path), name) not in asked]
    assert needless == []


def test_what_a_device_remembers_is_named_in_one_place():
    memory = MODULES["core/memory.js"]
    listed = set(re.findall(r"^  (\w+): ", memory[memory.index("KEYS = {") : memory.index("\n};")], re.M))
    used = set()
    for path, text in MODULES.items():
        if path == "core/memory.js":
            continue
        assert "localStorage" not in re.sub(r"//.*", "", text), f"static/{path}: what is remembered goes through core/memory.js"
        if "/memory.js" not in text:
            continue
        for name in re.findall(r"\b(?:recall|remember|forget|recallAll)\(([^,()]+)", text):
            # A draft's name is made of KEYS.draft by its own module.
            assert name.startswith("KEYS.") or path == "log/drafts.js", f"static/{path}: {name} is no name of KEYS"
        used |= set(re.findall(r"\bKEYS\.(\w+)", text))
    assert used == listed


def test_what_is_loaded_when_it_is_wanted_is_a_file_of_its_own():
    files = pagescript.split(
        {
            "main.js": 'import { a } from "./core/a.js";\nexport const go = async () => (await import("./places/one.js")).one(a);',
            "core/a.js": "export const a = 1;",
            "core/b.js": 'import { a } from "./a.js";\nexport const b = a;',
            "places/one.js": 'import { b } from "../core/b.js";\nexport const one = () => import("./two.js").then(({ two }) => two + b);',
            "places/two.js": 'import { b } from "../core/b.js";\nexport const two = b;',
        },
        "main.js",
    )
    shared, one, two = (f"/page-{name}.js" for name in ("shared", "one", "two"))
    assert set(files) == {"/page.js", one, two, shared}
    assert f'import("{one}").then((part) => part.m_places_one)' in files["/page.js"]
    assert files["/page.js"].endswith(f"\nexport const parts = {sorted([one, two, shared])};")
    assert files[shared].startswith('import { m_core_a } from "/page.js";\nexport const m_core_b = ')
    assert files[one].startswith(f'import {{ m_core_b }} from "{shared}";\n') and f'import("{two}")' in files[one]


@pytest.mark.parametrize(
    ("modules", "words"),
    [
        ({"main.js": 'import("./no.js");'}, "no.js, which is not there"),
        ({"main.js": "", "lost.js": ""}, "Nothing imports static/lost.js"),
    ],
)
def test_what_cannot_be_split_is_named(modules, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        pagescript.split(modules, "main.js")


def scripts(files):
    return {address for address in files if address.endswith((".js", ".css")) and address not in ("/sw.js", assets.PAGE, assets.CALC)}


@pytest.mark.parametrize("change", ["a script", "the sheet", "calc", "a form"])
def test_any_change_is_another_address_of_every_script(monkeypatch, change):
    """A page that is open while a newer one comes must not get a part of that, nor a newer one a part that was kept by its address."""
    read, calc, told = assets._read, bundle.calc_files, described.everything
    changes = {
        "a script": lambda: monkeypatch.setattr(assets, "_read", lambda name: read(name) + ("\nlet more;" if name == "start.js" else "")),
        "the sheet": lambda: monkeypatch.setattr(
            assets, "_read", lambda name: read(name) + ("\nb { top: 0; }" if name == "page.css" else "")
        ),
        "calc": lambda: monkeypatch.setattr(bundle, "calc_files", lambda: {**calc(), bundle.MORE: "let more;"}),
        "a form": lambda: monkeypatch.setattr(described, "everything", lambda: {**told(), "release": "0.0.0"}),
    }
    before = scripts(assets.all_assets())
    changes[change]()
    after = scripts(assets.all_assets.__wrapped__())
    assert len(before) == len(after) and not before & after
