"""The unit's page."""
