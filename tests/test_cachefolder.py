"""What is kept between starts is never stale, never half written, and never needed."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pint
import pytest

from webapp import cachefolder

UNITS = """import sys, platformdirs
platformdirs.user_cache_dir = lambda *_, **__: sys.argv[1]
from webapp.forms import units
print(units.registry("1 psi").to("Pa").magnitude)"""


def use(monkeypatch, path):
    cachefolder.folder.cache_clear()
    monkeypatch.setattr(cachefolder.platformdirs, "user_cache_dir", lambda *_, **__: str(path))


def teardown_function():
    cachefolder.folder.cache_clear()


def test_made_once_for_the_same_sources_and_anew_for_others(monkeypatch, tmp_path):
    use(monkeypatch, tmp_path / "cache")
    made = []

    def make():
        made.append(len(made))
        return f"text {len(made)}\n"

    assert cachefolder.kept_text("a", [b"1"], make) == "text 1\n"
    assert cachefolder.kept_text("a", [b"1"], make) == "text 1\n"
    assert cachefolder.kept_text("a", [b"2"], make) == "text 2\n"
    assert [path.read_text() for path in (tmp_path / "cache").iterdir()] == ["text 2\n"], "what is old is not left lying"


def test_a_damaged_file_is_made_anew(monkeypatch, tmp_path):
    use(monkeypatch, tmp_path)
    cachefolder.kept_text("a", [b"1"], lambda: "whole\n")
    kept = next(tmp_path.iterdir())
    for damage in (b"", b"who", b"\xff\xfe\n"):
        kept.write_bytes(damage)
        assert cachefolder.kept_text("a", [b"1"], lambda: "whole\n") == "whole\n"
        assert kept.read_text() == "whole\n"


def test_no_folder_no_harm(monkeypatch, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    use(monkeypatch, blocked / "cache")
    assert cachefolder.folder() is None
    assert cachefolder.kept_text("a", [b"1"], lambda: "made\n") == "made\n"


def units_of_a_new_start(cache, *paths):
    """What a psi is to another process with this cache folder, and with packages of these folders before the installed ones."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([*map(str, paths), *sys.path])}
    done = subprocess.run([sys.executable, "-c", UNITS, str(cache)], env=environment, capture_output=True, text=True, check=False)
    return done.stdout.strip() or done.stderr


def test_units_come_though_what_was_kept_is_of_an_installation_that_is_gone(tmp_path):
    other = tmp_path / "other"
    shutil.copytree(Path(pint.__file__).parent, other / "pint")
    there = units_of_a_new_start(tmp_path / "cache", other)
    assert float(there) == pytest.approx(6894.757293168361)  # NIST SP 811, appendix B.8
    kept = tmp_path / "cache" / "units"
    assert list(kept.glob("*.pickle")), "nothing was kept: there is nothing to see"
    shutil.rmtree(other)
    assert [units_of_a_new_start(tmp_path / "cache") for _ in range(2)] == [there, there]
    assert list(kept.glob("*.pickle")), "the second start keeps it anew"


def test_units_come_though_what_was_kept_was_cut_short(tmp_path):
    there = units_of_a_new_start(tmp_path)
    whole = {path: path.read_bytes() for path in tmp_path.rglob("*.pickle")}
    assert whole
    for length in (0, 10, 1000):
        for path, kept in whole.items():
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(kept[:length])
        assert units_of_a_new_start(tmp_path) == there
