"""Tests, in the order of the rooms they hold."""
