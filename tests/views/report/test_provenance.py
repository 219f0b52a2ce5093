"""From which files and by which versions a page was made."""

from __future__ import annotations

from importlib.metadata import version

import kit
from kit.assessment import assess_tag
from kit.views.report.provenance import provenance_sheet
from tests.views import made
from tests.views.reader import rows


def test_every_file_and_every_version_is_told():
    records = made.records()
    sheet = provenance_sheet(records, assess_tag(records))
    instruments, inputs, made_with = (rows(table) for table in sheet.tables)
    assert [row[1] for row in instruments][:2] == ["M-1", "D-1"]
    assert inputs == [["records/readings.csv", "ab" * 32], ["tags.csv", "cd" * 32]]
    assert made_with[0] == ["strokebook", kit.__version__]
    assert made_with[2:] == [[name, version(name)] for name in ("numpy", "scipy", "pandas")]
    assert sheet.lines[0].startswith("Document DOC-FV-1. All inputs together: ")


def test_without_an_instrument_there_is_no_table_of_them():
    assert len(provenance_sheet(made.records(), made.assessment(made.stage())).tables) == 2
