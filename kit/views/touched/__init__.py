"""The page of an instrument: what it touched, and what becomes of it."""
