"""A small unit with a failure, a gap, an open record, and a tag of two visits."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit import frames
from tests import small_unit as made

VISITS = """\
tag,visit,date,technician,time_instrument
HV-1,1,2025-03-02,Technician 1,S-1
HV-1,2,2026-03-02,Technician 2,S-1
HV/2,1,2026-03-02,Technician 1,S-1
"""
STROKES = """\
tag,visit,stage,direction,time_s
HV-1,1,as_left,open,25.0
HV-1,1,as_left,close,19.8
HV-1,2,as_found,open,26.5
HV-1,2,as_left,open,20.1
HV-1,2,as_left,close,19.8
HV/2,1,as_left,open,31.0
HV/2,1,as_left,close,20.2
HV/2,1,as_left,close,quick
"""


@pytest.fixture(scope="session")
def unit(tmp_path_factory: pytest.TempPathFactory) -> frames.Frames:
    folder: Path = tmp_path_factory.mktemp("inputs") / "small"
    (folder / "records").mkdir(parents=True)
    files = {"unit.toml": made.UNIT_TOML, "tags.csv": made.TAGS, "instruments.csv": made.INSTRUMENTS}
    for name, text in (files | {"records/visits.csv": VISITS, "records/strokes.csv": STROKES}).items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return frames.read(folder)
