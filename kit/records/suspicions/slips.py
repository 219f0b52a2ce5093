"""What one slip of the keyboard makes of a number, undone."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise


def slips(value: float) -> Iterator[tuple[float, str]]:
    """What may have been meant by ``value``, and by which slip it came about.

    Examples
    --------
    >>> [meant for meant, _ in slips(12.48)][:3]
    [21.48, 14.28, 12.84]
    """
    text = repr(abs(value))
    sign = -1.0 if value < 0 else 1.0
    digits = [place for place, mark in enumerate(text) if mark.isdigit()]
    for one, other in pairwise(digits):
        if text[one] != text[other]:
            marks = list(text)
            marks[one], marks[other] = marks[other], marks[one]
            yield sign * float("".join(marks)), "two digits exchanged"
    for factor in (10.0, 0.1, 100.0, 0.01):
        yield value * factor, "the decimal point slipped"


def digit_slips(value: float) -> Iterator[tuple[float, str]]:
    """What may have been meant where a digit was typed twice, or left out.

    Examples
    --------
    >>> [meant for meant, slip in digit_slips(122.04) if slip == "a digit typed twice"]
    [12.04]
    >>> 45.3 in [meant for meant, slip in digit_slips(4.3) if slip == "a digit left out"]
    True
    """
    text = repr(abs(value)).removesuffix(".0")
    sign = -1.0 if value < 0 else 1.0
    for place in range(len(text) - 1):
        if text[place].isdigit() and text[place] == text[place + 1]:
            yield sign * float(text[:place] + text[place + 1 :]), "a digit typed twice"
    for place in range(len(text) + 1):
        for digit in "0123456789":
            made = text[:place] + digit + text[place:]
            if not (made.startswith("0") and made[1:2] != "."):
                yield sign * float(made), "a digit left out"


def meant_by(value: float, low: float, high: float) -> tuple[float, str] | None:
    """The one number between ``low`` and ``high`` that one slip makes ``value`` of, and the slip.

    Notes
    -----
    House definition: two numbers of exchanged digits or a slipped point that explain it explain nothing; of one such
    and one with a digit typed twice the nearer to the middle counts, and of left out digits, which are asked for last
    and leave a whole row of numbers, the nearest.

    Examples
    --------
    >>> meant_by(14.28, 12.3, 12.6), meant_by(50.0, 61.0, 62.0)
    ((12.48, 'two digits exchanged'), None)
    """
    middle = (low + high) / 2.0
    classic = {round(meant, 9): (meant, how) for meant, how in slips(value) if low <= meant <= high}
    if len(classic) > 1:
        return None
    others = [each for each in digit_slips(value) if low <= each[0] <= high]
    twice = [each for each in others if each[1] == "a digit typed twice"]
    fitting = [*classic.values(), *twice] or others
    return min(fitting, key=lambda each: (abs(each[0] - middle), each[0]), default=None)
