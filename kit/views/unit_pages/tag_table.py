"""The table of a unit's tags, and what its rows can be chosen by."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from kit.assessment.shown.made_again import due_by_month, due_of, month_of, tags_due
from kit.assessment.shown.unit_exceptions import by_cause
from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.basis.checks import CHECKS, CheckName
from kit.basis.verdicts import CHECK_VERDICTS, TAG_VERDICTS
from kit.views.pieces.parts import attribute
from kit.views.pieces.rounding import share_text
from kit.views.pieces.text_tables import Verdict, verdict_of
from kit.views.unit_pages.panels import NONE_CODE, Choice, Panel, Rows, choice, codes, split

_HEADS: Final[tuple[tuple[str, str, str], ...]] = (
    ("tag", "Tag", ""),
    ("verdict", "Verdict", "word"),
    ("service", "Service", ""),
    ("visit", "Visit", ""),
    ("date", "Date", ""),
    ("due", "Due again (proposal)", ""),
    ("revision", "Revision", ""),
    ("deciding", "Deciding check", ""),
    ("nearest", "Nearest to its limit", ""),
    ("share", "Share", "n"),
)
NO_VERDICT: Final = "none"  # in the address
_ORDER: Final = (*TAG_VERDICTS, "")
_FIELDS: Final = ("verdict", "check", "ended", "instrument", "technician", "cause", "due")
_OWN_NAMES: Final = ("find", "sort", "rows", *_FIELDS)
_MOST_OPTIONS: Final = 1000  # House definition: a list that is longer is no help; the field Find reads the column too


@dataclass(frozen=True, slots=True)
class TagRow:
    """One row of the table. ``own``, ``has`` and ``checks`` are the codes that it is chosen by."""

    tag: str
    report: str
    service: str
    further: str  # the register's own columns, in words
    verdict: Verdict
    verdict_code: str
    visit: str
    date: str
    due: str  # the day that is proposed; "": none is
    revision: str
    issues: str  # which revisions are superseded, or what a draft differs in, in small
    check: str
    nearest: str
    share: str
    share_key: str
    own: str
    has: str  # of its instruments, its technician, its causes, the month that is proposed
    checks: str


@dataclass(frozen=True, slots=True)
class TagTable:
    """The table of tags."""

    panel: Panel
    rows: Rows[TagRow]
    heads: tuple[tuple[str, str, str], ...]
    issues: bool  # whether any page was ever issued: only then is there a column of revisions
    dues: bool  # whether a day is proposed for any tag


def tag_table(results: UnitResults) -> TagTable:
    """Every tag of the register, and the fields that choose among them."""
    fields = _fields(results)
    offered = [each for each in (*fields[:3], *_columns(results.tags), *fields[3:]) if each.options]
    panel = Panel("tags", "Tags", "tags", len(results.tags), choices=tuple(offered))
    checks, columns = _checks(results.tags), [(each.label, codes(each)) for each in _columns(results.tags)]
    known = {each.name: codes(each) for each in fields}
    rows = [_row(line, known, checks, columns) for line in results.tags]
    issued = any(line.result.get("issue", {}).get("standing", "draft") != "draft" for line in results.tags)
    dues = any(row.due for row in rows)
    left_out = {"revision": not issued, "due": not dues}
    heads = tuple(each for each in _HEADS if not left_out.get(each[0]))
    return TagTable(panel, split(rows), heads, issued, dues)


def _fields(results: UnitResults) -> list[Choice]:
    """What tags are chosen by, apart from the register's own columns."""
    tags = results.tags
    checks = [(name, CHECKS[name].title) for name in _checks(tags)]
    persons = sorted(filter(None, {str(line.result.get("technician", "")) for line in tags}))
    causes = [each.cause for each in by_cause(tags)]
    months = [each.month for each in due_by_month(tags_due(tags))]
    return [
        choice("verdict", "Verdict", "verdict", "is", _verdicts(tags), words=True),
        choice("check", "Check", "checks", "place", checks),
        choice("ended", "Check ended as", "checks", "state", _ends(tags)),
        choice("instrument", "Instrument", "has", "has", _same(_instruments(results))),
        choice(
            "technician", "Technician", "has", "has", _same(persons if len(persons) <= _MOST_OPTIONS else []), mark="p"
        ),
        choice("cause", "Probable cause", "has", "has", _same(causes), mark="c"),
        choice("due", "Due again in (proposal)", "has", "has", _same(months), mark="d"),
    ]


def _row(
    line: TagLine,
    known: Mapping[str, Mapping[str, str]],
    checks: Iterable[str],
    columns: Iterable[tuple[str, Mapping[str, str]]],
) -> TagRow:
    nearest = line.result.get("nearest") or {}
    worst = str(line.result.get("worst_check", ""))
    ended = line.result.get("checks", {})
    revision, issues = issue_cell(line.result.get("issue", {}))
    due = due_of(line.result)["due_proposed_on"]
    share = line.nearest_share
    return TagRow(
        tag=line.tag,
        report=attribute(line.report),
        service=line.service,
        further=", ".join(f"{name} {value}" for name, value in line.further.items() if value),
        verdict=verdict_of(line.verdict),
        verdict_code=known["verdict"][line.verdict or NO_VERDICT],
        visit=str(line.result.get("visit", "")),
        date=str(line.result.get("date", "")),
        due=due,
        revision=revision,
        issues=issues,
        check=CHECKS[worst].title if worst in CHECKS else "",
        nearest=f"{nearest['title']} {nearest['value']}" if nearest else "",
        share="" if share is None else share_text(share),
        share_key="" if share is None else "Infinity" if share == float("inf") else f"{share:.6f}",
        own=" ".join(codes_of.get(line.further.get(name, ""), NONE_CODE) for name, codes_of in columns),
        has=" ".join(_has(line, due, known)),
        checks="".join(known["ended"][ended[name]] if name in ended else NONE_CODE for name in checks),
    )


def _has(line: TagLine, due: str, known: Mapping[str, Mapping[str, str]]) -> Iterator[str]:
    """The codes of what a tag has any number of."""
    named = {
        "instrument": [use["instrument"] for use in line.result.get("instruments", ())],
        "technician": [str(line.result.get("technician", ""))],
        "cause": line.result.get("causes", ()),
        "due": [month_of(due)],
    }
    return (known[field][each] for field, own in named.items() for each in dict.fromkeys(own) if each in known[field])


def issue_cell(issue: Mapping[str, Any]) -> tuple[str, str]:
    """The revision of a tag's page, and in small what it differs in and which revisions are superseded.

    Examples
    --------
    >>> issue_cell({"words": "revision B", "standing": "issued", "superseded": ["A"]})
    ('B', 'A superseded')
    """
    if not issue:
        return "", ""
    last = issue.get("last") or {}
    differs = f"differs from {last['revision']}: {issue['differs']}" if issue["standing"] == "differs" else ""
    damaged = "ledger or issued file damaged" if issue["standing"] == "damaged" else ""
    superseded = f"{', '.join(issue['superseded'])} superseded" if issue["superseded"] else ""
    return str(issue["words"]).removeprefix("revision "), "; ".join(filter(None, (differs, damaged, superseded)))


def own_name(column: str) -> str:
    """What one of the register's own columns is called in the address of a view."""
    return f"{column} (register)" if column in _OWN_NAMES else column


def _same(values: Iterable[str]) -> list[tuple[str, str]]:
    return [(value, value) for value in values]


def _verdicts(tags: Iterable[TagLine]) -> list[tuple[str, str]]:
    """All in their order, so that a code sorts as its verdict does; those that no tag has are left out."""
    present = {line.verdict for line in tags}
    return [(name or NO_VERDICT, verdict_of(name).word) for name in _ORDER if name in present]


def _ends(tags: Iterable[TagLine]) -> list[tuple[str, str]]:
    present = {verdict for line in tags for verdict in line.result.get("checks", {}).values()}
    return [(name, verdict_of(name).word) for name in CHECK_VERDICTS if name in present]


def _checks(tags: Iterable[TagLine]) -> list[CheckName]:
    present = {name for line in tags for name in line.result.get("checks", {})}
    return [name for name in CHECKS if name in present]


def _instruments(results: UnitResults) -> list[str]:
    used = {use["instrument"] for line in results.tags for use in line.result.get("instruments", ())}
    return sorted(filter(None, used.union(each.instrument for each in results.instruments)))


def _columns(tags: Iterable[TagLine]) -> list[Choice]:
    """The register's own columns: system, area, line, whatever a plant keeps there."""
    values: dict[str, set[str]] = {}
    for line in tags:
        for name, value in line.further.items():
            values.setdefault(name, set()).add(value)
    kept = [name for name, found in values.items() if len(found.difference(("",))) > 1 and len(found) <= _MOST_OPTIONS]
    return [
        choice(
            own_name(name),
            name,
            "own",
            "at",
            _same(sorted(filter(None, values[name]))),
            at=at,
        )
        for at, name in enumerate(kept)
    ]
