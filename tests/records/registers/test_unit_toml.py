"""unit.toml: every fault is told, and what it may hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.basis.checks import CHECKS, CheckName
from kit.basis.settings import ClassScatter, Limit, LimitSet, UnitSettings
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
        "from 0.9 to below 1",
        "Was readings meant",
        "{tag}",
        "Was inaccuracy meant",
        "inaccuracy.source: missing",
    ):
        assert words in told
    for words in ("no target to be plus or minus of", "exactly one of", "not a number", "min 2 is above max 1"):
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
coverage_probability = 0.9
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
    assert (settings.decision_rule, settings.coverage_probability) == ("guarded", 0.9)
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
        ("coverage_probability = 0.8999", "coverage_probability: 0.8999 is not a number from 0.9 to below 1."),
        ("coverage_probability = 1", "coverage_probability: 1 is not a number"),
        ("coverage_probability = true", "coverage_probability: True is not a number"),
        ("coverage_probability = '0.9'", "coverage_probability: '0.9' is not a number"),
        ("tests = 'readings'", "tests: 'readings' is no list of texts. Write it like"),
        ("tests = [1]", "tests: [1] is no list of texts."),
        ("tests = ['reading']", "tests.reading: not known. Was readings meant? Known: readings, readings:up"),
        ("prechecks = 'mounting'", "prechecks: 'mounting' is no list of texts."),
        ("own_columns = [' ']", "own_columns: [' '] is no list of texts."),
        ("limits = 1", "limits: 1 is not a table. Write its keys under [limits]."),
        ("limits.a = 1", "limits.a: 1 is not a table. Write its keys under [limits.a]."),
        ("[limits.a]\ntests = ['reading']", "limits.a.tests.reading: not known. Was readings meant?"),
        ("[limits.a]\ninaccuracy = 1.5", "limits.a.inaccuracy: 1.5 is no limit. Write it like { max"),
        ("[limits.a]\ninacuracy = {}", "limits.a.inacuracy: not known. Was inaccuracy meant?"),
        (limit("plus_minus = 1"), "limits.a.inaccuracy.source: missing. The document that states it."),
        (limit("plus_minus = 1, source = 5"), "limits.a.inaccuracy.source: 5 is no text."),
        (limit("plus_minus = 1, source = 'x', maxx = 1"), "limits.a.inaccuracy.maxx: not known. Was max meant?"),
        (limit("source = 'x'"), "limits.a.inaccuracy: give exactly one of plus_minus or min and max."),
        (limit("plus_minus = 1, max = 1, source = 'x'"), "limits.a.inaccuracy: give exactly one of plus_minus"),
        (limit("plus_minus = -1, source = 'x'"), "limits.a.inaccuracy.plus_minus: -1 is not a number from 0."),
        (limit("plus_minus = 'x', source = 'x'"), "limits.a.inaccuracy.plus_minus: 'x' is not a number from 0."),
        (limit("plus_minus = inf, source = 'x'"), "limits.a.inaccuracy.plus_minus: inf is not a number from 0."),
        (
            limit("of_nominal_pct = 5, source = 'x'"),
            "limits.a.inaccuracy: of_nominal_pct is no limit",
        ),
        (limit("min = 2, max = 1, source = 'x'"), "limits.a.inaccuracy: min 2 is above max 1."),
        (limit("plus_minus = 1, source = 'x'", "fail_time"), "limits.a.fail_time: plus_minus is no limit of fail_time"),
        (
            limit("plus_minus = 1, source = 'x'", "starts_per_hour"),
            "limits.a.starts_per_hour: plus_minus is no limit of starts_per_hour, which has no target",
        ),
        (limit("max = 5, source = 'x', cycles = 2", "t63"), "limits.a.t63.cycles: only a limit of repeatability"),
        (
            limit("max = 5, source = 'x', cycles = 1", "repeatability"),
            "limits.a.repeatability.cycles: 1 is",
        ),
        (
            limit("of_nominal_pct = 50.1, source = 'x'", "starts_per_hour"),
            "limits.a.starts_per_hour.of_nominal_pct is by how much",
        ),
    ],
)
def test_each_fault_is_told_with_its_place(content: str, told: str) -> None:
    found = faults(content)
    assert [each for each in found if each.startswith(told)] == found[:1]


TWO_SIDED = [name for name, check in CHECKS.items() if check.is_two_sided]
MAGNITUDES = [name for name, check in CHECKS.items() if check.is_magnitude]


@pytest.mark.parametrize("form", ["max", "min"])
@pytest.mark.parametrize("check", TWO_SIDED)
def test_a_limit_of_one_side_of_a_two_sided_quantity_is_refused_and_names_plus_minus(check: str, form: str) -> None:
    (told,) = faults(limit(f"{form} = 1.5, source = 'x'", check))
    assert told.startswith(
        f"limits.a.{check}: {form} is no limit of {check} alone, because it leaves the other side open."
    )
    assert told.endswith("Give plus_minus or min and max.")


def test_the_two_sided_quantities_are_those_that_can_be_wrong_either_way() -> None:
    assert {"zero_error", "inaccuracy", "feedback_span_error", "fail_position", "restored_position"} < set(TWO_SIDED)
    assert {"loop_command_error", "supply_deviation", "open_switch_position", "travel_gain"} < set(TWO_SIDED)
    assert not {"stroke_time_open", "closed_switch_lead", "insulation_resistance"} & set(TWO_SIDED)


@pytest.mark.parametrize("check", MAGNITUDES)
def test_plus_minus_of_a_magnitude_is_its_greatest_value(check: CheckName) -> None:
    (found,) = read(limit("plus_minus = 1, source = 'x'", check)).limit_sets["a"].limits.values()
    assert found == Limit(check, "x", maximum=1.0)


@pytest.mark.parametrize("check", ["hysteretic_error", "repeatability", "overshoot"])
def test_the_least_value_of_a_magnitude_alone_is_no_limit(check: str) -> None:
    (told,) = faults(limit("min = 1, source = 'x'", check))
    assert told.endswith("Give max, plus_minus or min and max.")


def test_the_greatest_lead_alone_is_no_limit_because_a_lead_behind_the_stop_is_negative() -> None:
    (told,) = faults(limit("max = 5, source = 'x'", "closed_switch_lead"))
    assert told.endswith("Give min or min and max.")


def test_a_limit_of_repeatability_may_name_its_cycles() -> None:
    (found,) = read(limit("max = 0.5, cycles = 2, source = 'x'", "repeatability")).limit_sets["a"].limits.values()
    assert found == Limit("repeatability", "x", maximum=0.5, cycles=2)


def test_prechecks_and_own_columns_are_lists_of_texts() -> None:
    settings = read("prechecks = [' mounting ', 'wiring', 'wiring']\nown_columns = ['photo_no']")
    assert (settings.prechecks, settings.own_columns) == (("mounting", "wiring"), ("photo_no",))


def test_evidence_is_kept_by_check_with_its_source() -> None:
    limits = read("[limits.a.evidence]\ninaccuracy = { commands = 3, gap_pct = 50, source = ' Paper 5 ' }").limit_sets[
        "a"
    ]
    assert limits.evidence == {"inaccuracy": {"commands": 3, "gap_pct": 50.0}}
    assert limits.evidence_sources == {"inaccuracy": "Paper 5"}


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("= 1", "limits.a.evidence: 1 is not a table."),
        (".inacuracy = {}", "limits.a.evidence.inacuracy: not known. Was inaccuracy meant? Known: zero_error,"),
        (".inaccuracy = 5", "limits.a.evidence.inaccuracy: 5 is not a table."),
        (
            ".inaccuracy = { commands = 3 }",
            "limits.a.evidence.inaccuracy.source: missing. The document",
        ),
        (".inaccuracy = { cycles = 3, source = 'x' }", "limits.a.evidence.inaccuracy.cycles: not known."),
        (
            ".inaccuracy = { commands = 2.5, source = 'x' }",
            "limits.a.evidence.inaccuracy.commands: 2.5 is not a whole n",
        ),
        (
            ".inaccuracy = { gap_pct = 101, source = 'x' }",
            "limits.a.evidence.inaccuracy.gap_pct: 101 is not a number a",
        ),
    ],
)
def test_evidence_that_cannot_be_used_is_told(content: str, told: str) -> None:
    assert faults(f"[limits.a]\nevidence{content}")[0].startswith(told)


SCATTER = "value = 0.1\ndegrees_of_freedom = 20\nsource = 'Paper 6'\n"


def test_scatter_at_the_top_is_of_all_that_is_in_percent_of_travel() -> None:
    assert read(f"[scatter]\n{SCATTER}").scatter == dict.fromkeys(
        ("position", "feedback", "switches"), ClassScatter(0.1, 20.0, "Paper 6")
    )


def test_scatter_in_tables_of_its_own_is_of_these_alone_and_comes_before_that_at_the_top() -> None:
    strokes = SCATTER.replace("0.1", "0.6")
    assert read(f"[scatter.strokes]\n{strokes}").scatter == {"strokes": ClassScatter(0.6, 20.0, "Paper 6")}
    both = read(f"[scatter]\n{SCATTER}\n[scatter.feedback]\n{strokes}").scatter
    assert {name: one.value for name, one in both.items()} == {"position": 0.1, "feedback": 0.6, "switches": 0.1}


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("scatter = 1", "scatter: 1 is not a table."),
        ("[scatter]\nvalue = 1\nsource = 'x'", "scatter.degrees_of_freedom: missing."),
        (f"[scatter]\n{SCATTER}valve = 1", "scatter.valve: not known. Was value meant?"),
        (f"[scatter.positions]\n{SCATTER}", "scatter.positions: not known. Was position meant?"),
        ("[scatter.position]\nvalue = 1\ndegrees_of_freedom = 2", "scatter.position.source: missing."),
        (f"[scatter]\n{SCATTER}".replace("0.1", "0"), "scatter.value: 0 is not a number above 0."),
        (f"[scatter]\n{SCATTER}".replace("20", "0.5"), "scatter.degrees_of_freedom: 0.5 is not a number from 1."),
    ],
)
def test_scatter_that_cannot_be_used_is_told(content: str, told: str) -> None:
    assert faults(content)[0].startswith(told)


def test_a_file_that_is_no_toml_says_where() -> None:
    for data in (b"title = ", b"title = '\xff'"):
        with pytest.raises(UnitError, match=r"unit-a/unit\.toml cannot be read: .*Correct it there"):
            read_settings(Path("unit-a"), data)


RECORDING = """
[[recordings]]
files = "logs/*/*.txt"
source = "Invented logger sheet"
time = { heading = ["Date", "Time"], format = "DD.MM.YYYY HH:MM:SS,fff", zone = "+01:00" }
[recordings.channels]
command = { heading = "AI 1", unit = "mA" }
position = { heading = "Pos", unit = "deg", scale = 0.1, offset = -1 }
closed_switch = { heading = 5, made = "ON", not_made = "OFF" }
"""


def test_how_a_loggers_files_are_read() -> None:
    (found,) = read(RECORDING).recordings
    assert (found.number, found.files, found.source) == (1, "logs/*/*.txt", "Invented logger sheet")
    assert (found.time.headings, found.time.zone) == (("Date", "Time"), "+01:00")
    assert [each.column for each in found.channels] == ["command_mA", "position_deg", "closed_switch"]
    assert found.words == (
        "Date and Time as time [DD.MM.YYYY HH:MM:SS,fff, +01:00]; AI 1 as command [mA]; "
        "Pos x 0.1 - 1 as position [deg]; column 5 as closed_switch (made: ON)"
    )


@pytest.mark.parametrize(
    ("was", "becomes", "fault"),
    [
        ('"logs/*/*.txt"', '"*.txt"', "recordings[1].files: '*.txt' is no pattern of three parts"),
        ('"logs/*/*.txt"', '"logs\\\\*\\\\*.txt"', "is no pattern of three parts"),
        ('source = "Invented logger sheet"\n', "", "recordings[1].source: missing"),
        ("DD.MM.YYYY HH", "TT.MM.JJJJ HH", "recordings[1].time.format: 'TT.MM.JJJJ HH:MM:SS,fff': 'J' is no part"),
        ('"+01:00"', '"CETT"', "recordings[1].time.zone: 'CETT' is no zone. Write UTC, +01:00 or a name"),
        ('["Date", "Time"]', "[]", "recordings[1].time.heading: [] is not a heading or a column's number"),
        ('format = "DD.MM.YYYY HH:MM:SS,fff"', 'format = "s"', "time.heading: numbers of one unit stand in one column"),
        ("time = {", "tim = {", "recordings[1].time: missing. Write it like { heading"),
        ("command =", "comand =", "recordings[1].channels.comand: not known. Was command meant?"),
        ('unit = "mA"', 'unit = "deg"', "command.unit: 'deg' is no unit of it. Give one of mA, V, %."),
        (', unit = "mA"', "", "recordings[1].channels.command.unit: missing. Give one of mA, V, %."),
        ("scale = 0.1", "scale = 0", "recordings[1].channels.position.scale: 0 makes every value the same."),
        ('"Pos"', '"AI 1"', "'AI 1' stands for two channels"),
        (
            'position = { heading = "Pos", unit = "deg", scale = 0.1, offset = -1 }\n',
            "",
            "neither position nor feedback",
        ),
        ('"OFF"', '"on"', "closed_switch: made and not_made are the same"),
        ('"OFF"', '"OFF", made_above = 12', "give made and not_made, or made_above, or made_below"),
        ("heading = 5", "heading = 0", "closed_switch.heading: 0 is not a heading"),
        ("source", "header_row = 0\nsource", "header_row is 0, so that 'Date' stands nowhere"),
        ("source", "header_row = 4\nfirst_row = 4\nsource", "first_row: 4 is not below header_row 4"),
        ("source", 'decimal = "comma"\nthousands = "comma"\nsource', "comma is the decimal mark too"),
        ("source", 'delimiter = ";"\nsource', "delimiter: ';' is not one of comma, semicolon, tab, bar, blanks"),
        ("source", 'stage = "left"\nsource', "stage: 'left' is not one of as_found, as_left"),
        ("[[recordings]]", "[recordings]", "is no list of tables. Write each under [[recordings]]"),
    ],
)
def test_every_fault_of_a_loggers_table_names_its_key(was: str, becomes: str, fault: str) -> None:
    assert was in RECORDING
    content = RECORDING.replace(was, becomes, 1)
    assert any(fault in each for each in faults(content)), faults(content)


def test_a_placeholder_is_known_by_its_limit_set_until_the_word_is_deleted() -> None:
    limit = 'inaccuracy = { plus_minus = 2.0, source = "usual"%s }'
    waiting = read("[limits.modulating]\n" + limit % ", placeholder = true")
    confirmed = read("[limits.modulating]\n" + limit % "")
    assert waiting.limit_sets["modulating"].limits["inaccuracy"].placeholder_in == "modulating"
    assert confirmed == read("[limits.modulating]\n" + limit % ", placeholder = false")
    assert confirmed.limit_sets["modulating"].limits["inaccuracy"].placeholder_in == ""


@pytest.mark.parametrize("written", ['"true"', '"no"', "1", "0"])
def test_a_placeholder_is_true_or_false_and_nothing_else(written: str) -> None:
    with pytest.raises(UnitError, match=r"inaccuracy\.placeholder: .* is not true or false"):
        read(f'[limits.modulating]\ninaccuracy = {{ plus_minus = 2.0, source = "usual", placeholder = {written} }}')
