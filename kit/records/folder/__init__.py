"""A unit's folder: where it is, and what is in it."""
