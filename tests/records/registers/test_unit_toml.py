"""unit.toml: every fault is told, and what it may hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.basis.settings import Limit, LimitSet, UnitSettings
from kit.records import UnitError, read_unit
from kit.records.registers.unit_toml import read_settings


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


def read(content: str) -> UnitSettings:
    return read_settings(Path("unit-a"), content.encode())


def faults(content: str) -> list[str]:
    """What is told about a unit.toml, line by line."""
    with pytest.raises(UnitError) as caught:
        read(content)
    head, *told = str(caught.value).split("\n- ")
    assert head == "unit-a/unit.toml cannot be used:"
    return told


def limit(content: str, check: str = "inaccuracy") -> str:
    return f"[limits.a]\n{check} = {{ {content} }}\n"


def test_an_empty_file_gives_the_defaults() -> None:
    assert read("\ufeff") == UnitSettings(
        unit="unit-a", title="unit-a", decision_rule="by_ratio", coverage_probability=0.9545, tests=(), limit_sets={}
    )


def test_what_stands_there_is_what_is_read() -> None:
    content = """
title = " Invented unit "
site = "Invented site"
document = "{unit}-{tag}"
revision = "B"
notice = "Invented"
decision_rule = "guarded"
coverage_probability = 0.5
tests = ["readings", "strokes", "readings"]
[limits.a]
inaccuracy = { plus_minus = 0, source = " Paper 1 ", revision = "2" }
stroke_time_open = { of_nominal_pct = 10, source = "Paper 2" }
starts_per_hour = { of_nominal_pct = 50, source = "Paper 3" }
dead_time = { min = 1, max = 1, source = "Paper 4" }
[limits.b]
tests = ["electrical"]
"""
    settings = read(content)
    assert (settings.title, settings.site, settings.document) == ("Invented unit", "Invented site", "{unit}-{tag}")
    assert (settings.revision, settings.notice) == ("B", "Invented")
    assert (settings.decision_rule, settings.coverage_probability) == ("guarded", 0.5)
    assert settings.tests == ("readings", "strokes")
    assert settings.limit_sets == {
        "a": LimitSet(
            "a",
            {
                "inaccuracy": Limit("inaccuracy", "Paper 1", "2", plus_minus=0.0),
                "stroke_time_open": Limit("stroke_time_open", "Paper 2", of_nominal_pct=10.0),
                "starts_per_hour": Limit("starts_per_hour", "Paper 3", of_nominal_pct=50.0),
                "dead_time": Limit("dead_time", "Paper 4", minimum=1.0, maximum=1.0),
            },
            ("readings", "strokes"),
        ),
        "b": LimitSet("b", {}, ("electrical",)),
    }


@pytest.mark.parametrize("name", ["simple", "guarded", "by_ratio"])
def test_a_decision_rule_is_one_of_three(name: str) -> None:
    assert read(f'decision_rule = "{name}"').decision_rule == name


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("titel = 'x'", "titel: not known. Was title meant? Known: title,"),
        ("zzz = 'x'", "zzz: not known. Known: title,"),
        ("title = 5", "title: 5 is no text. Put it in quotation marks."),
        ("decision_rule = 'lenient'", "decision_rule: 'lenient' is not one of simple, guarded, by_ratio."),
        ("coverage_probability = 0.4999", "coverage_probability: 0.4999 is not a number from 0.5 to below 1"),
        ("coverage_probability = 1", "coverage_probability: 1 is not a number"),
        ("coverage_probability = true", "coverage_probability: True is not a number"),
        ("coverage_probability = '0.9'", "coverage_probability: '0.9' is not a number"),
        ("tests = 'readings'", "tests: 'readings' is no list of texts. Write it like"),
        ("tests = [1]", "tests: [1] is no list of texts."),
        ("tests = ['reading']", "tests: 'reading' is no known test. Known: "),
        ("limits = 1", "limits: not a table. Write limits under [limits.<set>]."),
        ("limits.a = 1", "limits.a: not a table. Write limits under [limits.a]."),
        ("[limits.a]\ntests = ['reading']", "limits.a.tests: 'reading' is no known test."),
        ("[limits.a]\ninaccuracy = 1.5", "limits.a.inaccuracy: 1.5 is no limit. Write it like { max"),
        ("[limits.a]\ninacuracy = {}", "limits.a.inacuracy: not known. Was inaccuracy meant?"),
        (limit("plus_minus = 1"), "limits.a.inaccuracy: a limit needs a source"),
        (limit("plus_minus = 1, source = 5"), "limits.a.inaccuracy.source: 5 is no text."),
        (limit("plus_minus = 1, source = 'x', maxx = 1"), "limits.a.inaccuracy.maxx: not known. Was max meant?"),
        (limit("source = 'x'"), "limits.a.inaccuracy: give exactly one of plus_minus"),
        (limit("plus_minus = 1, max = 1, source = 'x'"), "limits.a.inaccuracy: give exactly one of plus_minus"),
        (limit("plus_minus = -1, source = 'x'"), "limits.a.inaccuracy.plus_minus: -1 is negative."),
        (limit("plus_minus = 'x', source = 'x'"), "limits.a.inaccuracy.plus_minus: 'x' is not a number."),
        (limit("plus_minus = inf, source = 'x'"), "limits.a.inaccuracy.plus_minus: inf is not a number."),
        (limit("of_nominal_pct = 5, source = 'x'"), "limits.a.inaccuracy: inaccuracy has no nominal value"),
        (limit("min = 2, max = 1, source = 'x'"), "limits.a.inaccuracy: min 2 is above max 1."),
        (limit("plus_minus = 1, source = 'x'", "fail_time"), "limits.a.fail_time: fail_time has no target"),
        (limit("plus_minus = 1, source = 'x'", "starts_per_hour"), "limits.a.starts_per_hour: starts_per_hour has no"),
        (
            limit("of_nominal_pct = 50.1, source = 'x'", "starts_per_hour"),
            "limits.a.starts_per_hour.of_nominal_pct is by how much",
        ),
    ],
)
def test_each_fault_is_told_with_its_place(content: str, told: str) -> None:
    found = faults(content)
    assert [each for each in found if each.startswith(told)] == found[:1]


def test_a_file_that_is_no_toml_says_where() -> None:
    for data in (b"title = ", b"title = '\xff'"):
        with pytest.raises(UnitError, match=r"unit-a/unit\.toml cannot be read: .*Correct it there"):
            read_settings(Path("unit-a"), data)
