"""DEVELOPERS.md is held against the code: every file, folder and test that it names is there, and so is what it says to edit."""

import re
from pathlib import Path

ROOT = Path(__file__).parent.parent
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
# What a user's log has beside it, and endings; not files of the project.
NO_FILES = {"/calc.js", "/page.js", "/forms.json", ".journal", ".backup", ".lock"}


def missing(text):
    """Paths in backquotes that are not in the project. A path is from the top, or from `static`, `tests`, `webapp` or `calc`."""
    named = {word.rstrip("/") for word in re.findall(r"`([\w./-]+)`", text) if word not in NO_FILES}
    paths = {
        word
        for word in named
        if re.search(r"\.(py|js|json|html|md|css|svg)$", word) or re.match(r"(calc|webapp|static|tests|core|form|answer)/", word)
    }
    roots = [
        ROOT,
        ROOT / "static",
        ROOT / "tests",
        ROOT / "webapp",
        ROOT / "calc",
        ROOT / "webapp" / "forms",
        ROOT / "webapp" / "access",
        ROOT / "webapp" / "log",
        ROOT / "webapp" / "page",
    ]
    return sorted(path for path in paths if not any((root / path).exists() for root in roots))


def test_what_it_names_is_there():
    assert missing(TEXT) == []
    assert missing("in `webapp/frms/units.py` and `calc/air.py`") == ["webapp/frms/units.py"], "a wrong path is told"


def test_every_folder_of_code_is_in_its_table():
    for folder in [*(ROOT / "static").iterdir(), *(ROOT / "webapp").iterdir()]:
        if folder.is_dir() and any(folder.glob("*.py")) | any(folder.glob("*.js")):
            name = folder.relative_to(ROOT).as_posix()
            assert name in TEXT or f"{folder.name}" in TEXT, f"{name} is not told of"


def test_names_it_tells_to_edit_are_there():
    for file, name in [
        ("webapp/forms/__init__.py", "MODULES"),
        ("webapp/forms/__init__.py", "GROUPS"),
        ("webapp/forms/units.py", "_KINDS"),
        ("webapp/forms/units.py", "_SPELLINGS"),
        ("webapp/forms/records.py", "PASS_GROUPS"),
        ("static/main.js", "PLACES"),
    ]:
        assert f"`{name}`" in TEXT and re.search(rf"\b{name}\b = ", (ROOT / file).read_text(encoding="utf-8")), name


def test_the_version_has_its_changes_told():
    from webapp import __version__

    assert f"### {__version__}" in TEXT.split("## Changes")[1]
