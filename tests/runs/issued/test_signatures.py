"""Signatures over issues, made and checked by OpenSSH with keys made here."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from kit.basis.issues import ISSUED
from kit.runs.errors import RunError
from kit.runs.hashing import sha256_of_file
from kit.runs.issued.report import SIGNED_AS
from kit.runs.issued.signatures import Signature, Unsigned, check_signatures
from kit.runs.issued.verify import verify_issued
from kit.runs.notebook.source import packaged_source
from kit.runs.outputs.standing import standing_verdicts
from tests.runs.issued.conftest import Issue

pytestmark = pytest.mark.skipif(
    "shutil.which('ssh-keygen') is None and __import__('os').environ.get('CI') != 'true'", reason="no ssh-keygen"
)


class Keys:
    """Keys made for a test, and a list of those that count."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.list = folder / "allowed_signers"
        folder.mkdir()

    def make(self, name: str, *, allowed: str = "", options: str = "") -> Path:
        """A key; ``allowed``: whose it is in the list."""
        key = self.folder / name
        subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", key], check=True)
        kind, public, *_ = key.with_suffix(".pub").read_text(encoding="utf-8").split()
        with self.list.open("a", encoding="utf-8") as file:
            file.write(f"{allowed} {options} {kind} {public}\n" if allowed else "")
        return key

    def fingerprint(self, key: Path) -> str:
        done = subprocess.run(["ssh-keygen", "-l", "-f", key], check=True, capture_output=True, encoding="utf-8")
        return done.stdout.split()[1]


def sign(key: Path, manifest: Path, purpose: str = SIGNED_AS) -> None:
    """As the command that `issue` prints."""
    subprocess.run(["ssh-keygen", "-q", "-Y", "sign", "-f", key, "-n", purpose, manifest], check=True)


@pytest.fixture
def keys(tmp_path: Path) -> Keys:
    return Keys(tmp_path / "keys")


@pytest.fixture
def manifest(unit: Path, issue: Issue) -> Path:
    issue("HV-1")
    return unit / ISSUED / "HV-1/A/manifest.json"


def test_who_signed_which_bytes_is_told_with_the_key(unit: Path, outputs: Path, manifest: Path, keys: Keys):
    key = keys.make("one", allowed="engineer@example.invalid")
    sign(key, manifest)
    place = f"{ISSUED}/HV-1/A/manifest.json.sig"
    assert check_signatures(unit, keys.list) == (
        Signature("HV-1", "A", place, sha256_of_file(manifest), ("engineer@example.invalid",), keys.fingerprint(key)),
    )
    assert verify_issued(unit) == (1, ())
    assert standing_verdicts(unit, outputs, packaged_source()) is not None


def test_two_persons_may_sign(unit: Path, manifest: Path, keys: Keys):
    for name in ("first", "second"):
        sign(keys.make(name, allowed=name), manifest)
        manifest.with_name("manifest.json.sig").rename(manifest.with_name(f"manifest.json.{name}.sig"))
    found = check_signatures(unit, keys.list)
    assert [each.signers for each in found if isinstance(each, Signature)] == [("first",), ("second",)]
    assert verify_issued(unit) == (1, ())


def test_a_typed_name_is_no_signature(unit: Path, manifest: Path, keys: Keys):
    keys.make("one", allowed="Engineer")
    assert check_signatures(unit, keys.list) == (Unsigned("HV-1", "A", "Engineer 1"),)


def test_a_manifest_that_was_changed_after_it_was_signed_is_not_signed(unit: Path, manifest: Path, keys: Keys):
    sign(keys.make("one", allowed="engineer"), manifest)
    manifest.write_bytes(manifest.read_bytes() + b" ")
    [found] = check_signatures(unit, keys.list)
    assert isinstance(found, Signature)
    assert (found.signers, found.why_not) == ((), "it is not of these bytes, or not made as a signature of an issue")


def test_a_signature_that_was_made_for_something_else_does_not_count(unit: Path, manifest: Path, keys: Keys):
    sign(keys.make("one", allowed="engineer"), manifest, "file")
    [found] = check_signatures(unit, keys.list)
    assert isinstance(found, Signature)
    assert found.signers == ()


@pytest.mark.parametrize(
    ("allowed", "options"),
    [("", ""), ("engineer", 'namespaces="file"'), ("engineer", 'valid-before="20200101"')],
    ids=["unknown", "for another purpose", "expired"],
)
def test_a_key_that_the_list_does_not_have_or_allow_does_not_count(
    unit: Path, manifest: Path, keys: Keys, allowed: str, options: str
):
    key = keys.make("one", allowed=allowed, options=options)
    sign(key, manifest)
    [found] = check_signatures(unit, keys.list)
    assert isinstance(found, Signature)
    assert (found.signers, found.fingerprint) == ((), keys.fingerprint(key))
    assert found.why_not == "its key does not count by the list of keys"


def test_something_that_is_no_signature_does_not_count(unit: Path, manifest: Path, keys: Keys):
    keys.make("one", allowed="engineer")
    manifest.with_name("manifest.json.sig").write_text("Engineer 1\n", encoding="utf-8")
    [found] = check_signatures(unit, keys.list)
    assert isinstance(found, Signature)
    assert found.signers == ()


def test_a_list_of_keys_inside_the_unit_is_refused(unit: Path, manifest: Path, keys: Keys, tmp_path: Path):
    keys.make("one", allowed="engineer")
    inside = Path(shutil.copy(keys.list, unit / "allowed_signers"))
    outside = tmp_path / "link"
    outside.symlink_to(inside)
    for path in (inside, outside):
        with pytest.raises(RunError, match="lies in the unit's own folder"):
            check_signatures(unit, path)


def test_without_openssh_it_says_so(unit: Path, manifest: Path, keys: Keys, monkeypatch: pytest.MonkeyPatch):
    keys.make("one", allowed="engineer")
    monkeypatch.setenv("PATH", "")
    with pytest.raises(RunError, match=r"ssh-keygen \(OpenSSH\) is not installed"):
        check_signatures(unit, keys.list)


def test_a_list_that_is_not_there_is_said(unit: Path, manifest: Path, tmp_path: Path):
    with pytest.raises(RunError, match=r"no file\. Give a list of keys"):
        check_signatures(unit, tmp_path / "none")
