"""What the reviewer sees: figures, sections, pages. Everything here places results; nothing is calculated."""

from kit.views.pieces.parameters import ParameterError, refuse_unknown_parameters
from kit.views.pieces.parts import Figure, Page, Result, Section, show

__all__ = ["Figure", "Page", "ParameterError", "Result", "Section", "refuse_unknown_parameters", "show"]
