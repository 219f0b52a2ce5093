"""Judging: calculated values against limits, with their uncertainty, into verdicts.

``assess_tag`` comes with every calculation, so it is imported when it is first asked for: a batch, which only
collects what its notebooks judged, does without them.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from kit.assessment.tag import assess_tag

__all__ = ["assess_tag"]


def __getattr__(name: str) -> Any:
    if name != "assess_tag":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from kit.assessment.tag import assess_tag

    return assess_tag
