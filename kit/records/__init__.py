"""Reading a unit's folder: every row is used, or set aside with its reason."""
