"""The modules of `static` joined into one."""

import re

import pytest

from webapp.page import pagescript


def test_every_module_is_in_it_once_and_after_those_it_imports():
    modules = pagescript.read_modules()
    text = pagescript.page_js()
    places = {path: text.index(f"export const {pagescript.name_of(path)} = ") for path in modules}
    assert len(set(places.values())) == len(modules)
    for path, source in modules.items():
        for other in re.findall(r"from \"(\.[^\"]+)\"", source):
            name = other.rsplit("/", 1)[-1]
            assert any(places[one] < places[path] for one in places if one.endswith(name)), (path, other)


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
    ],
)
def test_what_cannot_be_joined_is_named(modules, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        pagescript.join(modules)
