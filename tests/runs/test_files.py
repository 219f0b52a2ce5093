"""Files renamed into place, and what they replace."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.runs.errors import RunError
from kit.runs.files import Store, files_below, sweep, write_file
from kit.runs.hashing import sha256_of

OLD_MANIFEST = b"{old}\n"
FOLDER = sha256_of(OLD_MANIFEST)[:12]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """A folder with one issued file."""
    (tmp_path / "tags/A").mkdir(parents=True)
    (tmp_path / "tags/A/report.html").write_bytes(b"old")
    (tmp_path / "manifest.json").write_bytes(OLD_MANIFEST)
    return Store(tmp_path, {"tags/A/report.html": sha256_of(b"old")}, OLD_MANIFEST)


def test_the_same_bytes_change_nothing(store: Store):
    before = list(files_below(store.folder))
    assert store.put("tags/A/report.html", b"old") == sha256_of(b"old")
    assert list(files_below(store.folder)) == before


def test_an_issued_file_that_a_rerun_replaces_is_kept_with_its_manifest(store: Store):
    store.put("tags/A/report.html", b"new")
    kept = store.folder / "superseded" / FOLDER
    assert (store.folder / "tags/A/report.html").read_bytes() == b"new"
    assert (kept / "tags/A/report.html").read_bytes() == b"old"
    assert (kept / "manifest.json").read_bytes() == OLD_MANIFEST


def test_a_withdrawn_file_is_kept_and_its_empty_folder_goes(store: Store):
    store.withdraw("tags/A/report.html")
    assert not (store.folder / "tags").exists()
    assert (store.folder / "superseded" / FOLDER / "tags/A/report.html").read_bytes() == b"old"


def test_a_file_that_someone_altered_is_kept_apart_from_what_was_issued(store: Store):
    (store.folder / "tags/A/report.html").write_bytes(b"edited")
    store.put("tags/A/report.html", b"new")
    kept = store.folder / "superseded" / f"altered-{sha256_of(b'edited')[:12]}" / "tags/A/report.html"
    assert kept.read_bytes() == b"edited"


def test_a_new_manifest_keeps_the_one_before(store: Store):
    store.issue(b"{new}\n")
    assert (store.folder / "manifest.json").read_bytes() == b"{new}\n"
    assert (store.folder / "superseded" / FOLDER / "manifest.json").read_bytes() == OLD_MANIFEST


def test_a_write_that_fails_leaves_what_was_there_and_nothing_beside_it(tmp_path: Path, monkeypatch):
    (tmp_path / "a").write_bytes(b"before")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("kit.runs.files.Path.replace", refuse)
    with pytest.raises(RunError, match=r"No space left on device.*unchanged"):
        write_file(tmp_path / "a", b"after")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a": b"before"}


def test_what_an_interrupted_run_left_half_written_is_swept_away(tmp_path: Path):
    (tmp_path / "a.html").write_bytes(b"whole")
    (tmp_path / "a.html.unfinished").write_bytes(b"ha")
    sweep(tmp_path)
    assert list(files_below(tmp_path)) == ["a.html"]
