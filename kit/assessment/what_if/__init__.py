"""What if: a tag's records as somebody supposes them, judged as reports judge them. No record, and written nowhere."""

from kit.assessment.what_if.case import Case, WhatIfError, on_record
from kit.assessment.what_if.suppose import adjusted, one_more_cycle, with_instrument, with_limits, without_readings

__all__ = [
    "Case",
    "WhatIfError",
    "adjusted",
    "on_record",
    "one_more_cycle",
    "with_instrument",
    "with_limits",
    "without_readings",
]
