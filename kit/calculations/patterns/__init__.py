"""Patterns in readings: which plain fault the means resemble most."""

from kit.calculations.patterns.feedback_templates import FEEDBACK_TEMPLATES
from kit.calculations.patterns.mean_scatter import MeanScatter, mean_scatter
from kit.calculations.patterns.position_templates import POSITION_TEMPLATES
from kit.calculations.patterns.recognise import TRIM_PCT, Match, recognise
from kit.calculations.patterns.scaling_templates import SCALING_TEMPLATES
from kit.calculations.patterns.template import Template

__all__ = [
    "FEEDBACK_TEMPLATES",
    "POSITION_TEMPLATES",
    "SCALING_TEMPLATES",
    "TRIM_PCT",
    "Match",
    "MeanScatter",
    "Template",
    "mean_scatter",
    "recognise",
]
