"""The subjects of assessment, one module each: which columns, which calculation, which instruments, which tests."""

from typing import Final

from kit.assessment.subjects.dynamics import DYNAMICS
from kit.assessment.subjects.electrical import ELECTRICAL
from kit.assessment.subjects.feedback import FEEDBACK
from kit.assessment.subjects.loop import LOOP
from kit.assessment.subjects.loss import LOSS
from kit.assessment.subjects.position import POSITION
from kit.assessment.subjects.potentiometer import POTENTIOMETER
from kit.assessment.subjects.prechecks import PRECHECKS
from kit.assessment.subjects.strokes import STROKES
from kit.assessment.subjects.subject import Asked, Feed, Subject
from kit.assessment.subjects.switches import SWITCHES
from kit.basis.checks import CheckName

SUBJECTS: Final = (
    POSITION,
    FEEDBACK,
    STROKES,
    LOSS,
    SWITCHES,
    POTENTIOMETER,
    ELECTRICAL,
    LOOP,
    PRECHECKS,
    DYNAMICS,
)
_SUBJECT_OF: Final[dict[CheckName, Subject]] = {check: each for each in SUBJECTS for check in each.checks}
_FEED_OF: Final[dict[CheckName, Feed]] = {feed.check: feed for each in SUBJECTS for feed in each.feeds}
SUBJECT_OF_TEST: Final[dict[str, Subject]] = {test: each for each in SUBJECTS for test in each.missing}
MISSING: Final[dict[str, Asked]] = {test: asked for each in SUBJECTS for test, asked in each.missing.items()}


def table_of(check: CheckName) -> str:
    """The table that a check is made from."""
    return _SUBJECT_OF[check].table


def subject_of(check: CheckName) -> Subject:
    """The subject that a check belongs to."""
    return _SUBJECT_OF[check]


def feed_of(check: CheckName) -> Feed:
    """What a check is made from."""
    return _FEED_OF[check]


def action_of(check: CheckName) -> str:
    """What is usually looked at first where a check fails: common practice, no source; to be confirmed on site."""
    return _FEED_OF[check].action or _SUBJECT_OF[check].action
