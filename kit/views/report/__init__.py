"""A tag's report, section by section."""
