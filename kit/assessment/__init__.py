"""Judging: calculated values against limits, with their uncertainty, into verdicts."""

from kit.assessment.tag import assess_tag

__all__ = ["assess_tag"]
