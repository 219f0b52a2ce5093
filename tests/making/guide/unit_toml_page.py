"""unit.toml on one page, as Markdown: every key, every form of a limit, rules, evidence, scatter, recordings and tests.

``python -m tests.making.guide.unit_toml_page`` writes notebooks/guide/unit-toml.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields
from typing import Final

from kit.assessment.subjects import MISSING as REPORTED
from kit.assessment.wording import rule_words
from kit.basis.checks import CHECKS, Check
from kit.basis.evidence import NEEDS, NEEDS_ON_OFF, Need
from kit.basis.recording_maps import CHANNEL_COLUMNS
from kit.basis.settings import DECISION_RULES, SCATTERS, UnitSettings
from kit.basis.tables import TESTS
from kit.basis.unit_keys import (
    CHANNEL_KEYS,
    EVIDENCE_KEYS,
    EVIDENCE_SOURCE,
    LIMIT_KEYS,
    RECORDING_KEYS,
    SCATTER_KEYS,
    SET_KEYS,
    SWITCH_KEYS,
    TIME_KEYS,
    UNIT_KEYS,
    Key,
    forms_of,
)
from tests.making.guide import GUIDE
from tests.making.guide.check_tables import TARGET_WORDS

EXAMPLE: Final = """\
title = "Invented works, unit 10"
site = "Invented site"
document = "IW10-{tag}-STROKE"
revision = "A"
decision_rule = "by_ratio"
tests = ["readings", "strokes", "fail_tests:signal_open", "switches"]
prechecks = ["mounting", "wiring", "interlocks"]
own_columns = ["photo_no"]

[scatter]
value = 0.08
degrees_of_freedom = 30
source = "Type test of the class (invented), table 2"

[scatter.strokes]
value = 0.6
degrees_of_freedom = 12
source = "Type test of the class (invented), table 3"

[limits.modulating]
inaccuracy = { plus_minus = 1.5, source = "Valve specification (invented), table 3", revision = "B" }
hysteretic_error = { max = 1.0, source = "Valve specification (invented), table 3" }
repeatability = { max = 0.5, cycles = 2, source = "Valve specification (invented), table 3" }
stroke_time_open = { of_nominal_pct = 10, source = "Valve specification (invented), table 5" }
stroke_time_close = { of_nominal_pct = 10, source = "Valve specification (invented), table 5" }
fail_position = { plus_minus = 2.0, source = "Cause and effect sheet (invented), note 2" }
fail_time = { max = 30, source = "Cause and effect sheet (invented), note 2" }
supply_deviation = { min = -10, max = 6, source = "Electrical specification (invented), clause 5" }
insulation_resistance = { min = 1.0, source = "Electrical specification (invented), clause 6" }

[limits.modulating.evidence]
inaccuracy = { commands = 3, gap_pct = 50, source = "Procedure (invented), clause 4" }

[limits.on_off]
tests = ["strokes", "fail_tests:signal_open"]
stroke_time_open = { max = 30, source = "Valve specification (invented), table 5" }
stroke_time_close = { max = 30, source = "Valve specification (invented), table 5" }
fail_position = { plus_minus = 2.0, source = "Cause and effect sheet (invented), note 2" }

[[recordings]]
files = "logs/*/*.txt"
source = "Channel list of the site recorder (invented), page 1"
confirmed_by = "Engineer 1"
time = { heading = ["Date", "Time"], format = "DD.MM.YYYY HH:MM:SS,fff", zone = "+01:00" }
[recordings.channels]
command = { heading = "AI 1", unit = "mA" }
position = { heading = "Pos", unit = "deg", scale = 0.1 }
closed_switch = { heading = "DI 1", made = "ON", not_made = "OFF" }
"""
_RULES_HEAD: Final = """Under every rule a check without an uncertainty gives no pass (counts need none)."""
_INTRODUCTION: Final = """# unit.toml: titles, rule, tests and limits of a unit

Made from `kit/basis/`; a test keeps it current. To change it, change these and run
`python -m tests.making.guide.unit_toml_page`.

The file lies in the unit's folder and is TOML in UTF-8. A key that is not known, a value that is not allowed or a limit
without a source refuses the whole file; every fault of it is told at once, with its place. An example with every
kind of table:

```toml
{example}```

What the checks are called and made from: [records.md](records.md).
"""
_LIMITS: Final = """A tag's limit set is the one that the register's column `limits` names; where that is blank, the one
named as its `duty`. A limit is written `check = { max = 1.0, source = "..." }`, in the check's own unit.
Exactly one form is given. A check with a value and without a limit is `information`; a limit without a value is a gap,
never a pass."""
_FORMS: Final = """The forms that each check takes. `max` or `min` alone would leave the other side of a two-sided
quantity open: it is refused. `plus_minus` of a magnitude means `max`."""
_EVIDENCE: Final = """What must be recorded before a check can pass. These are the defaults (House definition); a limit
set departs from them in its own table, check by check, with the document that allows it:
`[limits.<set>.evidence]`, then `inaccuracy = { commands = 5, gap_pct = 30, source = "..." }`."""
_SCATTER: Final = """How much a single reading of a class of valves scatters. It stands in where a record has no
repeats of its own, and gives way to larger repeats of the unit itself. Written in `[scatter]` the keys are of
{general}, in % of travel. Each may have a table of its own instead, such as
`[scatter.position]`; the strokes always have one."""
_RECORDINGS: Final = """How the files of a logger are read that have headings of their own: one table a layout. A file
is read by the first table whose pattern it fits and whose headings it has, else as [recordings.md](recordings.md) says;
it may end in anything, also in `.xlsx`. Nothing but the named columns is read, and the tag's page says by which table a
recording was read, from what, and who confirmed it. `strokebook check` proposes a table for a file that it does not
know, from its contents."""
_CHANNELS: Final = "Each of {channels} that was recorded, position or feedback among them."
_SWITCHES: Final = """Of `closed_switch` and `open_switch`:"""
_TESTS: Final = """What `tests` may ask for, each with the checks that are reported where it was not made."""


def unit_toml_page() -> str:
    """The whole page."""
    rules = [f"- `{rule}`: {rule_words(rule)}" for rule in DECISION_RULES]
    general = [name for name, unit in SCATTERS.items() if unit == SCATTERS["position"]]
    parts = [f"- `[scatter.{name}]`: [{unit}]" for name, unit in SCATTERS.items()]
    tests = [f"- `{test}`: {', '.join(dict.fromkeys(f'`{check}`' for check, _ in REPORTED[test]))}" for test in TESTS]
    return "\n".join(
        [
            _INTRODUCTION.replace("{example}", EXAMPLE),
            *_section("Keys at the top", _keys(UNIT_KEYS, _defaults())),
            *_section("Decision rules", [_RULES_HEAD, "", *rules]),
            *_section("Limit sets: `[limits.<set>]`", [_LIMITS, "", *_keys(SET_KEYS), "", *_keys(LIMIT_KEYS)]),
            *_section("Forms of a limit", [_FORMS, "", *_forms()]),
            *_section("Evidence", [_EVIDENCE, "", *_needs(), "", *_keys({**EVIDENCE_KEYS, "source": EVIDENCE_SOURCE})]),
            *_section("Scatter", [_SCATTER.replace("{general}", _and(general)), "", *_keys(SCATTER_KEYS), "", *parts]),
            *_section("Recordings: `[[recordings]]`", [_RECORDINGS, "", *_keys(RECORDING_KEYS)]),
            *_section("`time` of a recording", _keys(TIME_KEYS)),
            *_section("`channels` of a recording", _channels()),
            *_section("Tests", [_TESTS, "", *tests]),
        ]
    )


def _channels() -> list[str]:
    head = _CHANNELS.replace("{channels}", _and(f"`{name}`" for name in CHANNEL_COLUMNS))
    return [head, "", *_keys(CHANNEL_KEYS), "", _SWITCHES, "", *_keys(SWITCH_KEYS)]


def _section(title: str, lines: Iterable[str]) -> list[str]:
    return [f"## {title}", "", *lines, ""]


def _keys(keys: Mapping[str, Key], defaults: Mapping[str, str] | None = None) -> list[str]:
    """One row a key; one in bold must be there."""
    heads = ["key", "holds", *(["without it"] if defaults is not None else []), "meaning"]
    lines = [_line(heads), _line(["---"] * len(heads))]
    for name, key in keys.items():
        cells = [f"**{name}**" if key.needed else name, "tables" if key.kind == "tables" else _allowed(key)]
        lines.append(_line([*cells, *([defaults[name]] if defaults is not None else []), _meaning(key)]))
    return lines


def _allowed(key: Key) -> str:
    if key.kind == "texts" and key.words:
        return f"{key.allowed}, each a [test](#tests)"
    return key.allowed


def _meaning(key: Key) -> str:
    return f"{key.about} `{key.example}`" if key.example else key.about


def _defaults() -> dict[str, str]:
    """What stands where a key is not given."""
    found = {each.name: each.default for each in fields(UnitSettings)}
    return {
        name: f"`{found[name]}`" if found.get(name, MISSING) not in (MISSING, None, "", ()) else "–"
        for name in UNIT_KEYS
    }


def _forms() -> list[str]:
    lines = [_line(["check", "unit", "plus_minus from", "forms"]), _line(["---"] * 4)]
    for check in CHECKS.values():
        lines.append(_line([f"`{check.name}`", check.measure, _target(check), _written(check)]))
    return lines


def _target(check: Check) -> str:
    return TARGET_WORDS[check.target] if "plus_minus" in forms_of(check) and not check.is_magnitude else "–"


def _written(check: Check) -> str:
    forms = [f"`{form}`" if form != "min and max" else "`min` with `max`" for form in forms_of(check)]
    return ", ".join(form + (" (is `max`)" if form == "`plus_minus`" and check.is_magnitude else "") for form in forms)


def _needs() -> list[str]:
    lines = [_line(["check", "needs"]), _line(["---"] * 2)]
    for check, needs in NEEDS.items():
        on_off = f"; duty on_off: {_values(NEEDS_ON_OFF[check])}" if check in NEEDS_ON_OFF else ""
        lines.append(_line([f"`{check}`", f"{_values(needs)}{on_off}"]))
    return lines


def _values(needs: Mapping[Need, float]) -> str:
    return ", ".join(f"`{need}` = {value:g}" for need, value in needs.items())


def _and(names: Iterable[str]) -> str:
    *first, last = names
    return f"{', '.join(first)} and {last}"


def _line(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


if __name__ == "__main__":
    (GUIDE / "unit-toml.md").write_text(unit_toml_page(), encoding="utf-8")
