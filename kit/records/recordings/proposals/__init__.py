"""What `strokebook check` proposes for a logger's file that nobody has said how to read."""
