"""Benchmarks: run by hand, never collected by pytest."""
