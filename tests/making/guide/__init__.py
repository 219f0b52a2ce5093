"""The pages of the guide that are made, not written: records, demo unit, study of recordings, thresholds."""

from pathlib import Path
from typing import Final

GUIDE: Final = Path(__file__).resolve().parents[3] / "notebooks" / "guide"
