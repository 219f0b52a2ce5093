"""One unit's outputs in the making: which reports stand, what is put in their place, what is issued."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from kit.records import tag_records, to_slice
from kit.records.model import UnitRecords
from kit.runs.collect import collect_tables
from kit.runs.errors import RunError
from kit.runs.execute import TagRun, run_unit_page
from kit.runs.files import Store, sweep
from kit.runs.hashing import fingerprint, kit_fingerprint
from kit.runs.manifest import IssuedTag, Manifest, present_versions, read_manifest
from kit.runs.names import folder_names
from kit.runs.notebooks import TAG_REPORT, UNIT_SUMMARY, notebook_path
from kit.views.exporter import plotly_script

UNIT_PAGE: Final = "index.html"
PLOTLY_SCRIPT: Final = "assets/plotly.min.js"
_REPORT_FILES: Final = ("report.html", "report.ipynb", "result.json")


@dataclass(slots=True)
class Dossier:
    """One run over a unit: its store, and the manifest that it is going to issue."""

    unit: UnitRecords
    unit_folder: Path
    store: Store
    issued: Manifest  # as it stands before this run
    folders: Mapping[str, str]  # name of a tag's folder, in the register's order
    files: dict[str, str] = field(default_factory=dict)
    tags: dict[str, IssuedTag] = field(default_factory=dict)
    unit_page: str = ""

    @property
    def label(self) -> str:
        """What the record calls the unit's folder, wherever it lies."""
        return f"inputs/{self.unit.settings.unit}"

    def place(self, tag: str, name: str) -> str:
        """Where one of a tag's files stands, relative to the outputs folder."""
        return f"tags/{self.folders[tag]}/{name}"

    def slice_of(self, tag: str) -> bytes:
        """The tag's share of the records, as its notebook gets it."""
        return to_slice(tag_records(self.unit, tag))

    def stands(self, tag: str) -> bool:
        """Whether the tag's last report was made from what is there now, and is still in its place."""
        names = [self.place(tag, name) for name in _REPORT_FILES]
        return self.issued.tags.get(tag) == self._present(tag) and all(
            name in self.issued.files and (self.store.folder / name).is_file() for name in names
        )

    def keep_tag(self, tag: str, outcome: TagRun) -> None:
        """Put what a tag's run left in its place."""
        for name, data in zip(_REPORT_FILES, (outcome.html, outcome.ipynb, outcome.result), strict=True):
            self._keep(self.place(tag, name), data)
        ran_through = outcome.result is not None
        self.tags[tag] = self._present(tag) if ran_through else IssuedTag(self.folders[tag], "")

    def withdraw_others(self) -> None:
        """Take out of their places the reports of tags that the register no longer has."""
        self.tags = {tag: self.tags[tag] for tag in self.folders if tag in self.tags}
        wanted = {f"tags/{folder}" for folder in self.folders.values()}
        for name in list(self.files):
            if name.startswith("tags/") and name.rsplit("/", 1)[0] not in wanted:
                self._keep(name, None)

    def collect(self, time_limit_s: int) -> tuple[dict[str, str], str]:
        """Write the unit's tables and its page, unless they were made from the same.

        Returns the verdict of every tag and what failed on the unit's page ("" when nothing did).
        """
        tables, verdicts = collect_tables(self.unit, self.store.folder, self.folders)
        mark = self._unit_mark(tables)
        names = (*tables, UNIT_PAGE, PLOTLY_SCRIPT)
        if mark == self.issued.unit_page and all((self.store.folder / name).is_file() for name in names):
            self.unit_page = mark
            return verdicts, ""
        for name, table in tables.items():
            self._keep(name, table)
        self._keep(PLOTLY_SCRIPT, plotly_script())
        page = run_unit_page(self.unit_folder, self.store.folder, self.label, time_limit_s=time_limit_s)
        self._keep(UNIT_PAGE, page.html)
        self.unit_page = "" if page.error else mark
        return verdicts, page.error

    def issue(self, *, whole_unit: bool) -> None:
        """Write the manifest, if anything changed.

        A run of one tag leaves the inputs that the other reports were made from on record.
        """
        self._keep(PLOTLY_SCRIPT, plotly_script())
        inputs = self.unit.input_hashes if whole_unit or not self.issued.inputs else self.issued.inputs
        new = Manifest(
            unit=self.unit.settings.unit,
            versions=self.issued.versions,
            inputs=dict(inputs),
            files=self.files,
            tags=self.tags,
            unit_page=self.unit_page,
        )
        if new != self.issued:
            self.store.issue(replace(new, versions=present_versions()).to_bytes())
        sweep(self.store.folder)

    def _present(self, tag: str) -> IssuedTag:
        """What the tag's report would be made from now."""
        notebook = notebook_path(TAG_REPORT).read_bytes()
        parts = (self.slice_of(tag), notebook, kit_fingerprint().encode())
        return IssuedTag(self.folders[tag], fingerprint(parts))

    def _unit_mark(self, tables: Mapping[str, bytes]) -> str:
        """What the unit's page would be made from now."""
        tags = [[tag, self.tags[tag].fingerprint] for tag in self.folders]
        return fingerprint(
            (
                json.dumps([dict(self.unit.input_hashes), tags], sort_keys=True).encode(),
                notebook_path(UNIT_SUMMARY).read_bytes(),
                kit_fingerprint().encode(),
                *tables.values(),
            )
        )

    def _keep(self, name: str, data: bytes | None) -> None:
        """Put one output in its place; None: there is none any more."""
        if data is None:
            self.store.withdraw(name)
            self.files.pop(name, None)
        else:
            self.files[name] = self.store.put(name, data)


def open_dossier(unit: UnitRecords, unit_folder: Path, outputs: Path) -> Dossier:
    """The outputs folder of a unit, as it stands.

    Raises
    ------
    RunError
        If the folder holds another unit's outputs, lies inside the unit's folder or cannot be read.
    """
    if outputs.resolve().is_relative_to(unit_folder.resolve()):
        raise RunError(f"{outputs}: lies inside the unit's folder, where nothing is written. Give another --out.")
    if outputs.exists() and not outputs.is_dir():
        raise RunError(f"{outputs}: a file, where a folder for the outputs is wanted. Give another --out.")
    issued, manifest = read_manifest(outputs)
    if issued.unit not in ("", unit.settings.unit):
        raise RunError(
            f"{outputs}: holds the outputs of unit {issued.unit!r}, not of {unit.settings.unit!r}. Give another --out."
        )
    return Dossier(
        unit=unit,
        unit_folder=unit_folder,
        store=Store(outputs, issued.files, manifest),
        issued=issued,
        folders=folder_names(unit.tags),
        files=dict(issued.files),
        tags=dict(issued.tags),
        unit_page=issued.unit_page,
    )
