"""Issued pages: what is issued, put into the unit's own folder for good, held against its manifests, signed."""
