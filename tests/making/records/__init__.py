"""Units as careful technicians type them, and the errors that careless ones make: the rules are tried on both."""
