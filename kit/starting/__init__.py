"""A unit's beginning: its folder with every key explained, a register from a list of tags, and what to do next."""
