"""A recording without its bad samples, cut into its tests, with what its channels do at rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.left_out import LeftOut, cut_left_out, motion_left_out
from kit.calculations.recordings.motion import Motion, motion_of
from kit.calculations.recordings.segments import Stretches, cut_recording, parts_of_stretches
from kit.calculations.recordings.service import Service, service_of
from kit.calculations.recordings.spikes import Spikes, spikes_in, without_spikes

_TESTS: Final = frozenset({"hold", "rest", "step", "stroke_open", "stroke_close", "ramp_up", "ramp_down"})


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """What every figure of one recording is drawn from."""

    recording: Recording  # without its bad samples
    spikes: tuple[Spikes, ...]
    channels: Channels
    motion: Motion
    stretches: Stretches  # parts of the command; none where a person set the tests, or in service
    parts: tuple[Segment, ...]
    unused: tuple[LeftOut, ...]  # what is in none of them
    service: Service | None
    set_by_person: bool

    def holds(self, time_s: float) -> bool:
        """Whether a time lies in one of the tests."""
        return any(each.from_s <= time_s <= each.to_s for each in self.parts)


def cut_up(recording: Recording, ideal: Callable[[float], float], segments: Sequence[Segment] | None) -> Cut:
    """Leave the bad samples of a recording out, tell what its channels do, and find its tests.

    Parameters
    ----------
    recording : Recording
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].
    segments : sequence of Segment or None
        What a person says is in it; None: it is cut here.

    Notes
    -----
    **House definition**: a recording of ordinary service holds no test but losses.
    """
    spikes = spikes_in(recording)
    recording = without_spikes(recording, spikes)
    channels = channels_of(recording)
    motion = motion_of(recording, channels.travel)
    if segments is not None:
        unused = tuple(motion_left_out(recording, segments, motion))
        return Cut(recording, spikes, channels, motion, (), tuple(segments), unused, None, set_by_person=True)
    stretches = parts_of_stretches(recording, channels)
    parts = cut_recording(recording, ideal, channels, stretches)
    service = service_of(recording, ideal, stretches, channels)
    if service is not None:
        losses = tuple(each for each in parts if each.what not in _TESTS)
        return Cut(recording, spikes, channels, motion, (), losses, (), service, set_by_person=False)
    unused = tuple(cut_left_out(stretches, parts))
    return Cut(recording, spikes, channels, motion, stretches, parts, unused, None, set_by_person=False)
