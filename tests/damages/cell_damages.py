"""Damages of one cell: what stands there afterwards can no longer be read for what it was."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from random import Random
from typing import Final

from tests.damages.damage import Damage, Damager, Spot, draw_cell, kind_of
from tests.damages.made_files import MadeUnit, is_number

_ILLEGIBLE: Final = ("???", "#REF!", "stuck", "see sheet 2", "12.3.4", "illegible", "NaN", "inf", "1e", "--")
_BLANK: Final = ("", "", "", " ", "-", "n/a", "not tested")
_WORDS: Final = ("shut?", "ys", "no idea", "opn/close", "upp", "X", "as_lft", "maybe")
_DATES: Final = ("30/04/2026", "2026-04-3O", "2026-13-41", "end of April", "26-4-30", "2026")

# Columns whose blank has a meaning of its own, so that a blank is no damage.
_BLANK_MEANS: Final = frozenset(
    {"stage", "cycle", "from_pct", "to_pct", "rangeability", "action", "characteristic", "limits", "at"}
    | {"safety_function", "fail_action_supply", "as_left_from", "continues", "duty", "motion", "setting"}
    | {"checked_on"}
    | {"accuracy_pct_reading", "accuracy_pct_range", "accuracy_fixed", "due_on", "calibrated_on"}
    | {"range_low", "range_high", "resolution"}
)
_IN_A_NUMBER: Final[Mapping[str, str]] = {"0": "O", "1": "l", "5": "S"}


def _number(spot: Spot) -> bool:
    return kind_of(spot) == "number" and is_number(spot.text)


def _any(spot: Spot) -> bool:
    return True


def _name(spot: Spot) -> bool:
    return kind_of(spot) == "text" and spot.heading != "tag"


def _changing(kind: str, wanted: Callable[[Spot], bool], change: Callable[[str, Random], str | None]) -> Damager:
    """A damager that puts another text into a cell."""

    def damage(unit: MadeUnit, rng: Random) -> Damage | None:
        spot = draw_cell(unit, rng, wanted)
        text = change(spot.text, rng) if spot else None
        if spot is None or text is None or text == spot.text:
            return None
        found = Damage(f"cell {kind}", f"{spot.place()} -> {text!r}", spot.reach(unit))
        spot.line.cells[spot.column] = text
        return found

    return damage


def _letter(text: str, rng: Random) -> str | None:
    places = [place for place, sign in enumerate(text) if sign in _IN_A_NUMBER]
    if not places:
        return None
    place = rng.choice(places)
    return text[:place] + _IN_A_NUMBER[text[place]] + text[place + 1 :]


def _decimal_comma(text: str, rng: Random) -> str | None:
    return text.replace(".", ",") if "." in text else None


def _thousands(text: str, rng: Random) -> str | None:
    return re.sub(r"^(-?\d)(\d{3})", r"\1'\2", text) if re.match(r"^-?\d{4}", text) else f"{text} 000"


def _slip(text: str, rng: Random) -> str:
    """One letter left out, doubled or another in its place."""
    place = rng.randrange(len(text))
    kind = rng.choice(("out", "double", "other"))
    if kind == "out" and len(text) > 1:
        return text[:place] + text[place + 1 :]
    other = text[place] if kind == "double" else rng.choice("QWXZ7#")
    return text[:place] + other + text[place + (kind != "double") :]


def _tag_slip(unit: MadeUnit, rng: Random) -> Damage | None:
    spot = draw_cell(unit, rng, lambda spot: spot.heading == "tag")
    text = _slip(spot.text, rng) if spot else ""
    if spot is None or text in unit.tags or not text:
        return None
    found = Damage("cell tag mistyped", f"{spot.place()} -> {text!r}", spot.reach(unit))
    spot.line.cells[spot.column] = text
    return found


CELL_DAMAGES: Final[tuple[Damager, ...]] = (
    _changing("illegible", lambda spot: kind_of(spot) != "text", lambda text, rng: rng.choice(_ILLEGIBLE)),
    _changing("blank", lambda spot: spot.heading not in _BLANK_MEANS, lambda text, rng: rng.choice(_BLANK)),
    _changing("blank", lambda spot: _number(spot) and spot.heading not in _BLANK_MEANS, lambda text, rng: ""),
    _changing("doubted", _any, lambda text, rng: rng.choice((f"{text}?", f"? {text}", f"{text} (?)", f"ca. {text}"))),
    _changing("letter for a digit", lambda spot: kind_of(spot) != "text", _letter),
    _changing("decimal comma", _number, _decimal_comma),
    _changing("thousands", _number, _thousands),
    _changing("percent", _number, lambda text, rng: f"{text}%"),
    _changing("another unit", _number, lambda text, rng: f"{text} {rng.choice(('min', 'kohm', 'psi', 'inch', 'bar'))}"),
    _changing("a bound", _number, lambda text, rng: f"{rng.choice('<>')}{text}"),
    _changing("two values", _number, lambda text, rng: f"{text}/{text}0"),
    _changing("unknown word", lambda spot: kind_of(spot) == "word", lambda text, rng: rng.choice(_WORDS)),
    _changing("mistyped word", lambda spot: kind_of(spot) == "word", _slip),
    _changing("mistyped name", _name, _slip),
    _changing("unknown date", lambda spot: kind_of(spot) in ("date", "time"), lambda text, rng: rng.choice(_DATES)),
    _changing("mistyped visit", lambda spot: spot.heading == "visit", _slip),
    _tag_slip,
)
