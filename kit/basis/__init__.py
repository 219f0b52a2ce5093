"""The names that records, calculations and reports share: tables, checks and verdicts."""
