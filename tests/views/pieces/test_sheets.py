"""Sheets: sentences, tables, or the reason why there is none."""

from __future__ import annotations

from kit.views.pieces.sheets import Sheet, missing, placed, placed_tables, tables_or
from kit.views.pieces.text_tables import table
from tests.views.reader import text_of

ONE = table("Caption", ["A", "B:"], [["a", "1"]])


def test_tables_or_their_reason():
    assert tables_or("name", [ONE], "none") == Sheet("name", tables=(ONE,))
    assert tables_or("name", [], "none") == Sheet("name", missing="none")


def test_sentences_stand_above_the_tables_that_there_are():
    section = placed_tables("name", [None, ONE], "First.", "Second.")
    assert text_of(section.html) == "First. Second. Caption A B a 1"
    assert 'class="strokebook name"' in section.html


def test_what_is_missing_is_said():
    expected = '<div class="strokebook missing">\n<p class="undetermined">Nothing.</p></div>'
    assert missing("Nothing.").html == expected
    assert placed(Sheet("missing", missing="Nothing.")).html == expected
