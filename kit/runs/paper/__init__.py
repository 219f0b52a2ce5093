"""Reports as PDF: one process a report, put beside its page, on record with it."""
