"""The ledger and the issued pages of a unit, as they are read: what was issued, and whether it stands as it was."""
