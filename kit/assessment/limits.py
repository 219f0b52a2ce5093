"""Which limits hold for a tag, and what they come to for one finding."""

from __future__ import annotations

from dataclasses import dataclass

from kit.assessment.conformity import Tolerance
from kit.assessment.finding import Finding
from kit.basis.checks import CHECKS, CheckName
from kit.basis.registers import Tag
from kit.basis.settings import Limit, LimitSet, UnitSettings


@dataclass(frozen=True, slots=True)
class Chosen:
    """The limit set of a tag, or why it has none."""

    limit_set: LimitSet | None
    why_not: str = ""


def limit_set_for(tag: Tag, settings: UnitSettings) -> Chosen:
    """The set that the register names; with a blank cell the set named as the tag's duty.

    A valve of a safety function needs one named: the limits of its duty are not those of its function.
    """
    if tag.safety_function and not tag.limits:
        return Chosen(None, "the register names no limit set, and a tag with a safety function needs one named there")
    name = tag.limits or tag.duty
    if name in settings.limit_sets:
        return Chosen(settings.limit_sets[name])
    known = ", ".join(settings.limit_sets) or "none"
    if tag.limits:
        return Chosen(
            None, f"the register names the limit set {tag.limits}, which unit.toml does not have (it has {known})"
        )
    return Chosen(
        None, f"the register names no limit set and unit.toml has none called after the duty (it has {known})"
    )


def limit_of(check: CheckName, tag: Tag, settings: UnitSettings) -> Limit | None:
    """The limit that a tag's limit set has on a check."""
    limit_set = limit_set_for(tag, settings).limit_set
    return None if limit_set is None else limit_set.limits.get(check)


def required_tests(tag: Tag, settings: UnitSettings) -> tuple[str, ...]:
    """What the tag must have: the tests of its limit set, else those of the unit."""
    limit_set = limit_set_for(tag, settings).limit_set
    return limit_set.tests if limit_set is not None and limit_set.tests else settings.tests


def placeholder_words(settings: UnitSettings) -> str:
    """What has to be said of limits that nobody has confirmed; "" where there are none.

    Examples
    --------
    >>> usual = Limit("inaccuracy", "common practice", plus_minus=2.0, placeholder_in="modulating")
    >>> sets = {"modulating": LimitSet("modulating", {"inaccuracy": usual}, ())}
    >>> placeholder_words(UnitSettings("north", "North", limit_sets=sets)).partition(". ")[0]
    'Limits that are placeholders: 1 of [limits.modulating]'
    """
    sets = settings.limit_sets.items()
    counts = {name: sum(bool(each.placeholder_in) for each in of.limits.values()) for name, of in sets}
    named = ", ".join(f"{count} of [limits.{name}]" for name, count in counts.items() if count)
    if not named:
        return ""
    return (
        f"Limits that are placeholders: {named}. No check passes by one until a responsible engineer confirms it and "
        "the word placeholder is deleted in unit.toml."
    )


def tolerance_for(limit: Limit, finding: Finding) -> tuple[Tolerance | None, str]:
    """The limits in the check's own unit, or None and why they cannot be worked out."""
    if limit.plus_minus is not None or limit.of_nominal_pct is not None:
        if finding.target is None:
            return None, _NO_TARGET[CHECKS[limit.check].target]
        half = (
            limit.plus_minus
            if limit.plus_minus is not None
            else abs(finding.target) * (limit.of_nominal_pct or 0) / 100
        )
        if CHECKS[limit.check].target == "starts_allowed":  # fewer starts than allowed are no deviation
            return Tolerance(None, finding.target + half), ""
        return Tolerance(finding.target - half, finding.target + half), ""
    return Tolerance(limit.minimum, limit.maximum), ""


_NO_TARGET = {
    "fail_action": "the register gives no fail action for this cause, or the position before the loss was not recorded",
    "restored_command": "the command after restoration was not recorded",
    "nominal_time": "the register gives no stroke time for this direction",
    "starts_allowed": "the register gives no starts_per_hour_max",
    "zero": "the check has no target",
    "one": "the check has no target",
    "closed_end": "the check has no target",
    "open_end": "the check has no target",
    None: "the check has no target to measure a plus-minus limit from",
}
