"""Damages of a unit's folder, one at a time: none may earn a pass, and none may reach a tag that it is not of."""
