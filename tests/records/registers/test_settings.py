"""unit.toml: every fault is told, and what it may hold."""

from __future__ import annotations

import pytest

from kit.records import UnitError, read_unit


def test_all_faults_of_the_settings_are_told_at_once(make_unit) -> None:
    content = """
titel = "x"
decision_rule = "lenient"
coverage_probability = 95
tests = ["reading"]
document = "{tags}"
[limits.a]
inacuracy = { plus_minus = 1, source = "x" }
inaccuracy = { plus_minus = 1 }
fail_time = { plus_minus = 1, source = "x" }
t63 = { max = 1, plus_minus = 1, source = "x" }
dead_time = { max = "1", source = "x" }
stroke_time_open = { min = 2, max = 1, source = "x" }
"""
    with pytest.raises(UnitError) as caught:
        read_unit(make_unit({"unit.toml": content}))
    told = str(caught.value)
    for words in (
        "Was title meant",
        "by_ratio",
        "0.9545",
        "no known test",
        "{tag}",
        "Was inaccuracy meant",
        "needs a source",
    ):
        assert words in told
    for words in ("fail_time has no target", "exactly one of", "not a number", "min 2 is above max 1"):
        assert words in told


@pytest.mark.parametrize("pattern", ["{unit}-{tag}", "{tag}", "D-100"])
def test_a_document_number_may_name_the_tag_and_the_unit(make_unit, pattern: str) -> None:
    folder = make_unit({"unit.toml": f'title = "x"\ndocument = "{pattern}"\n'})
    assert read_unit(folder).settings.document == pattern


@pytest.mark.parametrize("pattern", ["{tags}", "{tag!r}", "{{tag}}", "{tag", "tag}"])
def test_a_document_number_may_hold_no_other_braces(make_unit, pattern: str) -> None:
    folder = make_unit({"unit.toml": f'title = "x"\ndocument = "{pattern}"\n'})
    with pytest.raises(UnitError, match=r"may hold \{tag\} and \{unit\} and no other braces"):
        read_unit(folder)
