"""Notebook to page, by the project's own template, without the work that a stock export adds."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import Any

from nbconvert.exporters.html import HTMLExporter
from nbconvert.exporters.templateexporter import TemplateExporter
from nbformat import NotebookNode
from traitlets import default

from kit.views.placing.notebook import placed_notebook

PLOTLY_SCRIPT = "package_data/plotly.min.js"
_DOCTYPE = "<!DOCTYPE html>\n"


class ReportExporter(HTMLExporter):
    """Exporter of reports. One can be used for any number of notebooks.

    A stock export reads the finished page and writes it out again, which takes half its time and
    changes nothing here: the template writes what that pass would.
    """

    export_from_notebook = "Strokebook report"

    @default("template_name")
    def _template_name_default(self) -> str:
        return "strokebook"

    @default("template_paths")
    def _template_paths_default(self) -> list[str]:
        stock = [Path(path) for path in super()._template_paths()]
        return [str(Path(__file__).parent / "page"), *(str(path) for path in stock if path.name != "strokebook")]

    def from_notebook_node(  # type: ignore[override]
        self, nb: NotebookNode, resources: dict[str, Any] | None = None, **options: Any
    ) -> tuple[str, dict[str, Any]]:
        """The page of one notebook, and nbconvert's resources."""
        resources = self._init_resources(resources)  # type: ignore[no-untyped-call]
        page, resources = TemplateExporter.from_notebook_node(self, nb, resources, **options)
        page = page.replace(_DOCTYPE, _DOCTYPE + "\n", 1)
        return page, resources

    def page(self, nb: NotebookNode) -> str:
        """The page of one notebook that is at hand: nothing is copied or checked on the way."""
        placed: str = self.template.render(nb=placed_notebook(nb), resources=self._init_resources(None))  # type: ignore[no-untyped-call]
        return placed.lstrip("\r\n").replace(_DOCTYPE, _DOCTYPE + "\n", 1)


def plotly_script() -> bytes:
    """Plotly's script, as the installed plotly carries it."""
    return resources.files("plotly").joinpath(PLOTLY_SCRIPT).read_bytes()
