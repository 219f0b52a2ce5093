"""Commissioning records of positioner-controlled valves: read, calculated, judged, reported."""

__version__ = "0.1.0"
