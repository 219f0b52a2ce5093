"""A small hand-made unit, and notebooks that end in every way a notebook can."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

UNIT_TOML = """\
title = "Invented test unit"
document = "T-{tag}"
notice = "Invented"
tests = ["strokes"]

[limits.on_off]
stroke_time_open = { of_nominal_pct = 10, source = "Invented test limit" }
stroke_time_close = { of_nominal_pct = 10, source = "Invented test limit" }
"""
TAGS = """\
tag,service,motion,travel,travel_unit,duty,command_range,fail_action,stroke_time_open_s,stroke_time_close_s
HV-1,Invented water,rotary,90,deg,on_off,4-20 mA,closed,20,20
HV/2,Invented air,rotary,90,deg,on_off,4-20 mA,closed,20,20
HV-3,Invented gas,rotary,90,deg,on_off,4-20 mA,closed,20,20
"""
INSTRUMENTS = """\
instrument,description,measures,range_low,range_high,accuracy_fixed,resolution,certificate,calibrated_on,due_on
S-1,Stopwatch,s,0,600,0.1,0.1,C-1,2026-01-05,2027-01-05
"""
VISITS = """\
tag,visit,date,technician,time_instrument
HV-1,1,2026-03-02,Technician 1,S-1
HV/2,1,2026-03-02,Technician 1,S-1
"""
STROKES = """\
tag,visit,stage,direction,time_s
HV-1,1,as_left,open,20.1
HV-1,1,as_left,close,19.8
HV/2,1,as_left,open,31.0
HV/2,1,as_left,close,20.2
HV/2,1,as_left,close,quick
"""


@pytest.fixture
def small_unit(tmp_path: Path) -> Path:
    """Three tags: one passes, one is slow to open (and has a row set aside), one has no records."""
    folder = tmp_path / "inputs" / "small"
    (folder / "records").mkdir(parents=True)
    for name, text in (("unit.toml", UNIT_TOML), ("tags.csv", TAGS), ("instruments.csv", INSTRUMENTS)):
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    for name, text in (("visits.csv", VISITS), ("strokes.csv", STROKES)):
        (folder / "records" / name).write_text(text, encoding="utf-8", newline="\n")
    return folder


@pytest.fixture
def notebook(tmp_path: Path) -> Callable[..., Path]:
    """Write a notebook whose first cell takes ``unit`` and ``tag``; the given sources follow."""

    def write(*sources: str) -> Path:
        head = new_code_cell('unit: str = ""\ntag: str = ""', metadata={"tags": ["parameters"]}, id="parameters")
        cells = [new_code_cell(source, id=f"cell-{index}") for index, source in enumerate(sources)]
        path = tmp_path / "given.ipynb"
        nbformat.write(new_notebook(cells=[head, *cells]), path)
        return path

    return write


def shows_result(expression: str) -> str:
    """Source of a cell that shows a result, as the report's last cell does."""
    return (
        "from IPython.display import publish_display_data\n"
        "page = {'title': tag, 'document_css': '\"D\"', 'assets': '..', 'sections': []}\n"
        "publish_display_data({'application/vnd.strokebook.page+json': page})\n"
        f"publish_display_data({{'application/vnd.strokebook.result+json': {expression}}})"
    )
