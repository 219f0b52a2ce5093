"""The parameters of a virtual valve: what it is, in numbers with units."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

from kit.basis.signals import SignalRange

Direction = Literal[-1, 1]  # -1: closing, 1: opening
FailAction = Literal["open", "closed", "hold"]

DIRECTIONS: Final[tuple[Direction, Direction]] = (-1, 1)

_MA: Final = SignalRange(4.0, 20.0, "mA", "4-20 mA")


class VirtualValveError(ValueError):
    """Parameters that no valve, routine or logger can have."""


@dataclass(frozen=True, slots=True)
class Motor:
    """A motor of constant speed. Speeds are of the take-off, in % of travel."""

    open_speed_pct_s: float = 100.0 / 30.0
    close_speed_pct_s: float = 100.0 / 30.0
    open_setting_pct: float = 100.0  # share of each pulse period that the motor is on; 100: no pulses
    close_setting_pct: float = 100.0
    pulse_period_s: float = 1.0
    start_delay_s: float = 0.1  # from the controller's decision to the first motion
    run_up_s: float = 0.0  # from standstill to full speed, at constant acceleration
    coast_pct: float = 0.2  # of travel run after switching off at full speed, at constant deceleration
    stall_trip_s: float = 2.0  # on a stop for this long, the motor is cut until it is asked the other way
    gripped_s: tuple[tuple[float, float], ...] = ()  # from .. to: the brake grips, and the motor does not coast

    def __post_init__(self) -> None:
        _positive("Motor", self, "open_speed_pct_s", "close_speed_pct_s", "pulse_period_s", "stall_trip_s")
        _not_negative("Motor", self, "start_delay_s", "run_up_s", "coast_pct")
        _within("Motor", self, 1.0, 100.0, "open_setting_pct", "close_setting_pct")

    def speed_pct_s(self, direction: Direction) -> float:
        """Full speed of a direction [% of travel per s]."""
        return self.open_speed_pct_s if direction > 0 else self.close_speed_pct_s

    def duty(self, direction: Direction) -> float:
        """Share of the time that the motor is on [-]."""
        return (self.open_setting_pct if direction > 0 else self.close_setting_pct) / 100.0


@dataclass(frozen=True, slots=True)
class Controller:
    """A three-point controller: opens, closes or stops on set point minus feedback."""

    dead_band_pct: float = 1.0  # whole width: the motor starts where the error exceeds half of it
    stop_share: float = 0.5  # the motor is switched off at this share of half the dead band
    persist_s: float = 0.0  # the error must stand outside the dead band for this long (against hunting)
    reverse: bool = False  # 100 % command asks for closed
    rangeability: float | None = None  # None: linear; else the set point is 100 R^(x - 1)
    closed_cut_off_pct: float | None = None  # set points at or below drive to the closed end
    open_cut_off_pct: float | None = None  # set points at or above drive to the open end
    noise_pct: float = 0.0  # rms of what disturbs the error, held for noise_hold_s
    noise_hold_s: float = 0.02
    slow_zone_pct: float = 0.0  # within this error the motor approaches slowly; 0: it runs at full speed to the end
    slow_share: float = 0.1  # of full speed, at the end of the slow zone; in between the speed follows the error
    approach_on_s: float = 0.0  # above 0: within the slow zone it goes by pulses of this length at full speed instead
    approach_off_s: float = 0.5  # and pauses in between
    sees_bad_spots: bool = False  # False: the controller holds its feedback over a bad spot, only the output shows it

    def __post_init__(self) -> None:
        _positive("Controller", self, "dead_band_pct", "noise_hold_s")
        _not_negative("Controller", self, "persist_s", "noise_pct", "slow_zone_pct", "approach_on_s")
        _positive("Controller", self, "approach_off_s")
        _within("Controller", self, 0.0, 1.0, "stop_share")
        _within("Controller", self, 0.01, 1.0, "slow_share")

    @property
    def stop_pct(self) -> float:
        """The error at which the motor is switched off [% of feedback range]."""
        return self.stop_share * self.dead_band_pct / 2.0


@dataclass(frozen=True, slots=True)
class Mechanics:
    """From motor to stem. The feedback is taken off between the two backlashes, the switches sit there too."""

    play_before_pct: float = 0.1  # backlash from motor to take-off, whole width [% of travel]
    play_after_pct: float = 0.1  # backlash from take-off to stem, whole width [% of travel]
    stick_pct: float = 0.0  # the stem breaks away when its drive has wound up this far [% of travel]
    slip_pct: float = 0.0  # and then jumps this far; the rest stays as a lag; at most stick_pct
    sticks_below_pct_s: float = 0.0  # driven more slowly the stem sticks anew after each jump [% of travel per s]
    closed_stop_pct: float = -2.0  # the stem goes no further [% of travel]
    open_stop_pct: float = 102.0
    closed_switch_pct: float = 0.0  # makes here, of the take-off
    open_switch_pct: float = 100.0
    switch_differential_pct: float = 0.5  # breaks this far from where it makes
    switches_stop_motor: bool = True
    drift_pct_s: float = 0.0  # creep with the motor off, positive towards open

    def __post_init__(self) -> None:
        _not_negative("Mechanics", self, "play_before_pct", "play_after_pct", "stick_pct", "slip_pct")
        _positive("Mechanics", self, "switch_differential_pct")
        if self.slip_pct > self.stick_pct:
            raise VirtualValveError(
                f"Mechanics: a slip_pct of {self.slip_pct:g} exceeds the stick_pct of {self.stick_pct:g}; "
                "the stem cannot jump beyond its drive: give at most stick_pct."
            )
        if self.closed_stop_pct >= self.open_stop_pct:
            raise VirtualValveError(
                f"Mechanics: the closed stop at {self.closed_stop_pct:g} % is not below the open stop at "
                f"{self.open_stop_pct:g} %; give the closed stop first."
            )


@dataclass(frozen=True, slots=True)
class BadSpot:
    """A place on the potentiometer's track that is worn: the same place whichever way it is passed."""

    at_pct: float  # centre [% of travel]
    width_pct: float = 1.0  # whole width [% of travel]
    kind: Literal["spike", "break"] = "spike"  # spike: a triangle of depth_pct; break: an open wiper
    depth_pct: float = -5.0  # of feedback span, signed; not used by a break


@dataclass(frozen=True, slots=True)
class Feedback:
    """A potentiometer at the take-off and the transmitter that makes a signal of its wiper."""

    track_at_closed_pct: float = 12.0  # wiper on the track's mechanical length at 0 % of travel
    track_at_open_pct: float = 88.0  # and at 100 %
    window_low_pct: float = 2.0  # the track's electrical part starts here
    window_high_pct: float = 98.0  # and ends here; beyond, the wiper stands at its end
    track_ohm: float = 5000.0
    load_ohm: float | None = None  # what the wiper is read with; None: no load
    bow_pct: float = 0.0  # greatest departure of the track from straight, at mid travel [% of feedback span]
    zero_error_pct: float = 0.0  # of the transmitter [% of feedback span]
    span_error_pct: float = 0.0
    output_low_pct: float = -1.25  # the transmitter saturates here: 3.8 mA on 4-20 mA (NE 43)
    output_high_pct: float = 103.125  # and here: 20.5 mA
    break_pct: float = -2.5  # its output with an open wiper: 3.6 mA
    bad_spots: tuple[BadSpot, ...] = ()

    def __post_init__(self) -> None:
        _positive("Feedback", self, "track_ohm")
        if self.load_ohm is not None:
            _positive("Feedback", self, "load_ohm")
        if self.track_at_closed_pct == self.track_at_open_pct or self.window_low_pct >= self.window_high_pct:
            raise VirtualValveError(
                "Feedback: the wiper must move over the travel and the electrical part have a length; "
                "give two different track_at_... and a window_low_pct below window_high_pct."
            )


@dataclass(frozen=True, slots=True)
class SignalLoss:
    """What the valve does when its command, or its supply, is lost; only a live zero can be missed."""

    action: FailAction = "closed"
    delay_s: float = 0.5  # from the loss at the device to the start of the fail drive; the motor is held until then
    open_speed_pct_s: float | None = None  # of the fail drive; None: the motor's full speed
    close_speed_pct_s: float | None = None

    def __post_init__(self) -> None:
        _not_negative("SignalLoss", self, "delay_s")
        for name in ("open_speed_pct_s", "close_speed_pct_s"):
            if getattr(self, name) is not None:
                _positive("SignalLoss", self, name)


@dataclass(frozen=True, slots=True)
class Supply:
    """Supply at the terminals [V]."""

    idle_v: float = 230.0
    running_v: float = 226.0
    lost_v: float = 0.0  # what the logger still reads after a loss


@dataclass(frozen=True, slots=True)
class VirtualValve:
    """A positioner-controlled electric valve.

    Positions are in % of travel, 0 = closed. The defaults are a healthy quarter-turn valve of 30 s stroke.
    notebooks/guide/virtual-valve.md says what the model holds and what it leaves out.

    Examples
    --------
    >>> valve = VirtualValve(motor=Motor(open_speed_pct_s=5.0), signal_loss=SignalLoss(action="open"))
    >>> valve.motor.speed_pct_s(1), valve.travel_unit
    (5.0, 'deg')
    """

    motor: Motor = field(default_factory=Motor)
    controller: Controller = field(default_factory=Controller)
    mechanics: Mechanics = field(default_factory=Mechanics)
    feedback: Feedback = field(default_factory=Feedback)
    signal_loss: SignalLoss = field(default_factory=SignalLoss)
    supply: Supply = field(default_factory=Supply)
    supply_loss: SignalLoss = field(default_factory=lambda: SignalLoss(action="hold"))  # what stored energy does
    command_range: SignalRange = _MA
    feedback_range: SignalRange = _MA
    command_delay_s: float = 0.0  # transport delay from the command's terminals to the controller
    travel: float = 90.0
    travel_unit: Literal["deg", "mm", "pct"] = "deg"

    def __post_init__(self) -> None:
        _positive("VirtualValve", self, "travel")
        _not_negative("VirtualValve", self, "command_delay_s")


def _positive(owner: str, parameters: object, *names: str) -> None:
    for name in names:
        if not 0.0 < getattr(parameters, name) < float("inf"):
            raise VirtualValveError(f"{owner}: {name} is {getattr(parameters, name):g}; give a finite number above 0.")


def _not_negative(owner: str, parameters: object, *names: str) -> None:
    for name in names:
        if not 0.0 <= getattr(parameters, name) < float("inf"):
            raise VirtualValveError(f"{owner}: {name} is {getattr(parameters, name):g}; give a finite number from 0.")


def _within(owner: str, parameters: object, low: float, high: float, *names: str) -> None:
    for name in names:
        if not low <= getattr(parameters, name) <= high:
            raise VirtualValveError(f"{owner}: {name} is {getattr(parameters, name):g}; give {low:g} to {high:g}.")
