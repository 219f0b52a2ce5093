"""What stops a run before any page is made."""

from __future__ import annotations


class RunError(ValueError):
    """The call, the notebook or the folder for the outputs cannot be used as given."""
