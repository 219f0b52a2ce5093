"""The forms of calculated results that a page reads: types only, so that no page can calculate."""

from kit.calculations.position import Runs
from kit.calculations.potentiometer import Sweep
from kit.calculations.recordings.bad_spots import BadSpot
from kit.calculations.recordings.holds import StaticReading
from kit.calculations.recordings.hunting import Kind, Stillness
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.service import Service
from kit.calculations.recordings.steps import StepResponse
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.switches import End, SwitchEvent
from kit.calculations.recordings.track import Track
from kit.calculations.recordings.trials import Found, Means, Trial
from kit.calculations.uncertainty import Budget

__all__ = [
    "BadSpot",
    "Budget",
    "End",
    "Found",
    "Kind",
    "Loss",
    "Means",
    "Reduction",
    "Runs",
    "Service",
    "StaticReading",
    "StepResponse",
    "Stillness",
    "Stroke",
    "Sweep",
    "SwitchEvent",
    "Track",
    "Trial",
]
