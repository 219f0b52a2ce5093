"""Recordings of a stage: cut and reduced, told in sentences, and held beside what was typed."""
