"""The usual cautions, as they stand on top of every field sheet."""

from __future__ import annotations

from typing import Final

BEFORE_MOTION: Final = (
    "Before motion. A valve can move when supply or signal returns. Keep people and tools clear, agree the movement "
    "with operations, and control every source of stored energy."
)
CAUTIONS: Final = (
    "Scope. This sheet takes down readings. It does not authorise energising, isolating, moving or returning to "
    "service any equipment.",
    "Whose rules. Follow the law, the electrical code, the site permit and isolation rules and the equipment maker's "
    "instructions that apply where the work is done. Where they differ from this sheet, they prevail. Electrical and "
    "hazardous-area work is for persons qualified and authorised to do it.",
    BEFORE_MOTION,
    "Isolation and overrides. Isolate the process and every energy source by lock and tag as the site requires. "
    "Register each interlock that is overridden, and witness its return.",
)
OF_SAFETY: Final = (
    "Safety functions. For equipment in a safety function, use the approved proof-test procedure; this sheet does not "
    "replace it or demonstrate integrity."
)
LIMITS: Final = (
    "Limits. What is marked at once lies beyond the limit itself. The verdict is the report's, with the uncertainty. "
    "A default limit is a placeholder until a responsible engineer confirms it."
)
