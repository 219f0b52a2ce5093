"""Tables being read: cells typed, rows held against schema and register, files merged."""
