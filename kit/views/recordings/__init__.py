"""What a recording shows, as sections and tables."""
