"""Cells as people type them: numbers, words, dates, and names that are nearly right."""
