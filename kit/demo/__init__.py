"""The demo unit: an invented plant whose tags show every check, verdict and fault of recording.

What makes it is in ``write``; here stands what a command needs that does not make it.
"""

from typing import Final

DEMO_UNIT: Final = "lime-works"  # the folder's usual name


class DemoFolderError(ValueError):
    """The demo unit cannot be laid down where it was asked for."""
