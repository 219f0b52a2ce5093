"""A unit's folder watched: what is saved there is on the page at once."""
