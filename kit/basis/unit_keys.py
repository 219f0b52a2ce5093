"""unit.toml: every key, what it may hold and what it means. Its reader and its page in the guide are made of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, get_args

from kit.basis.checks import Check
from kit.basis.recording_maps import CHANNEL_COLUMNS, DECIMALS, DELIMITERS, SECONDS, THOUSANDS
from kit.basis.settings import DECISION_RULES
from kit.basis.tables import TESTS

KeyKind = Literal["text", "texts", "number", "count", "flag", "heading", "headings", "tables"]
OneSided = Literal["min", "max"]
TwoSided = Literal["plus_minus", "of_nominal_pct"]
Form = OneSided | TwoSided | Literal["min and max"]
_IN_WORDS: Final[Mapping[KeyKind, str]] = {
    "texts": "a list of texts",
    "flag": "true or false",
    "heading": "a heading as it stands in the file, or the column's number counted from 1",
    "headings": "a heading or a column's number, or a list of these",
}
ONE_SIDED: Final[tuple[OneSided, ...]] = get_args(OneSided)
TWO_SIDED: Final[tuple[TwoSided, ...]] = get_args(TwoSided)


@dataclass(frozen=True, slots=True)
class Key:
    """One key of unit.toml. Where it has a default, that is the default of the setting it becomes."""

    kind: KeyKind
    about: str
    words: tuple[str, ...] = ()  # what a text may be, or each of the texts; (): any
    low: float | None = None  # least
    high: float | None = None  # greatest
    above: float | None = None  # what it has to be above
    below: float | None = None  # what it has to be below
    needed: bool = False
    example: str = ""  # as TOML

    @property
    def allowed(self) -> str:
        """What it may hold, in words."""
        if self.kind in _IN_WORDS:
            return _IN_WORDS[self.kind]
        if self.kind == "text":
            return f"one of {', '.join(self.words)}" if self.words else "a text"
        return " ".join(["a whole number" if self.kind == "count" else "a number", *self._bounds()])

    def holds(self, value: float) -> bool:
        """Whether a number lies within the bounds."""
        return (
            (self.low is None or value >= self.low)
            and (self.high is None or value <= self.high)
            and (self.above is None or value > self.above)
            and (self.below is None or value < self.below)
        )

    def _bounds(self) -> list[str]:
        words = {"from": self.low, "above": self.above, "to": self.high, "to below": self.below}
        return [f"{word} {bound:g}" for word, bound in words.items() if bound is not None]


UNIT_KEYS: Final[Mapping[str, Key]] = {
    "title": Key("text", "The unit's title; without it the name of its folder.", example='"Invented works, unit 10"'),
    "site": Key("text", "The site, for the head of every page."),
    "document": Key("text", "Pattern of the document number; `{tag}` and `{unit}` may stand in it."),
    "revision": Key("text", "Revision that a page is issued as first; `A` where it is not given. Later ones count on."),
    "notice": Key("text", "A line for the head of every page, such as that the unit is an example."),
    "decision_rule": Key("text", "How a verdict follows from value, limits and uncertainty.", words=DECISION_RULES),
    "coverage_probability": Key("number", "Coverage probability of printed uncertainties.", low=0.90, below=1),
    "tests": Key(
        "texts",
        "What a tag must have; a limit set may have its own.",
        words=TESTS,
        example='["strokes"]',
    ),
    "prechecks": Key("texts", "Items of prechecks that must be answered; none given: those recorded."),
    "retest_days": Key(
        "count",
        "The longest time until a tag is due again [d]; sooner where its own drift says so. Not given: by drift alone.",
        low=1,
        example="365",
    ),
    "own_columns": Key(
        "texts",
        "The plant's own columns in any table: not read, and no misspelt ones.",
        example='["photo_no"]',
    ),
    "limits": Key("tables", "The limit sets, each under [limits.<name>]."),
    "scatter": Key("tables", "The scatter of a class of valves, for where a record has no repeats of its own."),
    "recordings": Key("tables", "How the files of a logger are read, each under [[recordings]]."),
}
SET_KEYS: Final[Mapping[str, Key]] = {
    "tests": Key("texts", "What a tag of this set must have, in place of the unit's tests.", words=TESTS),
    "evidence": Key("tables", "How much must be recorded before a check can pass, where it departs from the defaults."),
}
LIMIT_KEYS: Final[Mapping[str, Key]] = {
    "plus_minus": Key("number", "How far the value may lie from what the check is measured from, either way.", low=0),
    "of_nominal_pct": Key("number", "The same in % of the tag's own nominal value.", low=0),
    "min": Key("number", "Least value."),
    "max": Key("number", "Greatest value."),
    "cycles": Key("count", "Of repeatability only: the cycles that the limit is stated for.", low=2),
    "source": Key("text", "The document that states it.", needed=True),
    "revision": Key("text", "Revision of that document."),
    "placeholder": Key(
        "flag",
        "true: a usual number that nobody has confirmed. By it a check can fail and cannot pass. Once the responsible "
        "engineer has confirmed the number the word is deleted.",
        example="true",
    ),
}
EVIDENCE_KEYS: Final[Mapping[str, Key]] = {
    "end_within_pct": Key(
        "number",
        "How near to an end a reading is one of it [% of command; potentiometer: of travel].",
        low=0,
        high=50,
    ),
    "commands": Key("count", "Least number of commands, both ends among them.", low=2),
    "gap_pct": Key("number", "Widest gap between neighbouring commands [% of command].", above=0, high=100),
    "both_ways": Key("count", "Least number of commands between the ends that were read both ways.", low=1),
    "cycles": Key("count", "Least number of cycles, where the limit names none.", low=2),
    "runs": Key("count", "Least number of runs each way.", low=1),
    "start_away_pct": Key(
        "number", "How far from the position expected a loss begins [% of travel].", above=0, high=50
    ),
    "positions": Key("count", "Least number of positions.", low=2),
    "outputs": Key("count", "Least number of station outputs, both ends among them.", low=2),
}
EVIDENCE_SOURCE: Final = Key("text", "The document that allows it.", needed=True)
SCATTER_KEYS: Final[Mapping[str, Key]] = {
    "value": Key("number", "Standard deviation of a single reading.", above=0, needed=True),
    "degrees_of_freedom": Key("number", "How much it rests on: repeats less groups.", low=1, needed=True),
    "source": Key("text", "Where it was found.", needed=True),
}
RECORDING_KEYS: Final[Mapping[str, Key]] = {
    "files": Key(
        "text",
        "Which files: a pattern of three parts, logs, the tag's folder and the file. `*` stands for anything.",
        needed=True,
        example='"logs/*/*.txt"',
    ),
    "source": Key("text", "What says so: the logger's setting, a drawing, who looked.", needed=True),
    "confirmed_by": Key(
        "text",
        "Who held it against the files. Until somebody did, no check that such a recording can answer passes.",
    ),
    "header_row": Key(
        "count",
        "The line of the headings, counted from 1; 0 for none. Without it, the line that holds them all.",
        low=0,
    ),
    "first_row": Key("count", "The line of the first sample. Without it, below the headings and their units.", low=1),
    "delimiter": Key(
        "text",
        "What parts the columns, blanks being one or more. Without it, what parts the headings.",
        words=tuple(DELIMITERS),
    ),
    "decimal": Key("text", "Decimal mark. Without it, as the numbers show.", words=tuple(DECIMALS)),
    "thousands": Key("text", "What parts the thousands, where something does.", words=tuple(THOUSANDS)),
    "sheet": Key("text", "The sheet of a workbook. Without it, the first visible one."),
    "visit": Key("text", "The visit, where the file's name does not say it."),
    "stage": Key("text", "The stage, where the file's name does not say it.", words=("as_found", "as_left")),
    "time": Key("tables", "The time of a sample.", example='{ heading = "Time", format = "s" }'),
    "channels": Key("tables", "The channels, each a table.", example='{ command = { heading = "AI 1", unit = "mA" } }'),
}
TIME_KEYS: Final[Mapping[str, Key]] = {
    "heading": Key("headings", "Its column; of date and time apart, both.", needed=True, example='["Date", "Time"]'),
    "format": Key(
        "text",
        f"How it is written: {', '.join(f'`{unit}`' for unit in SECONDS)}, `serial days` of a spreadsheet, `ISO 8601`, "
        "or a pattern of YYYY or YY, MM, MON, DD, HH, MM, SS, f (a digit of the second's fraction), AM, and the marks "
        "between them. MM after HH is minutes.",
        needed=True,
        example='"DD.MM.YYYY HH:MM:SS,fff"',
    ),
    "zone": Key("text", "Zone of the clock: UTC, an offset or a name.", example='"+01:00"'),
}
CHANNEL_KEYS: Final[Mapping[str, Key]] = {
    "heading": Key("heading", "Its column.", needed=True, example='"AI 1"'),
    "unit": Key(
        "text",
        "Unit of the value: "
        + "; ".join(f"{channel} {', '.join(units)}" for channel, units in CHANNEL_COLUMNS.items() if "" not in units)
        + ".",
    ),
    "scale": Key("number", "The value is the cell times this (1 without it) ..."),
    "offset": Key("number", "... plus this (0 without it)."),
}
SWITCH_KEYS: Final[Mapping[str, Key]] = {
    "heading": Key("heading", "Its column.", needed=True, example='"DI 1"'),
    "made": Key("text", "What the cell holds while the switch is made; without it 1.", example='"ON"'),
    "not_made": Key("text", "What it holds else; without it 0.", example='"OFF"'),
    "made_above": Key("number", "In place of these, where the cell is a level: made above it,"),
    "made_below": Key("number", "or made below it."),
}


def forms_of(check: Check) -> tuple[Form, ...]:
    """The forms that a limit of a check may have, the usual one first.

    Notes
    -----
    House definition: a limit that leaves one side of a two-sided quantity open is no limit of it.
    """
    if check.is_two_sided:
        return "plus_minus", "min and max"
    if check.is_magnitude:
        return "max", "plus_minus", "min and max"
    if check.target == "nominal_time":
        return "of_nominal_pct", "plus_minus", "max", "min", "min and max"
    if check.target == "starts_allowed":
        return "of_nominal_pct", "max", "min", "min and max"
    if check.signed:
        return "min", "min and max"
    return "max", "min", "min and max"
