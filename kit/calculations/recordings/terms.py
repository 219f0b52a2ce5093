"""What sampling and noise add to a quantity drawn from a recording, and the mean of several of one kind."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import Final

from kit.basis.quantity import Component, Quantity
from kit.calculations.uncertainty import rectangular, type_a

_RECORDER: Final = "recorder, "


def sampling(half_width: float, unit: str, what: str) -> Component:
    """The figure lies within ``half_width`` because nothing was recorded in between.

    References
    ----------
    JCGM 100:2008, 4.3.7.

    Examples
    --------
    >>> round(sampling(0.05, "s", "command step").standard_uncertainty, 4)
    0.0289
    """
    return rectangular(f"sampling, {what}", half_width, unit)


def noise(standard_deviation: float, unit: str, what: str) -> Component:
    """What the noise of a channel leaves open.

    References
    ----------
    JCGM 100:2008, 4.2.3. **House definition**: the noise is estimated from the whole recording, so that
    its degrees of freedom are taken as infinite.

    Examples
    --------
    >>> noise(0.02, "%", "travel at rest").standard_uncertainty
    0.02
    """
    return type_a(f"noise, {what}", standard_deviation, unit, float("inf"))


def recorder(standard_deviation: float, unit: str, what: str) -> Component:
    """What the recorder leaves open in every determination alike: its filters, its step, its wander.

    References
    ----------
    JCGM 100:2008, 4.2.3 and 5.2.2: what is common to repeats does not shrink in their mean. **House definition**: as
    :func:`noise`.

    Examples
    --------
    >>> recorder(0.01, "%", "travel at rest").name
    'recorder, travel at rest'
    """
    return type_a(f"{_RECORDER}{what}", standard_deviation, unit, float("inf"))


def mean_of(figures: Sequence[Quantity], unit: str, *, with_scatter: bool = True) -> Quantity:
    """Mean of several determinations of one figure; figures without a value are left out.

    ``with_scatter``: whether their own scatter is among the components; if not, it is for the budget to add.

    Returns
    -------
    Quantity
        The components of one typical determination (the largest of each kind) divided by the root of
        their number, but for what the recorder does in all alike, beside the scatter of the mean. None where no figure
        has a value.

    References
    ----------
    JCGM 100:2008, 4.2.1 and 4.2.3.

    Examples
    --------
    >>> mean_of([Quantity(10.0), Quantity(10.2)], "s").value
    10.1
    """
    known = [each for each in figures if each.value is not None]
    if not known:
        return Quantity(None, figures[0].why_not if figures else "none recorded")
    values = [each.value for each in known if each.value is not None]
    count = len(values)
    centre = sum(values) / count
    components = tuple(each if each.name.startswith(_RECORDER) else _shrunk(each, count) for each in _largest(known))
    if count > 1 and with_scatter:
        scatter = sqrt(sum((value - centre) ** 2 for value in values) / (count - 1) / count)
        components += (type_a("scatter of the repeats, standard deviation of the mean", scatter, unit, count - 1),)
    return Quantity(
        centre, at_s=known[0].at_s, components=components, relies_on=known[0].relies_on, averaged=not with_scatter
    )


def _largest(figures: Sequence[Quantity]) -> list[Component]:
    found: dict[str, Component] = {}
    for figure in figures:
        for each in figure.components:
            if each.name not in found or each.standard_uncertainty > found[each.name].standard_uncertainty:
                found[each.name] = each
    return list(found.values())


def _shrunk(component: Component, count: int) -> Component:
    return Component(
        component.name,
        component.instrument,
        component.value,
        component.unit,
        component.distribution,
        component.divisor,
        component.sensitivity / sqrt(count),
        component.degrees_of_freedom,
    )
