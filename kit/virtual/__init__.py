"""The virtual valve: a small physical model that makes recordings and knows the truth about them. Invented."""

from kit.virtual.commissioning import commissioning_routine
from kit.virtual.logger import Logger, Recorded, sample
from kit.virtual.motion import Motion
from kit.virtual.population import random_valve
from kit.virtual.recording import simulate
from kit.virtual.responses import Response, TrueSegment
from kit.virtual.routine import Piece, Routine
from kit.virtual.simulator import run_motion
from kit.virtual.small_steps import SmallSteps
from kit.virtual.truth import Hunting, SwitchEvent, Truth, truth_of
from kit.virtual.valve import (
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
from kit.virtual.write import csv_text, parquet_bytes

__all__ = [
    "BadSpot",
    "Controller",
    "Feedback",
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
    "parquet_bytes",
    "random_valve",
    "run_motion",
    "sample",
    "simulate",
    "truth_of",
]
