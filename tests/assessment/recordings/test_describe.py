"""What was found in a recording, in sentences."""

from __future__ import annotations

from kit.assessment.recordings.describe import describe_recordings
from tests.assessment.with_recordings import with_recordings


def test_what_was_found_is_told_in_sentences(healthy: bytes) -> None:
    lines = describe_recordings(with_recordings(healthy))
    assert lines[0].startswith("logs/T/1.as_left.0.csv: ")
    assert "2 opening strokes, 2 closing strokes" in lines[1]
    assert "1 loss of signal, 1 restoration" in lines[1]
    assert all(line.endswith(".") for line in lines)
