"""An instrument backwards: every visit that used it and, where its error is known, what becomes of every check."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kit.assessment.touched.impact import TagImpact, impact_on
from kit.assessment.touched.readings import Reading, VisitTouched, visits_touched
from kit.basis.records import TagRecords, UnitRecords
from kit.basis.registers import Instrument
from kit.basis.settings import UnitSettings
from kit.basis.tables.read_with import READ_WITH
from kit.calculations.instrument_error import InstrumentError


@dataclass(frozen=True, slots=True)
class KnownError:
    """An error that somebody found, and where it stands."""

    error: InstrumentError
    source: str  # a file's name, or as it was given


@dataclass(frozen=True, slots=True)
class Touched:
    """What one instrument touched."""

    settings: UnitSettings
    instrument: str
    functions: tuple[Instrument, ...]  # its rows of the register; (): it is not in it
    since: str  # ISO 8601; "": all visits
    visits: tuple[VisitTouched, ...]
    not_used: int  # rows of these tags and visits that are in no check, so that their readings are not listed
    input_hashes: Mapping[str, str]
    known: KnownError | None = None
    impacts: tuple[TagImpact, ...] = ()  # of the tags that were read in the unit of the error

    @property
    def tags(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(each.tag for each in self.visits))

    @property
    def readings(self) -> tuple[Reading, ...]:
        return tuple(reading for visit in self.visits for reading in visit.readings)

    @property
    def beyond(self) -> tuple[str, ...]:
        """The tags that it touched without a reading in the unit of the error."""
        judged = {each.tag for each in self.impacts}
        return tuple(each for each in self.tags if each not in judged) if self.known else ()

    @property
    def calibrated(self) -> tuple[tuple[str, str, str], ...]:
        """Its calibrations as the register has them: day, certificate, due date; each once."""
        return tuple(dict.fromkeys((each.calibrated_on, each.certificate, each.due_on) for each in self.functions))

    @property
    def since_calibration(self) -> int | None:
        """How many of the visits were made after its last calibration of the register; None: it is not known."""
        days = [each.calibrated_on for each in self.functions if each.calibrated_on]
        if not days:
            return None
        return sum(not each.date or each.date[:10] >= min(days) for each in self.visits)


def what_it_touched(
    unit: UnitRecords,
    shares: Iterable[TagRecords],
    instrument: str,
    *,
    since: str = "",
    known: KnownError | None = None,
) -> Touched:
    """What an instrument touched on the visits from a day on ("": all), tag by tag in their order.

    Parameters
    ----------
    shares : iterable of TagRecords
        The tags to be looked at, with their recordings.
    known : KnownError or None
        Its error: every check of the tags that were read in its unit is judged once more from corrected readings.
    """
    functions = tuple(each for each in unit.instruments if each.instrument == instrument)
    visits: list[VisitTouched] = []
    impacts: list[TagImpact] = []
    not_used = 0
    for records in shares:
        own = visits_touched(records, instrument, functions, since)
        if not own:
            continue
        visits += own
        not_used += _not_used(records, {each.visit for each in own})
        found = None if known is None else impact_on(unit, records, instrument, known.error, since)
        impacts += [] if found is None else [found]
    return Touched(
        unit.settings,
        instrument,
        functions,
        since,
        tuple(visits),
        not_used,
        unit.input_hashes,
        known,
        tuple(impacts),
    )


def _not_used(records: TagRecords, visits: set[str]) -> int:
    """Rows that are set aside, of these visits or of one that cannot be read."""
    scoped = [each for each in records.problems if each.set_aside and (each.table in READ_WITH or each.table == "logs")]
    found = [each for each in scoped if each.scope is None or not each.scope.visit or each.scope.visit in visits]
    return len({(each.file, each.sheet, each.row) for each in found})
