"""The study of recordings: random virtual valves, and what was recovered of them."""
