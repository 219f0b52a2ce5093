"""What looks wrong in rows that are used; nothing is ever corrected."""
