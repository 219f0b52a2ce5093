"""How far a step response goes beyond its end."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from kit.basis.quantity import Component, Quantity, Reliance
from kit.calculations.recordings.faint_peaks import between_samples, faint_peak
from kit.calculations.recordings.peaks import peak_of
from kit.calculations.recordings.response_times import Answer, too_coarse
from kit.calculations.recordings.terms import noise, sampling

_PCT: Final = "% of travel"
_TELLS_PCT: Final = 0.5  # House definition: of travel; an overshoot known to within that is worth its figure


def overshoot(answer: Answer) -> Quantity:
    """Travel beyond the final value [% of travel].

    Notes
    -----
    **House definition**: below 10 Hz there is none where fewer than three samples lie between 5 and 95 % of the way,
    or where what may lie between the samples (expanded, k = 2) is more than the figure and more than 0.5 %.
    """
    if answer.arrival_is_hidden:
        return too_coarse(answer, "how the travel arrived")
    beyond = answer.along - answer.size
    top = faint_peak(answer.time_s, beyond, answer.noise) or peak_of(answer.time_s, beyond, answer.noise)
    top = replace(top, half_width=max(top.half_width, between_samples(answer.time_s, beyond, answer.noise)))
    value = max(top.height, 0.0)
    components: tuple[Component, ...] = ()
    if top.half_width > 0.0:
        between = sampling(top.half_width, _PCT, "between the samples at the peak")
        if answer.is_coarse and 2.0 * between.standard_uncertainty > max(value, _TELLS_PCT):
            return too_coarse(answer, f"an overshoot of {value:.2g} %")
        components += (between,)
    total = (top.deviation**2 + answer.end.deviation**2) ** 0.5
    if total > 0.0:
        components += (noise(total, _PCT, "travel at the peak and at rest"),)
    relies = (
        Reliance("travel", answer.end.value + answer.sign * value, answer.sign, 0),
        Reliance("travel", answer.end.value, -answer.sign, 0),
    )
    return Quantity(value, at_s=float(answer.time_s[int(beyond.argmax())]), components=components, relies_on=relies)
