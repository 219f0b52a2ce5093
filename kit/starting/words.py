"""What plants call the register's columns and its words: only ever proposed, and confirmed by a person."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import cache
from typing import Final

from rapidfuzz import fuzz, process

from kit.basis.tables import TABLES
from kit.records.files.raw import header_key

Columns = tuple[str, ...]

STROKES: Final = ("stroke_time_open_s", "stroke_time_close_s")
_PARTED: Final = "; "
_ALIKE: Final = 88.0  # of 100: a letter or two of a heading apart
_HEADINGS: Final[Mapping[Columns, str]] = {  # parted by semicolons
    ("tag",): (
        "tag; tag no; tag number; tag name; valve tag; valve no; valve number; item; item no; "
        "item number; equipment no; equipment tag; device tag; instrument tag; loop tag; tag "
        "id"
    ),
    ("service",): ("service; service description; description; valve description; function; medium and function"),
    ("motion",): "motion; movement; valve motion; type of movement; valve type; actuator type",
    ("travel",): (
        "travel; rated travel; stroke; rated stroke; stroke length; angle; travel angle; "
        "opening angle; angle of rotation; lift"
    ),
    ("travel_unit",): "travel unit; unit of travel; stroke unit",
    ("duty",): ("duty; duty type; control type; type of control; operation; valve duty; control or on off"),
    ("command_range",): (
        "command; command range; command signal; control signal; input signal; input; signal; "
        "signal range; set point signal; setpoint; control input; demand signal; positioner "
        "input"
    ),
    ("feedback_range",): (
        "feedback; feedback range; feedback signal; position feedback; position signal; "
        "output signal; position output; position transmitter; actual value signal"
    ),
    ("action",): "action; acting; signal action; direct or reverse; positioner action",
    ("characteristic",): "characteristic; flow characteristic; valve characteristic; inherent characteristic",
    ("rangeability",): "rangeability; turndown",
    ("fail_action",): (
        "fail action; fail position; failure position; failure action; fail safe; fail safe "
        "position; fail; on loss of signal; loss of signal; signal failure; fail position on "
        "signal loss"
    ),
    ("fail_action_supply",): (
        "fail action supply; on loss of supply; loss of supply; on loss of power; loss of "
        "power; power failure; supply failure; fail position on power loss"
    ),
    (STROKES[0],): ("stroke time open; opening time; open time; time to open; stroke time opening; time open"),
    (STROKES[1],): ("stroke time close; closing time; close time; time to close; stroke time closing; time close"),
    STROKES: "stroke time; stroking time; operating time; travel time; running time",
    ("track_ohm",): "track; track resistance; potentiometer; feedback potentiometer; pot resistance",
    ("starts_per_hour_max",): "starts per hour; starts h; max starts per hour; switching frequency",
    ("safety_function",): "safety function; safety; safety related; sil; sif; safety instrumented",
    ("shut_below_pct",): "shut below; tight shut off below",
    ("open_above_pct",): "open above",
    ("limits",): "limit set; limits",
}
_WORDS: Final[Mapping[str, Mapping[str, str]]] = {
    "motion": {
        "rotary": "rotary; quarter turn; part turn; 1/4 turn; rotating; ball; butterfly; plug",
        "linear": "linear; globe; gate; rising stem; sliding; sliding stem",
    },
    "travel_unit": {
        "deg": "deg; °; degree; degrees",
        "mm": "mm; millimetre",
    },
    "duty": {
        "modulating": "modulating; mod; control; controlling; regulating; throttling; continuous",
        "on_off": "on off; on/off; onoff; isolating; isolation; open/close; open/closed; shut off",
    },
    "action": {
        "direct": "direct; direct acting; da; d; increase to open; normal",
        "reverse": "reverse; reverse acting; ra; r; increase to close; reversed; inverse",
    },
    "characteristic": {
        "linear": "linear; lin",
        "equal_percentage": "equal percentage; equal percent; equal %; eq %; eq. %; eq%; =%",
    },
    "fail_action": {
        "open": "open; fo; fail open; opens; fails open",
        "closed": "closed; fc; fail closed; fail close; close; closes; shut; fails closed",
        "hold": ("hold; fl; fail last; last; last position; stay; stay put; as is; fail as is; fai"),
    },
    "safety_function": {
        "yes": "yes; y; x; true; sil 1; sil 2; sil 3; sil1; sil2; sil3",
        "no": "no; n; false; none",
    },
}
_UNITS: Final[Mapping[str, tuple[str, ...]]] = {  # as they stand in headings and cells
    "deg": ("deg", "°", "º", "degree", "degrees"),
    "mm": ("mm",),
    "mA": ("ma",),
    "V": ("v", "vdc", "v dc"),
    "s": ("s", "sec", "secs", "seconds", "second"),
    "min": ("min", "minutes"),
    "Ω": ("ω", "ohm", "ohms"),
    "kΩ": ("kω", "kohm", "k"),
    "%": ("%", "pct"),
    "1/h": ("1/h", "/h", "per hour"),
}
_UNITS_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "travel": ("deg", "mm"),
    "command_range": ("mA", "V"),
    "feedback_range": ("mA", "V"),
    **dict.fromkeys(STROKES, ("s",)),
    "track_ohm": ("Ω",),
    "starts_per_hour_max": ("1/h",),
    "shut_below_pct": ("%",),
    "open_above_pct": ("%",),
}
_IN_BRACKETS: Final = re.compile(r"\s*[\[(]\s*([^\])]+?)\s*[\])]\s*$")
_AT_THE_END: Final = re.compile(r"(?:\s+in\s+|,\s*|\s+|_)(deg|degrees|°|mm|ma|sec|s|min|ohm)\s*$", re.IGNORECASE)


def column_meant(heading: str) -> Columns:
    """The columns of the register that a heading may well be; (): none comes near.

    Examples
    --------
    >>> column_meant("Tag No."), column_meant("STROKE [mm]"), column_meant("Stroke time (s)")
    (('tag',), ('travel',), ('stroke_time_open_s', 'stroke_time_close_s'))
    >>> column_meant("Fail pos."), column_meant("Remarks")
    (('fail_action',), ())
    """
    key = header_key(heading)
    if key in TABLES["tags"].columns:
        return (key,)
    name = _folded(without_unit(heading)[0])
    by_words = _by_words()
    if name in by_words:
        return by_words[name]
    found = process.extractOne(name, list(by_words), scorer=fuzz.token_sort_ratio, score_cutoff=_ALIKE)
    short = next((words for words in by_words if len(name) > 5 and words.startswith(name)), None)
    return by_words[found[0]] if found else by_words[short] if short else ()


def without_unit(heading: str) -> tuple[str, str]:
    """A heading without the unit at its end, and that unit; "" where it has none.

    Examples
    --------
    >>> without_unit("Travel [°]"), without_unit("Opening time s"), without_unit("Position")
    (('Travel', 'deg'), ('Opening time', 's'), ('Position', ''))
    """
    for pattern in (_IN_BRACKETS, _AT_THE_END):
        match = pattern.search(heading)
        unit = unit_meant(match[1]) if match else ""
        if match and unit:
            return heading[: match.start()].strip(), unit
    return heading.strip(), ""


def unit_meant(text: str) -> str:
    """A unit as this project writes it; "" for none that is known."""
    folded = text.strip().casefold().rstrip(".")
    return next((unit for unit, words in _UNITS.items() if folded in words), "")


def word_meant(column: str, cell: str) -> str:
    """The word of a column that a cell may well mean; "": none is known."""
    folded = " ".join(cell.casefold().replace("-", " ").replace("_", " ").split())
    words = _WORDS.get("fail_action" if column == "fail_action_supply" else column, {})
    return next((word for word, known in words.items() if folded in known.split(_PARTED)), "")


@cache
def known_words() -> frozenset[str]:
    """Every heading that is known, as headings are compared."""
    return frozenset(header_key(each) for words in _HEADINGS.values() for each in words.split(_PARTED))


@cache
def _by_words() -> Mapping[str, Columns]:
    return {_folded(each): columns for columns, words in _HEADINGS.items() for each in words.split(_PARTED)}


def _folded(heading: str) -> str:
    plain = unicodedata.normalize("NFKD", heading.casefold())
    return " ".join("".join(char if char.isalnum() else " " for char in plain).split())


def unit_fits(column: str, unit: str) -> bool:
    """Whether a column may hold numbers of a unit; "" is none stated. Nothing is ever converted."""
    wanted = _UNITS_OF.get(column)
    return not unit or (wanted is not None and unit in wanted)
