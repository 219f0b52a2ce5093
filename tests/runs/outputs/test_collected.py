"""What a batch hands to its unit's page comes back as it was, and what is missing is said."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kit.runs.outputs.collected import (
    COLLECTED,
    OutputsError,
    collected_head,
    collected_line,
    read_results,
    unit_results,
    used,
)
from tests.views.made_unit import VERDICTS, unit, write_outputs


def test_outputs_without_tags_are_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputsError, match=r"tags\.csv: not there.*Run the batch"):
        unit_results(unit(["FV-1"]), tmp_path)


def test_a_tag_that_a_spreadsheet_would_run_is_found_again(tmp_path: Path) -> None:
    write_outputs(tmp_path, {"FV-1": "pass"})
    protected = (tmp_path / "tags.csv").read_text(encoding="utf-8").replace("FV-1,pass", "'-FV1,pass")
    (tmp_path / "tags.csv").write_text(protected, encoding="utf-8")
    results = unit_results(unit(["-FV1"]), tmp_path)
    assert results.tags[0].report == "tags/FV-1/report.html"


def test_what_was_collected_is_what_the_folder_gives(tmp_path: Path) -> None:
    write_outputs(tmp_path, VERDICTS)
    records = unit(list(VERDICTS))
    drawn = unit_results(records, tmp_path)
    results = [tmp_path / "tags" / name / "result.json" for name in VERDICTS]
    whole = [json.loads(path.read_bytes()) if path.exists() else {} for path in results]
    lines = [
        collected_line(tag, each.report, used(result))
        for tag, each, result in zip(records.tags.values(), drawn.tags, whole, strict=True)
    ]
    (tmp_path / COLLECTED).write_text(collected_head(records) + "".join(lines), encoding="utf-8")
    assert read_results("no such unit", tmp_path) == drawn
    assert [each.verdict for each in drawn.tags] == list(VERDICTS.values())


def test_a_result_that_is_not_json_names_its_report(tmp_path: Path) -> None:
    write_outputs(tmp_path, {"FV-1": "pass"})
    (tmp_path / "tags/FV-1/result.json").write_text("{", encoding="utf-8")
    with pytest.raises(OutputsError, match=r"tags/FV-1/report\.html: .*not JSON.*Run the batch again"):
        unit_results(unit(["FV-1"]), tmp_path)


def test_a_check_is_known_by_the_worst_of_its_details_in_the_deciding_stage() -> None:
    def row(check: str, verdict: str, stage: str = "as_left", visit: str = "2") -> dict[str, str]:
        return {"visit": visit, "stage": stage, "check": check, "verdict": verdict}

    rows = [row("fail_position", "pass"), row("fail_position", "not_tested"), row("inaccuracy", "pass")]
    earlier = [row("inaccuracy", "fail", "as_found"), row("inaccuracy", "fail", visit="1")]
    result = {"verdict": "incomplete", "visit": "2", "stage": "as_left", "results": [*rows, *earlier]}
    assert used(result)["checks"] == {"fail_position": "not_tested", "inaccuracy": "pass"}
    assert "results" not in used(result)
    assert used({}) == {}


def test_a_notebook_in_its_own_folder_finds_the_outputs_beside_inputs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "inputs" / "lime").mkdir(parents=True)
    (tmp_path / "inputs" / "lime" / "unit.toml").write_text("", encoding="utf-8")
    collected = tmp_path / "outputs" / "lime" / COLLECTED
    collected.parent.mkdir(parents=True)
    collected.write_text("not what a batch collects", encoding="utf-8")
    (tmp_path / "notebooks").mkdir()
    monkeypatch.chdir(tmp_path / "notebooks")
    with pytest.raises(json.JSONDecodeError):
        read_results("inputs/lime", "outputs/lime")
