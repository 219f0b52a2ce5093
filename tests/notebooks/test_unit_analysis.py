"""The notebook unit_analysis, run as it is on a small unit: a frame and a figure each, nothing written."""

from __future__ import annotations

from pathlib import Path

import nbformat
import papermill

from kit.views.exporter import ReportExporter
from kit.views.pieces.parts import PLOTLY_MIME, SVG_MIME
from tests.notebooks.contents import contents
from tests.small_unit import small_unit

__all__ = ["small_unit"]
NOTEBOOK = Path(__file__).parents[2] / "notebooks" / "unit_analysis.ipynb"


def test_each_question_is_answered_by_a_frame_and_a_figure_and_nothing_is_written(small_unit: Path) -> None:
    before = contents(small_unit.parents[1])
    executed = papermill.execute_notebook(
        str(NOTEBOOK),
        None,
        parameters={"unit": str(small_unit)},
        cwd=str(small_unit.parents[1]),
        progress_bar=False,
        kernel_name="python3",
    )
    assert contents(small_unit.parents[1]) == before
    answered = [cell for cell in executed.cells if cell.source.startswith("answer = ")]
    assert len(answered) == 18
    for cell in answered:
        kinds = [output.output_type for output in cell.outputs]
        assert kinds[-1] == "execute_result", cell.id
        assert 'class="dataframe"' in cell.outputs[-1].data["text/html"]
        assert any({PLOTLY_MIME, SVG_MIME} <= set(output.get("data", {})) for output in cell.outputs)
    page, _ = ReportExporter().from_notebook_node(nbformat.from_dict(executed))
    assert page.count('class="shown"') == 18
    assert page.count("<svg") >= 17
    assert 'role="alert"' not in page
    assert "not-placed" not in page.split("</style>")[1]
