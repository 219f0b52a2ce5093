"""Which strokes were made at the speed as left: by the table settings, else by the only speed there is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from kit.assessment.latest import latest_row
from kit.basis.rows import Rows

Direction = Literal["open", "close"]

SETTING: Final[dict[Direction, str]] = {"open": "speed_open_pct", "close": "speed_close_pct"}
WITHIN_PCT: Final = 0.5  # House definition: a speed setting is set to within this
_ROUNDING_PCT: Final = 1e-9
_PERCENT: Final = re.compile(r"(\d+(?:[.,]\d+)?)\s*%?")


@dataclass(frozen=True, slots=True)
class Speed:
    """A speed setting [%], or why it is not known; neither: nobody wrote it down under its name."""

    setting_pct: float | None = None
    why_not: str = ""
    otherwise: tuple[tuple[str, float], ...] = ()  # what other settings say of a speed, by their names [%]


def speed_as_left(settings: Rows, direction: Direction) -> Speed:
    """The speed setting that the stage was left with.

    Notes
    -----
    House definition: the setting is called speed_open_pct or speed_close_pct, in any letter case, with blanks or
    hyphens for underscores; of several rows the last one counts. What another setting with "speed" in its name says can
    keep strokes at another speed from passing, and never chooses between them.
    """
    name = SETTING[direction]
    rows = settings.where(np.array([_key(each) == name for each in settings["setting"].tolist()], dtype=bool))
    if not len(rows):
        return Speed(otherwise=_named_otherwise(settings, direction))
    last = latest_row(rows)
    if last is None and len({str(each).strip() for each in rows["value"].tolist()}) > 1:
        return Speed(None, f"settings has several values of {name} and no times to tell the last: write one")
    value = str(rows["value"][0 if last is None else last]).strip()
    read = _PERCENT.fullmatch(value)
    if read is None:
        return Speed(None, f"{name} in settings is {value!r}: write a number in %")
    return Speed(float(read.group(1).replace(",", ".")))


def _named_otherwise(settings: Rows, direction: Direction) -> tuple[tuple[str, float], ...]:
    other_way = "clos" if direction == "open" else "open"
    own_way = "open" if direction == "open" else "clos"
    found = []
    for name, value in zip(settings["setting"].tolist(), settings["value"].tolist(), strict=True):
        key, read = _key(name), _PERCENT.fullmatch(str(value).strip())
        is_other_way = key in SETTING.values() or (other_way in key and own_way not in key)
        if "speed" in key and read is not None and not is_other_way:
            found.append((str(name), float(read.group(1).replace(",", "."))))
    return tuple(found)


def chosen_speed(
    speeds: Sequence[float | None],
    left: Speed,
    direction: Direction,
    *,
    unknown: str,
    within_pct: float = WITHIN_PCT,
    elsewhere: Sequence[float] = (),
) -> tuple[int | None, str]:
    """Which of the speeds that strokes were made at is the one left, or why that is not known.

    Parameters
    ----------
    speeds : sequence of float or None
        One for each speed; None: the strokes do not say theirs.
    left : Speed
        As :func:`speed_as_left` gives it.
    unknown : str
        What is said where strokes that do not say their speed stand beside others.
    within_pct : float
        How far a stroke's speed may lie from the setting and still be it [%].
    elsewhere : sequence of float
        Speeds of further strokes of the stage that are judged by themselves: typed ones beside recorded ones.

    Notes
    -----
    House definition: the highest speed is not taken for the one left, and a stroke that does not say its speed is at
    the one left only where there are no others.
    """
    if left.why_not:
        return None, left.why_not
    known = [each for each in speeds if each is not None]
    others = [each for each in elsewhere if all(abs(each - own) > within_pct + _ROUNDING_PCT for own in known)]
    if len(speeds) == 1 and (not known or left.setting_pct is None) and not others:
        return _the_only_one(known, left, direction, within_pct)
    named = [f"{each:.3g} %" for each in (*known, *others)]
    if len(known) < len(speeds):
        return None, unknown
    if left.setting_pct is None:
        return None, (
            f"strokes at several speeds ({', '.join(named)}) and none known as the one left: "
            f"write it in settings as {SETTING[direction]}"
        )
    apart = [abs(each - left.setting_pct) for each in known]
    nearest = min(range(len(apart)), key=apart.__getitem__)
    if apart[nearest] <= within_pct + _ROUNDING_PCT:
        return nearest, ""
    return None, (
        f"strokes at {' and '.join(named)}, and {SETTING[direction]} in settings is {left.setting_pct:g}: "
        f"time one at {left.setting_pct:g} %"
    )


def _the_only_one(
    known: Sequence[float], left: Speed, direction: Direction, within_pct: float
) -> tuple[int | None, str]:
    for name, setting_pct in left.otherwise:
        if any(abs(each - setting_pct) > within_pct + _ROUNDING_PCT for each in known):
            return None, (
                f"strokes at {known[0]:.3g} %, and settings has {name!r} at {setting_pct:g} %: "
                f"write the speed left as {SETTING[direction]}, and time one at it"
            )
    return 0, ""


def _key(name: str) -> str:
    return re.sub(r"[\s-]+", "_", str(name).strip().casefold())
