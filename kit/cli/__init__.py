"""The command `strokebook`: calls and printing, nothing else. A module a command, in the order that help shows."""

from kit.cli import new, demo, check, sheet, report, batch, watch, touched, issue, verify  # isort: skip
from kit.cli.command import app, main

__all__ = ["app", "batch", "check", "demo", "issue", "main", "new", "report", "sheet", "touched", "verify", "watch"]
