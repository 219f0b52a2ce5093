"""What people do between the commands of the walk: fill in, confirm, adjust, save."""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from tests.sheets.fill import SWITCHES_THAT_LEAD

INSTRUMENTS = """\
instrument,description,measures,range_low,range_high,accuracy_fixed,resolution,certificate,calibrated_on,due_on
LC-1,Loop calibrator,mA,0,24,0.005,0.001,C-1,2026-01-05,2027-01-05
IN-1,Inclinometer,deg,-10,120,0.1,0.1,C-2,2026-01-05,2027-01-05
S-1,Stopwatch,s,0,600,0.1,0.1,C-4,2026-01-05,2027-01-05
"""
TESTS = ("readings", "readings:down", "strokes", "fail_tests:signal_open", "switches", "prechecks")
CONFIRMED = {
    "inaccuracy": "plus_minus = 1.5",
    "hysteretic_error": "max = 1.0",
    "stroke_time_open": "of_nominal_pct = 10",
    "stroke_time_close": "of_nominal_pct = 10",
    "fail_position": "plus_minus = 2",
    "closed_switch_lead": "min = 1",
    "open_switch_lead": "min = 1",
    "prechecks": "max = 0",
}
VISIT = {
    "technician": "Technician 1",
    "checked_by": "Checker A",
    "command_instrument": "LC-1",
    "position_instrument": "IN-1",
    "feedback_instrument": "LC-1",
    "time_instrument": "S-1",
}
COMMANDS_MA = (4, 8, 12, 16, 20, 16, 12, 8, 4)
OTHER_TESTS: Mapping[str, Sequence[Mapping[str, Any]]] = {
    "strokes": [{"time_s": 25.1}, {"time_s": 25.3}, {"time_s": 24.8}, {"time_s": 25.0}],
    "fail_tests": [{"position_before_pct": 99.8, "position_after_pct": 0.4, "time_s": 18.5}],
    "switches": SWITCHES_THAT_LEAD,
    "prechecks": [{"result": "yes"}, {"result": "yes"}],
}


def strokebook(folder: Path, *words: str, status: int = 0) -> str:
    """Type a command in ``folder``; what it prints. It has to end with ``status``."""
    done = subprocess.run(
        [sys.executable, "-m", "kit.cli", *words],
        cwd=folder,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        encoding="utf-8",
        timeout=600,
        check=False,
    )
    assert done.returncode == status, done.stdout + done.stderr
    return done.stdout


def confirm_limits(unit_toml: Path) -> None:
    """Put the project's numbers and document in the place of some usual ones, and take the others out."""
    kept = []
    for line in unit_toml.read_text(encoding="utf-8").splitlines():
        check = line.partition(" = ")[0]
        if check in CONFIRMED and "placeholder" in line:
            kept.append(f'{check} = {{ {CONFIRMED[check]}, source = "Invented specification, table 1" }}')
        elif re.match(r"tests = \[", line):
            kept.append(f"tests = [{', '.join(f'{chr(34)}{test}{chr(34)}' for test in TESTS)}]")
        elif not re.match(r"[a-z_]+ = .*placeholder = true", line):
            kept.append(line)
    scatter = '[scatter]\nvalue = 0.05\ndegrees_of_freedom = 40\nsource = "Invented type test"\n'
    strokes = '[scatter.strokes]\nvalue = 0.6\ndegrees_of_freedom = 12\nsource = "Invented type test"\n'
    items = 'prechecks = ["Coupling tight", "Handwheel free"]\n'
    unit_toml.write_text(f"{items}{chr(10).join(kept)}\n{scatter}{strokes}", encoding="utf-8")


def readings(positions_deg: Iterable[float]) -> list[dict[str, float]]:
    """Up and down over the whole travel; the feedback follows the command."""
    pairs = zip(COMMANDS_MA, positions_deg, strict=True)
    return [{"command_mA": ma, "position_deg": deg, "feedback_mA": ma} for ma, deg in pairs]


def saved_by_an_office_program(files: Iterable[Path], to: Path) -> None:
    """The filled sheets as LibreOffice saves them; as they are where there is none."""
    to.mkdir(parents=True, exist_ok=True)
    if shutil.which("soffice"):
        _converted(files, to, "xlsx:Calc MS Excel 2007 XML")
    else:
        for file in files:
            shutil.copy(file, to)


def as_pdf(file: Path, to: Path) -> Path:
    """A sheet as LibreOffice prints it."""
    _converted([file], to, "pdf")
    return to / file.with_suffix(".pdf").name


def _converted(files: Iterable[Path], to: Path, kind: str) -> None:
    """By LibreOffice, with a profile of its own."""
    with tempfile.TemporaryDirectory() as folder:
        profile = f"-env:UserInstallation={Path(folder).as_uri()}"
        call = ["soffice", profile, "--headless", "--convert-to", kind, "--outdir", str(to), *map(str, files)]
        subprocess.run(call, check=True, capture_output=True)


def table(path: Path) -> list[dict[str, str]]:
    """The rows of a CSV file of the outputs."""
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))


def signing_words(key: str, manifest: str) -> tuple[str, ...]:
    """What is typed to sign a manifest."""
    return ("ssh-keygen", "-Y", "sign", "-f", key, "-n", "strokebook-issue", manifest)


def sign(desk: Path, manifest: Path) -> Path:
    """Sign a manifest with a new key; the list of allowed signers, which stands outside the unit."""
    key, signers = desk / "key", desk / "signers"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key)], check=True, capture_output=True)
    subprocess.run(signing_words(str(key), str(manifest)), check=True, capture_output=True)
    kind, public, *_ = key.with_suffix(".pub").read_text(encoding="utf-8").split()
    signers.write_text(f"engineer@example.invalid {kind} {public}\n", encoding="utf-8")
    return signers
