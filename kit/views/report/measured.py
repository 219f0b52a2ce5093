"""Behind page one: every check, test point and test, as tables."""

from __future__ import annotations

import numpy as np

from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.scaling import ideal_pct
from kit.assessment.subjects import table_of
from kit.basis.checks import CHECKS
from kit.basis.records import TagRecords
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.position import Runs
from kit.views.pieces.beside import beside_text, extremes_text
from kit.views.pieces.numbers import NONE, number, plain, signed, with_unit
from kit.views.pieces.text_tables import (
    Cell,
    Column,
    Sheet,
    Table,
    check_limit,
    check_title,
    check_uncertainty_text,
    check_value,
    stage_rows,
    stage_word,
    table,
    verdict_cell,
)


def checks_sheet(assessment: TagAssessment) -> Sheet:
    """Every check of the newest visit with its method, those for information too."""
    stages = [stage for stage in (assessment.deciding, assessment.as_found) if stage is not None]
    shown = stages[:1] if assessment.as_found is assessment.deciding else stages
    return Sheet(
        "checks",
        tables=tuple(_all_checks(stage, with_method=stage is shown[0]) for stage in shown if stage.checks),
        missing="" if any(stage.checks for stage in shown) else "There is no check.",
    )


def points_table(runs: Runs, tag: Tag) -> Table:
    """The test points of the calibration: means of position and of error, and their number."""
    ideal = ideal_pct(runs.point_command_pct, tag)
    rows = [
        [
            number(float(runs.point_command_pct[index]), 2),
            number(float(ideal[index]), 2),
            number(float(runs.up_mean_pct[index]), 2, sign=True),
            number(float(runs.down_mean_pct[index]), 2, sign=True),
            number(float(runs.curve_pct[index]), 2, sign=True),
            f"{int(runs.up_count[index])} / {int(runs.down_count[index])}",
        ]
        for index in range(len(ideal))
    ]
    columns = ["Command, %:", "Ideal position, %:", "Up mean error, %:", "Down mean error, %:", "Mean curve, %:"]
    return table("Test points", [*columns, "Readings up / down:"], rows)


def strokes_sheet(records: TagRecords, stage: StageResult) -> Sheet:
    """Every stroke, against the register's time for the direction."""
    rows = stage_rows(records, "strokes", stage)
    nominal = {"open": records.tag.stroke_time_open_s, "close": records.tag.stroke_time_close_s}
    lines = [
        [
            f"{str(rows['direction'][index]).capitalize()}",
            _typed(rows, "time_s", index, "s"),
            with_unit(plain(nominal.get(str(rows["direction"][index]))), "s"),
            _typed(rows, "speed_setting_pct", index, "%"),
        ]
        for index in range(len(rows))
    ]
    columns = ["Stroke", "Time:", "Nominal:", "Speed setting:"]
    return _sheet("strokes", [table("As recorded", columns, lines)] if lines else [], "No stroke was timed.")


def switches_table(rows: Rows) -> Table:
    """Every switch test as recorded."""
    lines = [
        [
            str(rows["switch"][index]).capitalize(),
            *(_typed(rows, name, index, "%") for name in ("makes_at_pct", "breaks_at_pct", "stop_at_pct")),
        ]
        for index in range(len(rows))
    ]
    return table("As recorded", ["Switch", "Makes at:", "Breaks at:", "Travel stop at:"], lines)


def electrical_sheet(records: TagRecords, stage: StageResult) -> Sheet:
    """Supply, loop and insulation readings of the visit, and the checks made of them."""
    rows = records.tables["electrical"].only("visit", stage.visit)
    fields = {
        "supply_nominal_v": ("Supply, nominal", "V"),
        "supply_idle_v": ("Supply, idle", "V"),
        "supply_running_v": ("Supply, motor running", "V"),
        "loop_ohm": ("Loop resistance", "Ω"),
        "loop_supply_v": ("Loop supply", "V"),
        "device_min_v": ("Least voltage at the device", "V"),
        "insulation_mohm": ("Insulation resistance", "MΩ"),
        "insulation_test_v": ("Insulation test voltage", "V"),
        "earth_ohm": ("Earth resistance", "Ω"),
    }
    lines = [
        [title, *(_typed(rows, name, index, unit) for index in range(len(rows)))]
        for name, (title, unit) in fields.items()
        if np.any(~np.isnan(rows[name].astype(float)))
    ]
    columns = ["Quantity", *(f"Reading {index + 1}:" for index in range(len(rows)))]
    tables = [table("As recorded", columns, lines), *_of(stage, "electrical")] if lines else []
    return _sheet("electrical", tables, "No electrical reading was recorded.")


def loop_sheet(records: TagRecords, stage: StageResult) -> Sheet:
    """Every loop check, from the station's output to its display."""
    rows = records.tables["loop_checks"].only("visit", stage.visit)
    columns = {
        "station_output_pct": ("Station output:", "%"),
        "card_mA": ("At the card:", "mA"),
        "command_mA": ("At the valve:", "mA"),
        "position_pct": ("Position:", "%"),
        "station_feedback_pct": ("Station display:", "%"),
    }
    lines = [
        [
            *(_typed(rows, name, index, unit) for name, (_, unit) in columns.items()),
            str(rows["field_person"][index]),
            str(rows["station_person"][index]),
        ]
        for index in range(len(rows))
    ]
    titles = [*(title for title, _ in columns.values()), "In the field", "At the station"]
    tables = [table("As recorded", titles, lines, kind="wide"), *_of(stage, "loop_checks")] if lines else []
    return _sheet("loop", tables, "No loop check was recorded.")


def prechecks_sheet(records: TagRecords, stage: StageResult) -> Sheet:
    """The list of items answered before the tests."""
    rows = records.tables["prechecks"].only("visit", stage.visit)
    words = {"yes": "yes", "no": "NO", "na": "not applicable", "": "NOT ANSWERED"}
    lines = [
        [
            str(rows["item"][index]),
            words.get(str(rows["result"][index]), str(rows["result"][index])),
            str(rows["remark"][index]),
        ]
        for index in range(len(rows))
    ]
    return _sheet(
        "prechecks",
        [table("As recorded", ["Item", "Answer", "Remark"], lines)] if lines else [],
        "No precheck was recorded.",
    )


def settings_sheet(records: TagRecords, visit: str) -> Sheet:
    """Settings as found beside as left, and the adjustments of the visit."""
    rows = records.tables["settings"].only("visit", visit)
    names = list(dict.fromkeys(str(name) for name in rows["setting"]))
    values = {
        stage: {str(row): str(value) for row, value in _named(rows.only("stage", stage))}
        for stage in ("as_found", "as_left")
    }
    lines = [[name, values["as_found"].get(name, ""), values["as_left"].get(name, "")] for name in names]
    done = records.tables["adjustments"].only("visit", visit)
    adjusted = [
        [str(done["at"][index]), str(done["what"][index]).replace("_", " "), str(done["remark"][index])]
        for index in range(len(done))
    ]
    tables = [table("Settings", ["Setting", "As found", "As left"], lines)] if lines else []
    tables += [table("Adjustments", ["When", "What was adjusted", "Remark"], adjusted)] if adjusted else []
    return _sheet("settings", tables, "No setting and no adjustment was recorded.")


def check_lines(stage: StageResult, source: str) -> Table | None:
    """The checks of one table, short; None without any."""
    return next(iter(_of(stage, source)), None)


def _of(stage: StageResult, source: str) -> list[Table]:
    results = [result for result in stage.checks if table_of(result.check) == source]
    rows: list[list[str | Cell]] = [
        [
            check_title(result),
            check_value(result),
            check_limit(result),
            check_uncertainty_text(result),
            verdict_cell(result.verdict),
        ]
        for result in results
    ]
    columns: list[str | Column] = ["Check", "Value:", "Limit:", "U:", Column("Verdict", "word")]
    return [table("Checks made of them", columns, rows)] if rows else []


def _all_checks(stage: StageResult, *, with_method: bool) -> Table:
    columns: list[str | Column] = ["Check", "Value:", "Where", "Limit:", "U:", "k:", "P of conformity:", "Rule"]
    return table(
        f"Every check, visit {stage.visit}, {stage_word(stage.stage)}",
        [*columns, Column("Verdict", "word")],
        [
            _check_line(result, with_method=with_method and result.check != before)
            for before, result in zip(["", *(each.check for each in stage.checks)], stage.checks, strict=False)
        ],
        kind="wide every",
    )


def _check_line(result: CheckResult, *, with_method: bool) -> list[str | Cell]:
    return [
        Cell(check_title(result), small=CHECKS[result.check].method if with_method else ""),
        Cell(check_value(result), small=extremes_text(result.beside)),
        Cell(signed(result.at) or NONE, small=signed(result.reason) or beside_text(result.beside)),
        check_limit(result),
        check_uncertainty_text(result),
        NONE if result.budget is None else f"{result.budget.coverage_factor:.2f}",
        probability_text(result.p_conformity),
        result.rule or NONE,
        verdict_cell(result.verdict),
    ]


def probability_text(probability: float | None) -> str:
    """A probability in %; the last step to 0 and to 100 % is never rounded over.

    Examples
    --------
    >>> probability_text(0.99996), probability_text(0.5), probability_text(1e-9), probability_text(None)
    ('> 99.9 %', '50.0 %', '< 0.1 %', '–')
    """
    if probability is None:
        return NONE
    if probability > 0.999:
        return "> 99.9 %"
    return "< 0.1 %" if probability < 0.001 else f"{100 * probability:.1f} %"


def _typed(rows: Rows, name: str, index: int, unit: str) -> str:
    """A cell of the records as it was typed, with its unit."""
    return with_unit(plain(float(rows[name][index])), unit)


def _named(rows: Rows) -> list[tuple[object, object]]:
    return list(zip(rows["setting"], rows["value"], strict=True))


def _sheet(name: str, tables: list[Table], missing: str) -> Sheet:
    return Sheet(name, tables=tuple(tables), missing="" if tables else missing)
