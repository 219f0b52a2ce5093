"""Files renamed into place."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from kit.runs.errors import RunError
from kit.runs.hashing import sha256_of
from kit.runs.outputs.store import Store, files_below

OLD_MANIFEST = b"{old}\n"
ISSUED = {"tags.csv": b"old table", "tags/A/report.html": b"old page", "tags/A/result.json": b"old result"}


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """A folder with a table and a tag's two files, as made."""
    (tmp_path / "tags/A").mkdir(parents=True)
    (tmp_path / ".running").mkdir()
    for name, data in {**ISSUED, "manifest.json": OLD_MANIFEST}.items():
        (tmp_path / name).write_bytes(data)
    return Store(tmp_path, tmp_path / ".running")


def contents(store: Store) -> dict[str, bytes]:
    return {name: (store.folder / name).read_bytes() for name in files_below(store.folder)}


def test_the_same_bytes_change_nothing(store: Store):
    before = contents(store)
    assert store.put("tags.csv", b"old table").sha256 == sha256_of(b"old table")
    store.put_folder("tags/A", {"report.html": b"old page", "result.json": b"old result"})
    assert contents(store) == before


def test_a_rerun_replaces_what_was_there_and_keeps_nothing_of_it(store: Store):
    store.put("tags.csv", b"new")
    written = store.put_folder("tags/A", {"report.html": b"new page", "result.json": b"old result"})
    store.put_manifest(b"{new}\n")
    assert contents(store) == {
        "manifest.json": b"{new}\n",
        "tags.csv": b"new",
        "tags/A/report.html": b"new page",
        "tags/A/result.json": b"old result",
    }
    assert written["tags/A/report.html"] == (sha256_of(b"new page"), 8)


def test_a_file_that_the_new_run_does_not_leave_goes(store: Store):
    """A failed run has no result: the old one beside the new page would be a mixture."""
    store.put_folder("tags/A", {"report.html": b"failed", "result.json": None})
    assert not (store.folder / "tags/A/result.json").exists()


def test_somebodys_own_file_in_a_tags_folder_stays(store: Store):
    (store.folder / "tags/A/note.txt").write_bytes(b"mine")
    store.put_folder("tags/A", {"report.html": b"new", "result.json": None})
    assert contents(store)["tags/A/note.txt"] == b"mine"
    store.withdraw_folder("tags/A", ("report.html", "report.ipynb", "result.json"))
    assert [path.name for path in (store.folder / "tags/A").iterdir()] == ["note.txt"]


def test_a_withdrawn_folder_goes_and_its_place_too(store: Store):
    store.withdraw_folder("tags/A", ("report.html", "report.ipynb", "result.json"))
    assert not (store.folder / "tags").exists()


@pytest.mark.parametrize("refusal", [OSError(28, "No space left on device"), PermissionError(13, "Permission denied")])
@pytest.mark.parametrize(
    "write",
    [
        lambda store: store.put("tags.csv", b"new"),
        lambda store: store.put_folder("tags/A", {"report.html": b"new", "result.json": b"new"}),
        lambda store: store.put_manifest(b"{new}\n"),
    ],
)
def test_a_disk_that_refuses_is_said_and_what_was_there_stays(store: Store, monkeypatch, refusal: OSError, write):
    before = contents(store)

    def refuse(*_: object, **__: object) -> None:
        raise refusal

    monkeypatch.setattr(Path, "write_bytes", refuse)
    with pytest.raises(RunError, match=f"{refusal.strerror}.*unchanged"):
        write(store)
    assert contents(store) == before


def test_a_folder_whose_new_files_cannot_come_into_place_comes_back(store: Store, monkeypatch):
    before = contents(store)
    rename = Path.replace

    def refuse(self: Path, target: Path) -> Path:
        if ".running/new" in self.as_posix():
            raise OSError(28, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(RunError, match="No space left on device"):
        store.put_folder("tags/A", {"report.html": b"new", "result.json": b"new"})
    assert contents(store) == before


@pytest.mark.skipif("not hasattr(__import__('os'), 'statvfs') or __import__('sys').platform == 'darwin'")
def test_a_file_too_large_for_the_disk_leaves_what_was_there(store: Store):
    """The system's own refusal, not a stand-in: a child process may write no more than 4 kB to a file."""
    before = contents(store)
    child = os.fork()
    if child == 0:
        os._exit(_status_of_a_write_beyond_a_limit(store))
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 7
    assert contents(store) == before


def _status_of_a_write_beyond_a_limit(store: Store) -> int:
    import resource
    import signal

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
    try:
        store.put_folder("tags/A", {"report.html": b"x" * 10_000, "result.json": b""})
    except RunError:
        return 7
    return 0
