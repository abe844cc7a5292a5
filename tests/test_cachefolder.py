"""What is kept between starts is never stale, never half written, and never needed."""

from webapp import cachefolder


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
