"""Questions of the checks that decide: what is left, worst, near a limit or missing, and how well it was measured."""

from __future__ import annotations

from dataclasses import asdict
from typing import Final

import pandas as pd

from kit.assessment.conformity import TUR_TARGET
from kit.assessment.shown.punch_entries import by_tag, with_entries
from kit.assessment.wording import check_words
from kit.basis.verdicts import GAPS
from kit.frames import Frames
from kit.questions.answer import Answer, lengths, marks

_SHARE: Final = "share_of_tolerance_pct"
_FARTHEST_PCT: Final = 200.0  # where the figures end
_GREATEST_TUR: Final = 20.0
_ITEM: Final = (
    *("tag", "category", "check", "what", "evidence", "suggested_action"),
    *("owner", "closed_on", "closed_by", "remark", "state"),
)


def what_is_left(unit: Frames) -> Answer:
    """Every item of the punch lists with who has it, the gravest category first, and how many each tag has."""
    entries = by_tag(unit.punch)
    items = [
        item
        for _, assessment in unit.of_tags
        for item in with_entries(
            [asdict(each) for each in assessment.punch_list],
            entries.get(assessment.tag, ()),
            assessment.deciding.date if assessment.deciding else "",
        )
    ]
    frame = pd.DataFrame(items, columns=list(_ITEM)).sort_values("category", kind="stable", ignore_index=True)
    counts = frame["tag"].value_counts()
    words = "Items on the punch list of each tag, most first."
    return Answer(frame, lengths("What is left to do", words, "Items", list(counts.index), list(counts)))


def which_are_worst(unit: Frames) -> Answer:
    """The check of each tag that uses most of its tolerance, the worst tag first; infinite: beyond any share."""
    checks = _judged(unit).assign(used_pct=lambda rows: rows[_SHARE].abs())
    worst = checks.sort_values("used_pct", ascending=False, kind="stable").drop_duplicates("tag")
    kept = ["tag", "check", "detail", "value", "measure", "lower_limit", "upper_limit", _SHARE, "verdict", "place"]
    frame = worst[kept].reset_index(drop=True)
    words = f"How much of its tolerance the worst check of each tag uses; {_FARTHEST_PCT:g} % and more end together."
    named = [f"{tag}, {check}" for tag, check in zip(frame["tag"], _names(frame), strict=True)]
    shares = worst["used_pct"].clip(upper=_FARTHEST_PCT)
    return Answer(frame, lengths("Which are worst", words, "Share of the tolerance, %", named, list(shares)))


def which_limits_bite(unit: Frames) -> Answer:
    """By check: how many tags were judged, how many failed, and what share of the tolerance they use."""
    checks = _judged(unit).assign(
        used_pct=lambda rows: rows[_SHARE].abs(), failed=lambda rows: rows["verdict"].isin(["fail", "conditional_fail"])
    )
    by_check = checks.groupby("check", sort=False)
    frame = pd.DataFrame(
        {
            "judged": by_check.size(),
            "failed": by_check["failed"].sum(),
            "median_used_pct": by_check["used_pct"].median(),
            "greatest_used_pct": by_check["used_pct"].max(),
        }
    )
    frame = frame.sort_values(["failed", "median_used_pct"], ascending=False, kind="stable").reset_index()
    shares = [list(checks.loc[checks["check"] == name, "used_pct"]) for name in frame["check"]]
    names = [check_words(name, "") for name in frame["check"]]
    words = f"Each mark is a tag's value as a share of its tolerance; {_FARTHEST_PCT:g} % and more end together."
    figure = marks(
        "Which limits bite", words, "Share of the tolerance, %", names, shares, (100.0,), within=(0.0, _FARTHEST_PCT)
    )
    return Answer(frame, figure)


def what_is_missing(unit: Frames) -> Answer:
    """Every check that a tag must have and has not, with the reason, and how many each tag lacks.

    A tag without any record is a row of its own, without a check.
    """
    checks = unit.checks().query("decides")
    kept = ["tag", "check", "detail", "verdict", "reason"]
    gaps = checks[checks["verdict"].isin(GAPS)][kept]
    untouched = unit.verdicts().query("verdict == 'not_tested'")[["tag", "verdict", "reason"]]
    frame = pd.concat([gaps, untouched.assign(check="", detail="")[kept]], ignore_index=True)
    counts = frame["tag"].value_counts()
    words = "Checks of each tag that are not tested, not assessable or stale, most first."
    return Answer(frame, lengths("What is missing", words, "Checks", list(counts.index), list(counts)))


def uncertainty_against_tolerance(unit: Frames) -> Answer:
    """By check: how often there is a U, and half the tolerance over it (TUR), of limits on both sides."""
    checks = _judged(unit).assign(has_u=lambda rows: rows["expanded_uncertainty"].notna())
    by_check = checks.groupby("check", sort=False)
    low = checks["tur"].astype(float) < TUR_TARGET
    frame = pd.DataFrame(
        {
            "judged": by_check.size(),
            "with_u": by_check["has_u"].sum(),
            "least_tur": by_check["tur"].min().astype(float),
            "median_tur": by_check["tur"].median(),
            "below_target": checks.assign(low=low).groupby("check", sort=False)["low"].sum(),
        }
    )
    frame = frame.sort_values("median_tur", kind="stable").reset_index()
    drawn = frame[frame["median_tur"].notna()]["check"]
    ratios = [list(checks.loc[(checks["check"] == name) & checks["tur"].notna(), "tur"]) for name in drawn]
    ends = f"The line is at {TUR_TARGET:g}; {_GREATEST_TUR:g} and more end together."
    words = f"Half the tolerance over U, a mark a tag. {ends}"
    names = [check_words(name, "") for name in drawn]
    title, measure = "Uncertainty against tolerance", "TUR, test uncertainty ratio"
    return Answer(frame, marks(title, words, measure, names, ratios, (TUR_TARGET,), within=(0.0, _GREATEST_TUR)))


def _judged(unit: Frames) -> pd.DataFrame:
    """The deciding checks that have a value and a limit."""
    checks = unit.checks().query("decides and verdict != 'information'")
    return checks[checks[_SHARE].notna()].astype({_SHARE: float, "tur": float})


def _names(frame: pd.DataFrame) -> list[str]:
    return [check_words(check, detail) for check, detail in zip(frame["check"], frame["detail"], strict=True)]
