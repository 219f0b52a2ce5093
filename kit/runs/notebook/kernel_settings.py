"""What holds for every kernel, whichever engine starts it."""

from __future__ import annotations

from typing import Final

ONE_THREAD: Final = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
LAUNCH: Final = ("-m", "ipykernel_launcher", "-f", "{connection_file}")
SETTINGS: Final = ("--log-level=ERROR", "--HistoryManager.enabled=False")
PREFIX: Final = "strokebook-"  # begins every folder for temporary files
KEPT: Final = "STROKEBOOK_KEPT"
"""Names to a forked kernel the folder in which the one before it left what it made of a recording."""
