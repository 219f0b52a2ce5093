"""What is raised where a figure asks for more than the writer draws."""

from __future__ import annotations


class DrawingError(ValueError):
    """A figure that the page cannot draw as its interactive twin would."""
