"""The one message of Jupyter's that is the kit's own: a request for several cells, whose news come as if for each.

A round trip and five messages a cell cost more than most cells of a report do. The kernel answers with one
message ``execute_input`` a cell, with whatever the cell shows, and in the end with ``cells_reply``, which holds
the content of an ``execute_reply`` for each cell that it ran.
"""

from __future__ import annotations

from typing import Final

CELLS_REQUEST: Final = "cells_request"


def part_id(request: str, number: int) -> str:
    """The identity of the message that one of the cells would have been asked for by."""
    return f"{request}/{number}"
