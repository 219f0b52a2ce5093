"""The feedback potentiometer over the travel: margins at both ends of its track, linearity, breaks."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.budgets import NO_UNCERTAINTY, Day, Repeats, Source, Uncertainty, budget_of
from kit.assessment.enough import needs_for, shortfall_of_ends, shortfall_of_positions
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.recordings.stage_recordings import NO_POSITION, feedback_is_raw
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.assessment.sweep import is_track_measured, mean_track_ohm
from kit.basis.checks import TRACK, CheckName
from kit.basis.evidence import stated
from kit.basis.quantity import Quantity
from kit.basis.registers import Role
from kit.calculations.digits import last_digit
from kit.calculations.potentiometer import Sweep, dropouts, high_margin, low_margin, sweep_linearity
from kit.calculations.recordings.track import Track

_MOST_PLACES: Final = 5  # that a reason names
_NOMINAL: Final = (
    "the track's resistance is the register's nominal one; measure the whole track and enter it as track_ohm in the "
    "potentiometer rows"
)


def _typed(records: StageRecords) -> list[Finding]:
    sweep = records.sweep
    if sweep is None:
        return []
    track_ohm = mean_track_ohm(records.tables["potentiometer"], records.day.tag)
    quantities: dict[CheckName, Quantity] = {
        "potentiometer_low_margin": low_margin(sweep),
        "potentiometer_high_margin": high_margin(sweep),
        "potentiometer_linearity": sweep_linearity(sweep),
        "potentiometer_dropouts": dropouts(sweep),
    }
    found = [_finding(check, quantity, sweep, track_ohm, records) for check, quantity in quantities.items()]
    return found if is_track_measured(records.tables["potentiometer"]) else [_of_nominal(each) for each in found]


def _of_nominal(finding: Finding) -> Finding:
    """A nominal resistance is no measured end of the track: what is left beyond the far one is not known well."""
    if finding.check != "potentiometer_high_margin" or finding.value is None:
        return finding
    return replace(finding, uncertainty=Uncertainty(None, _NOMINAL))


def _finding(
    check: CheckName, quantity: Quantity, sweep: Sweep, track_ohm: float | None, records: StageRecords
) -> Finding:
    return Finding(
        check,
        quantity,
        at="" if quantity.point is None else f"{sweep.position_pct[quantity.point]:.1f} % travel",
        target=fixed_target(check),
        uncertainty=_uncertainty(check, quantity, sweep, track_ohm, records),
        shortfall=_shortfall(check, sweep, records.day),
    )


def _shortfall(check: CheckName, sweep: Sweep, day: Day) -> str:
    needs = needs_for(check, day)
    found = [
        shortfall_of_ends(sweep.position_pct, needs, "wiper reading") if "end_within_pct" in needs else "",
        shortfall_of_positions(sweep.curve_position_pct, needs, "the wiper") if "positions" in needs else "",
    ]
    return "; ".join(each for each in found if each)


def _uncertainty(
    check: CheckName, quantity: Quantity, sweep: Sweep, track_ohm: float | None, records: StageRecords
) -> Uncertainty:
    """The ratio is wiper over track, both read with the same instrument at different points of its range.

    A linearity compares it with the position, whose own reading enters through the slope of the line.
    """
    if quantity.value is None or quantity.weights is None or track_ohm is None:
        return NO_UNCERTAINTY
    wiper_ohm = sweep.ratio_pct / 100 * track_ohm
    to_wiper = quantity.weights * 100 / track_ohm
    to_track = -float((quantity.weights * sweep.ratio_pct).sum()) / track_ohm
    readings = np.append(wiper_ohm, track_ohm)
    rows = records.tables["potentiometer"]
    digits = max(last_digit(rows["wiper_ohm"]), last_digit(rows["track_ohm"]))
    sources = [Source("resistance", readings, np.append(to_wiper, to_track), digits)]
    if check == "potentiometer_linearity" and sweep.line is not None:
        to_position = np.append(-sweep.line.slope * quantity.weights, 0.0)
        positions = np.append(sweep.position_pct, np.nan)
        sources.append(Source("position", positions, to_position, last_digit(rows["position_pct"])))
    point = np.append(sweep.place, len(sweep.curve_position_pct))  # passes at one position share their accuracy
    repeats = None
    if quantity.averaged:
        repeats = Repeats(sweep.ratio_pct, sweep.place, quantity.weights, {"resistance": 100.0 / track_ohm})
    return budget_of(records.day, quantity, sources, point, TRACK, repeats)


def _recorded(records: StageRecords) -> list[Finding]:
    track = _worst_track(records)
    if track is None:
        recordings = records.recordings
        return _without_position() if recordings.unmeasured and not recordings.measured else []
    places = ", ".join(f"{spot.position_pct:.1f} %" for spot in track.spots if spot.is_confirmed)
    at = f"at {places} of travel, seen both ways" if places else ""
    short = track.unseen or _seen_one_way(records)
    found = [Finding("potentiometer_dropouts", _counted(track, short), at=at)]
    if feedback_is_raw(records.day.tag):
        quantities: dict[CheckName, Quantity] = {
            "potentiometer_low_margin": track.low_margin,
            "potentiometer_high_margin": track.high_margin,
            "potentiometer_linearity": track.linearity,
        }
        margins = [finding_of(check, quantity, records) for check, quantity in quantities.items()]
        found += [_of_nominal_recording(each) for each in margins]
    return found


def _counted(track: Track, short: str) -> Quantity:
    """The dropouts that were seen; none seen is no count where one could have been missed."""
    return Quantity(None, short) if short and track.dropouts.value == 0.0 else replace(track.dropouts, beside={})


def _seen_one_way(records: StageRecords) -> str:
    """Where the feedback leaves its line one way only, in any recording: a bad spot may hide on the other."""
    tracks = [each.track for each in records.recordings.reductions if each.track is not None]
    places = [spot.position_pct for track in tracks for spot in track.spots if not spot.is_confirmed]
    if not places:
        return ""
    named = ", ".join(f"{each:.1f} %" for each in places[:_MOST_PLACES])
    return f"the feedback leaves its line at {named} of travel one way only: make a slow stroke each way across it"


def _of_nominal_recording(finding: Finding) -> Finding:
    """A wiper in % is of the register's track; a typed margin over a measured one comes before it."""
    known = _of_nominal(finding)
    return known if known is finding else replace(known, shortfall=_NOMINAL)


def _without_position() -> list[Finding]:
    """The feedback against itself tells nothing of its track."""
    return [Finding(check, Quantity(None, NO_POSITION)) for check in POTENTIOMETER.checks]


def _worst_track(records: StageRecords) -> Track | None:
    """Of several recordings the one with most dropouts; of equals, one that saw all of the travel."""
    tracks = [each.track for each in records.recordings.reductions if each.track is not None]
    known = [track for track in tracks if track.dropouts.value is not None]
    if known:
        return max(known, key=lambda each: (each.dropouts.value or 0.0, not each.unseen))
    return tracks[0] if tracks else None


def _recorded_tests(records: StageRecords) -> set[str]:
    tracks = [each.track for each in records.recordings.reductions]
    return {"potentiometer"} if any(each and each.low_margin.value is not None for each in tracks) else set()


_MARGIN: Final = "the wiper within {end_within_pct:g} % of travel of both ends, and its track"


def _feed(check: CheckName, needs: str, *, position: bool = True, action: str = "") -> Feed:
    columns = ("position_pct", "wiper_ohm", "track_ohm")
    roles: tuple[Role, ...] = ("resistance", "position") if position else ("resistance",)
    return Feed(check, columns, roles, stated(check, needs), action)


POTENTIOMETER: Final = Subject(
    name="potentiometer",
    table="potentiometer",
    feeds=(
        _feed("potentiometer_low_margin", _MARGIN, position=False),
        _feed("potentiometer_high_margin", _MARGIN, position=False),
        _feed("potentiometer_linearity", "the wiper at {positions:g} positions, and its track"),
        Feed(
            "potentiometer_dropouts",
            ("position_pct", "wiper_ohm"),
            (),
            stated("potentiometer_dropouts", "the wiper at {positions:g} positions, or a recorded sweep"),
            "Sweep slowly to confirm the place; replace the potentiometer, then repeat feedback and readings.",
        ),
    ),
    action=("Re-index the potentiometer to mid-track at mid-travel or replace it; then repeat feedback and readings."),
    missing={"potentiometer": (("potentiometer_low_margin", ""), ("potentiometer_high_margin", ""))},
    valued={"potentiometer": (("potentiometer_linearity", ""),)},
    asks=("resistance",),
    typed=_typed,
    recorded=_recorded,
    recorded_tests=_recorded_tests,
)
