"""The unit.toml of a new unit: every key explained where it stands, every limit a placeholder."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from kit.basis.checks import CHECKS
from kit.basis.evidence import NEEDS
from kit.basis.recording_maps import CHANNEL_COLUMNS
from kit.basis.settings import SCATTERS
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
from kit.starting.usual_limits import RECORDED_LIMITS, SOURCE, USUAL_LIMITS, USUAL_TESTS, Usual

_WIDTH: Final = 100
_EXAMPLES: Final[Mapping[str, str]] = {  # of keys whose own example is an invented unit's, or that have none
    "site": '"Site"',
    "document": '"{unit}-{tag}-STROKE"',
    "revision": '"A"',
    "notice": '"Trial"',
    "decision_rule": '"by_ratio"',
    "coverage_probability": "0.9545",
    "prechecks": '["mounting", "wiring", "interlocks"]',
}
_HEAD: Final = """\
What this unit is called, what its valves are held against, and how its files are read. Every key stands here with \
what it means; a line that begins with # says nothing until the # is taken away. Read by `strokebook check`, which \
tells every fault of it at once."""
_LIMITS: Final = """\
A tag's limit set is the one that the register's column limits names; where that is blank, the one named as its \
duty. A tag of a safety function has none unless the register names one: write its limits from its safety \
requirements, under a name of their own.
Every number below is a placeholder: common practice, of no source. By a placeholder a check can fail and cannot \
pass. The responsible engineer confirms a limit by putting the project's number and document in its place and \
deleting `, placeholder = true`. A check that nobody needs is taken out with its line.
A limit has exactly one form, in the check's own unit, and these keys:"""
_RECORDED: Final = "Where recordings are made (a limit that no record answers is a gap, never a pass):"
_EVIDENCE: Final = "How much must be recorded before a check can pass, where a document allows another amount. Checks: "
_SCATTER: Final = """\
The scatter of a class of valves: it stands in where a record has no repeats of its own. In [scatter] the keys are of \
all that is in % of travel; each may have a table of its own, as the strokes always have. Keys:"""
_RECORDINGS: Final = """\
A logger's files with headings of their own, one table a layout. `strokebook check` proposes one for files that it \
does not know. Keys:"""


def unit_toml(title: str, own_columns: Iterable[str] = ()) -> str:
    """The text of unit.toml. ``own_columns``: headings of the register that are the plant's own."""
    given = {"title": _text(title), "own_columns": _list(own_columns)}
    lines = [*_comment(_HEAD), ""]
    for name, key in UNIT_KEYS.items():
        if key.kind != "tables":
            lines += [*_about(name, key), _line(name, key, given.get(name, "")), ""]
    lines += [*_comment(_LIMITS), *(line for name, key in LIMIT_KEYS.items() for line in _about(name, key)), ""]
    for name in USUAL_LIMITS:
        lines += [*_limit_set(name), ""]
    lines += [*_evidence(), "", *_scatter(), "", *_recordings()]
    return "\n".join(lines) + "\n"


def _limit_set(name: str) -> Iterator[str]:
    yield f"[limits.{name}]"
    yield from _comment(f"tests: {SET_KEYS['tests'].about} Words as above.")
    yield f"tests = {_list(USUAL_TESTS[name])}"
    for usual in USUAL_LIMITS[name]:
        yield from _limit(usual)
    yield from _comment(_RECORDED)
    for usual in RECORDED_LIMITS:
        yield from (line if line.startswith("#") else f"# {line}" for line in _limit(usual))
    limited = {usual.check for usual in (*USUAL_LIMITS[name], *RECORDED_LIMITS)}
    others = ", ".join(f"{check} ({' or '.join(forms_of(CHECKS[check]))})" for check in CHECKS if check not in limited)
    yield from _comment(f"Without a usual number, and judged where you give a limit: {others}.")


def _limit(usual: Usual) -> Iterator[str]:
    check = CHECKS[usual.check]
    unit = "% of its own time" if usual.form == "of_nominal_pct" else check.measure
    yield from _comment(f"{check.title} [{unit}]: {usual.about}.")
    yield f'{usual.check} = {{ {usual.form} = {usual.number:g}, source = "{SOURCE}", placeholder = true }}'


def _evidence() -> Iterator[str]:
    yield from _comment(f"{_EVIDENCE}{', '.join(NEEDS)}. Keys:")
    for name, key in {**EVIDENCE_KEYS, "source": EVIDENCE_SOURCE}.items():
        yield from _about(name, key)
    yield "# [limits.modulating.evidence]"
    yield '# inaccuracy = { commands = 5, gap_pct = 30, source = "Procedure, clause" }'


def _scatter() -> Iterator[str]:
    parts = ", ".join(f"[scatter.{name}] in {unit}" for name, unit in SCATTERS.items())
    yield from _comment(f"{_SCATTER.removesuffix(' Keys:')} Tables: {parts}. Keys:")
    for name, key in SCATTER_KEYS.items():
        yield from _about(name, key)
    yield from ("# [scatter]", "# value = 0.1", "# degrees_of_freedom = 30", '# source = "Type test, table"')


def _recordings() -> Iterator[str]:
    yield from _comment(_RECORDINGS)
    for name, key in RECORDING_KEYS.items():
        yield from _about(name, key)
    yield from _comment("Keys of time:")
    for name, key in TIME_KEYS.items():
        yield from _about(name, key)
    yield from _comment(f"Keys of each of channels ({', '.join(CHANNEL_COLUMNS)}), those of switches last:")
    for name, key in {**CHANNEL_KEYS, **SWITCH_KEYS}.items():
        yield from _about(name, key)
    yield from (
        "# [[recordings]]",
        '# files = "logs/*/*.txt"',
        '# source = "Channel list, page"',
        '# confirmed_by = "Name"',
        '# time = { heading = "Time", format = "s" }',
        "# [recordings.channels]",
        '# command = { heading = "AI 1", unit = "mA" }',
        '# position = { heading = "AI 2", unit = "deg" }',
    )


def _about(name: str, key: Key) -> list[str]:
    needed = ", needed" if key.needed else ""
    allowed = f"each one of {', '.join(key.words or TESTS)}" if key.kind == "texts" and key.words else key.allowed
    held = "tables" if key.kind == "tables" else allowed
    return _comment(f"{name} ({held}{needed}): {key.about}")


def _line(name: str, key: Key, value: str) -> str:
    return f"{name} = {value}" if value else f"# {name} = {_EXAMPLES.get(name, key.example)}"


def _comment(text: str) -> list[str]:
    return [
        f"# {line}"
        for paragraph in text.splitlines()
        for line in textwrap.wrap(paragraph, _WIDTH - 2, break_long_words=False, break_on_hyphens=False)
    ]


def _text(value: str) -> str:
    """A TOML basic string: JSON's escapes are TOML's too, but for the delete character."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")


def _list(values: Iterable[str]) -> str:
    texts = [_text(each) for each in values]
    return f"[{', '.join(texts)}]" if texts else ""
