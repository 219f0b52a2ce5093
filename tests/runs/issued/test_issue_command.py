"""`strokebook issue` and `strokebook verify`, as a user types them."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from kit import cli
from kit.basis.issues import ISSUED, LEDGER
from kit.runs.hashing import sha256_of_file

Typed = Callable[..., subprocess.CompletedProcess[str]]
GIVEN = ("--reason", "For approval", "--by", "Engineer 1", "--on", "2026-03-10")


@pytest.fixture
def typed(unit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    """Run the command in this process, where inputs/ holds just one unit, whose batch was run."""
    monkeypatch.chdir(tmp_path)

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        monkeypatch.setattr(sys, "argv", ["strokebook", *words])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = capsys.readouterr()
        return subprocess.CompletedProcess(words, int(ended.value.code or 0), said.out, said.err)

    return run


def test_it_says_what_was_issued_where_and_how_to_sign_and_then_what_stands(typed: Typed):
    place = Path("inputs/small") / ISSUED
    done = typed("issue", "HV-1", *GIVEN)
    assert (done.returncode, done.stdout.splitlines()) == (
        0,
        [
            f"HV-1: revision A issued (first issue): {place / 'HV-1/A'}",
            f"To sign: ssh-keygen -Y sign -f YOUR_KEY -n strokebook-issue {place / 'HV-1/A/manifest.json'}",
        ],
    )
    assert typed("issue", "HV-1", *GIVEN).stdout == "HV-1: unchanged since revision A.\n"
    assert f"{place}: 1 issues, every file is as issued." in typed("verify").stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "An issue says why, by whom and when: add --reason TEXT --by NAME --on DATE."),
        (("HV-9", *GIVEN), "'HV-9' is not in the register"),
        (("HV-1", *GIVEN[:-1], "yesterday"), "--on yesterday: no date. Give year, month and day: --on 2026-03-31."),
    ],
)
def test_a_call_that_cannot_be_is_refused_in_one_line(typed: Typed, words: tuple[str, ...], said: str):
    done = typed("issue", *words)
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert said in done.stderr


def test_verify_tells_damage_of_an_issue_even_where_outputs_are_gone(typed: Typed, unit: Path, outputs: Path):
    typed("issue", "HV-1", *GIVEN)
    shutil.rmtree(outputs)
    assert typed("verify").returncode == 0
    (unit / ISSUED / "HV-1/A/report.html").write_bytes(b"x")
    done = typed("verify")
    assert done.returncode == 1
    assert f"{ISSUED}/HV-1/A: report.html is not as it was issued." in done.stdout
    assert "no outputs there. `strokebook batch" in done.stdout


def test_verify_says_how_a_ledger_is_made_again_and_issue_does_it(typed: Typed, unit: Path):
    typed("issue", "HV-1", *GIVEN)
    ledger = Path("inputs/small") / ISSUED / LEDGER
    ledger.write_bytes(b"x")
    done = typed("verify")
    assert (done.returncode, f"`strokebook issue {Path('inputs/small')} --rebuild` makes it again" in done.stdout) == (
        1,
        True,
    )
    done = typed("issue", "--rebuild")
    assert (done.returncode, done.stdout.splitlines()) == (
        0,
        [f"{ledger}: 1 row, made from the issued folders.", f"{ledger}.damaged: the ledger as it was before."],
    )
    assert f"{ledger.parent}: 1 issues, every file is as issued." in typed("verify").stdout


def test_what_is_still_wrong_after_it_is_told(typed: Typed, unit: Path):
    typed("issue", "HV-1", *GIVEN)
    (unit / ISSUED / "HV-1/A/report.html").write_bytes(b"x")
    done = typed("issue", "--rebuild")
    assert done.returncode == 1
    assert f"Still wrong: {ISSUED}/HV-1/A: report.html is not as it was issued." in done.stdout


def test_an_issue_that_is_gone_is_told_and_no_batch_is_asked_to_make_it_again(typed: Typed, unit: Path):
    typed("issue", "HV-1", *GIVEN)
    shutil.rmtree(unit / ISSUED)
    done = typed("verify")
    assert (done.returncode, done.stdout.splitlines()) == (
        1,
        [
            f"{ISSUED}/HV-1/A: was issued when the outputs were made, and the ledger no longer has it",
            "1 differences. What was issued and is gone only a copy of issued/ brings back.",
        ],
    )


def test_to_make_the_ledger_again_stands_alone(typed: Typed):
    done = typed("issue", "HV-1", "--rebuild")
    assert (done.returncode, "issues nothing: give it alone" in done.stderr) == (2, True)


def test_verify_leaves_what_an_earlier_version_superseded_and_says_so(typed: Typed, outputs: Path):
    (outputs / "superseded").mkdir()
    done = typed("verify")
    assert done.returncode == 0
    assert "superseded: kept by an earlier version" in done.stdout


@pytest.mark.skipif(
    "__import__('shutil').which('ssh-keygen') is None and __import__('os').environ.get('CI') != 'true'",
    reason="no ssh-keygen",
)
def test_the_command_that_issue_prints_signs_and_verify_says_who(typed: Typed, unit: Path, tmp_path: Path):
    key, keys = tmp_path / "key", tmp_path / "signers"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", key], check=True)
    keys.write_text(f"checker@example.invalid {key.with_suffix('.pub').read_text(encoding='utf-8')}", encoding="utf-8")
    command = typed("issue", "HV-1", *GIVEN).stdout.splitlines()[-1].removeprefix("To sign: ")
    assert (
        "HV-1 revision A: not signed. That Engineer 1 issued it was typed."
        in typed("verify", "--keys", str(keys)).stdout
    )
    subprocess.run(command.replace("YOUR_KEY", str(key)).split(), check=True, capture_output=True)
    done = typed("verify", "--keys", str(keys))
    manifest = sha256_of_file(unit / ISSUED / "HV-1/A/manifest.json")
    assert done.returncode == 0
    assert "HV-1 revision A: signed by checker@example.invalid, key SHA256:" in done.stdout
    assert f"manifest.json {manifest}." in done.stdout
    key.write_text("")
    (unit / ISSUED / "HV-1/A/manifest.json.sig").write_text("Engineer 1", encoding="utf-8")
    assert typed("verify", "--keys", str(keys)).returncode == 1
