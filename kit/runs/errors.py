"""What stops a run before any page is made, and what only stops a kernel."""

from __future__ import annotations


class RunError(ValueError):
    """The call, the notebook or the folder for the outputs cannot be used as given."""


class KernelLostError(RuntimeError):
    """A kernel ended for a reason outside its notebook, which can be run again."""
