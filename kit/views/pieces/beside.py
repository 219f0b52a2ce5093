"""What stands beside a check's value, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from kit.views.pieces.numbers import number


def extremes_text(values: Mapping[str, float]) -> str:
    """The greatest positive and the greatest negative beside a value.

    Examples
    --------
    >>> extremes_text({"greatest_positive": 0.52, "greatest_negative": -0.1}), extremes_text({})
    ('greatest +0.52 and −0.10', '')
    """
    known = [number(values[name], 2, sign=True) for name in _EXTREMES if name in values]
    return f"greatest {' and '.join(known)}" if known else ""


def beside_text(values: Mapping[str, float]) -> str:
    """The figures beside a value that say more than its place does; the rest is left to the tables of the tests.

    Examples
    --------
    >>> beside_text({"greatest": 0.54, "trials": 2.0, "by_ramp": 0.55, "by_small_steps": 0.5})
    'greatest 0.54, by ramps 0.55, by small steps 0.50'
    >>> beside_text({"duty_pct": 40.9, "times_full_speed": 2.44})
    'about 2.4 times as long as in one go'
    """
    return ", ".join(words.format(number(values[name], decimals)) for name, words, decimals in _WORDS if name in values)


_EXTREMES: Final = ("greatest_positive", "greatest_negative")
_WORDS: Final = (
    ("greatest", "greatest {}", 2),
    ("by_ramp", "by ramps {}", 2),
    ("by_small_steps", "by small steps {}", 2),
    ("times_full_speed", "about {} times as long as in one go", 1),
    ("running_share_pct", "moving {} % of the time", 1),
    ("seen_one_way_only", "{} more one way only", 0),
)
