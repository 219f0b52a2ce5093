"""Continuous recordings: cut into tests, and each test reduced to figures with what limits them."""
