"""The virtual valve: a small physical model that makes recordings and knows the truth about them. Invented."""

from tests.making.valves.command_programme import Piece, Routine
from tests.making.valves.field_routines import FIELD_ROUTINES, TWO_FILES, field_routine, file_ends_s
from tests.making.valves.front_end import Converter, Disturbance, Filters
from tests.making.valves.hand_routine import commissioning_routine
from tests.making.valves.random_valves import random_valve
from tests.making.valves.recording_files import csv_text, parquet_bytes
from tests.making.valves.simulator import run_motion
from tests.making.valves.true_motion import Motion
from tests.making.valves.true_responses import Response, TrueSegment
from tests.making.valves.true_small_steps import SmallSteps
from tests.making.valves.truth import Hunting, SwitchEvent, Truth, truth_of
from tests.making.valves.virtual_logger import Logger, Recorded, sample
from tests.making.valves.virtual_recording import simulate, simulate_seen
from tests.making.valves.virtual_valve import (
    BadSpot,
    Controller,
    Feedback,
    Mechanics,
    Motor,
    SignalLoss,
    Supply,
    VirtualValve,
    VirtualValveError,
)

__all__ = [
    "FIELD_ROUTINES",
    "TWO_FILES",
    "BadSpot",
    "Controller",
    "Converter",
    "Disturbance",
    "Feedback",
    "Filters",
    "Hunting",
    "Logger",
    "Mechanics",
    "Motion",
    "Motor",
    "Piece",
    "Recorded",
    "Response",
    "Routine",
    "SignalLoss",
    "SmallSteps",
    "Supply",
    "SwitchEvent",
    "TrueSegment",
    "Truth",
    "VirtualValve",
    "VirtualValveError",
    "commissioning_routine",
    "csv_text",
    "field_routine",
    "file_ends_s",
    "parquet_bytes",
    "random_valve",
    "run_motion",
    "sample",
    "simulate",
    "simulate_seen",
    "truth_of",
]
