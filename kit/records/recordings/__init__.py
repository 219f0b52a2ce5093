"""Recordings under logs/: found by their names, read to %, every sample used or set aside."""
