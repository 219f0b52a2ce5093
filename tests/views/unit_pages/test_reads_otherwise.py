"""What reads otherwise, on the unit's page."""

from __future__ import annotations

import json
import re
from dataclasses import asdict

from kit.assessment.shown.mean_errors import Observation
from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.views.pieces.parts import Section
from kit.views.unit_pages.reads_otherwise import reads_otherwise
from tests.assessment.shown.test_bias_watch import OUT_PCT, unit
from tests.views import made_unit


def shown(observed: list[Observation]) -> str:
    """The section, of results as a batch hands them on."""
    lines = {}
    for each in observed:
        lines.setdefault(each.tag, []).append(json.loads(json.dumps(asdict(each))))
    of = made_unit.unit(["FV-1"])
    tags = tuple(TagLine(tag, "", "", {"mean_errors": each}) for tag, each in lines.items())
    (part,) = reads_otherwise(UnitResults(of.settings, tags, (), (), (), {}))
    assert isinstance(part, Section)
    return re.sub(r"<[^>]*>", " ", part.html).replace("\u00a0", " ")


def test_what_stands_out_is_asked_first_and_marked_in_the_table() -> None:
    text = shown(unit(3, out_pct=OUT_PCT))
    assert "1 of them is a question, and no finding." in text
    assert re.search(r"Mean position error of IN-01 as position instrument lies \+0\.\d\d % of travel", text)
    assert len(re.findall(r"\bquestion\s+(?!,)", text.split("Stands out")[1])) == 1


def test_a_clean_unit_says_that_nothing_stands_out_and_what_cannot_be_told_apart() -> None:
    text = shown(unit(1))
    assert "Nothing stands out." in text
    assert "nothing was read with it and with another alike" in text


def test_without_readings_it_says_so() -> None:
    assert "No stroke readings" in shown([])
