"""Judging: calculated values against limits, with their uncertainty, into verdicts."""
