"""The output stream of a forked kernel."""

from __future__ import annotations

from ipykernel.iostream import OutStream


class QuietStream(OutStream):
    """Flushes what was written, and nothing else.

    A kernel flushes both streams several times a cell, and each flush waits for another thread, whether
    anything was written or not.
    """

    def flush(self) -> None:
        """Send what was written since the last flush."""
        if self._flush_pending or self._subprocess_flush_pending:
            super().flush()  # type: ignore[no-untyped-call]
