"""A unit's folder: where it is, what is in it, and the error of one that cannot be used."""
