"""Mutation: single-line faults, drawn by a number, and which of them the tests notice."""
