"""Plain faults of a signal that one card sends and another reads: arithmetic on ideal devices."""

from __future__ import annotations

from typing import Final

from kit.calculations.patterns.position_templates import AS_ASKED
from kit.calculations.patterns.template import LineTemplate, Template

SCALING_TEMPLATES: Final = (
    Template(AS_ASKED, lambda sent, _: sent),
    Template("zero off", lambda sent, shift: sent + shift, -40, 40, "{:+.1f} %"),
    Template("span off", lambda sent, gain: gain * sent, 0.3, 2.5, "slope {:.3f}"),
    LineTemplate("zero and span both off", lambda sent, _: sent, parameter="{:+.1f} % at 0 %, slope {:.3f}"),
    Template("live zero read by a range without", lambda sent, _: 20 + 0.8 * sent),
    Template("no live zero read by a range with", lambda sent, _: (sent - 20) / 0.8),
    Template("reversed", lambda sent, _: 100 - sent),
)
