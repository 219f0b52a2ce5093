"""One unit's outputs in the making: which reports stand, what is put in their place."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Final

from kit.assessment.shown.summaries import FOLDER as SUMMARY
from kit.basis.folder_names import FolderNameError, folder_names
from kit.basis.records import UnitRecords
from kit.basis.verdicts import MARGINAL
from kit.records.issues.mark import issues_mark
from kit.records import tag_mark, tag_records, to_slice
from kit.runs.outputs.collect import TABLES, Collection, collect
from kit.runs.done import UNIT_PAGE
from kit.runs.errors import RunError
from kit.runs.engines import Engine
from kit.runs.notebook.execute import TagRun, run_unit_page
from kit.runs.hashing import fingerprint, sha256_of
from kit.runs.made_by import made_by, page_made_by, present_versions
from kit.runs.outputs.journal import Entry, Journal, journal_in
from kit.runs.outputs.manifest import MadeTag, Manifest, read_manifest
from kit.runs.notebook.packaged import UNIT_SUMMARY
from kit.runs.notebook.source import Source, packaged_source
from kit.runs.outputs.standing import is_as_written, is_there
from kit.runs.outputs.store import Store, Written
from kit.views.exporter import plotly_script
from kit.views.figure_file import FIGURE_FILE

PLOTLY_SCRIPT: Final = "assets/plotly.min.js"
_REPORT_FILES: Final = ("report.html", "report.ipynb", "result.json", FIGURE_FILE)
PDF: Final = "report.pdf"
BOUND: Final = "dossier.pdf"
_TAG_FILES: Final = (*_REPORT_FILES, PDF)
Shown = tuple[bool, bool]  # whether a report shows numbers of rows, and offers other instruments
_SHOWN: Final[tuple[Shown, ...]] = ((False, False), (False, True), (True, False), (True, True))
_FURTHER: Final = (b"rows ", b"register ")  # so that one never stands for the other
SHOWN_IN_PDF: Final = ("report.html", "result.json")


@dataclass
class Dossier:
    """One run over a unit: its store, and the manifest that it is going to write."""

    unit: UnitRecords
    unit_folder: Path
    store: Store
    journal: Journal
    before: Manifest  # as it stands before this run
    folders: Mapping[str, str]  # name of a tag's folder, in the register's order
    notebook: Source  # that the tags' pages are made by
    files: dict[str, Written] = field(default_factory=dict)
    tags: dict[str, MadeTag] = field(default_factory=dict)
    unit_page: str = ""
    bound: str = ""  # fingerprint of what the bound PDF was made from
    versions: Mapping[str, str] = field(default_factory=dict)  # that the unit's page was made with
    _present: dict[str, dict[Shown, MadeTag]] = field(default_factory=dict)

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

    def present(self, tag: str, shown: Shown = (False, False)) -> MadeTag:
        """What the tag's report would be made from and by now: its share of the records, notebook, package, libraries.

        ``shown``: whether the numbers of its used rows count too, and the register of instruments.
        """
        if tag not in self._present:
            share, *further = tag_mark(self.unit, tag)
            self._present[tag] = {
                each: MadeTag(self.folders[tag], self._mark(share, further, each), self._versions) for each in _SHOWN
            }
        return self._present[tag][shown]

    def _mark(self, share: bytes, further: Sequence[bytes], shown: Shown) -> str:
        parts = [name + part for name, part, counts in zip(_FURTHER, further, shown, strict=True) if counts]
        return fingerprint((share, *parts, self._made_by.encode()))

    def stands(self, tag: str) -> bool:
        """Whether the tag's last report was made from what is there now, and is still in its place.

        Its result is looked at byte by byte: tables and issues are made of it again.
        """
        there = tag in self.tags and all(self.is_there(self.place(tag, name)) for name in _REPORT_FILES)
        there = there and self._is_as_written(self.place(tag, "result.json"))
        return there and replace(self.tags[tag], pdf="") in [self.present(tag, each) for each in _SHOWN]

    def keep_tag(self, tag: str, outcome: TagRun) -> None:
        """Put what a tag's run left in its place, all of it together; a PDF of another page goes with that page."""
        folder = f"tags/{self.folders[tag]}"
        left = dict(zip(_REPORT_FILES, (outcome.html, outcome.ipynb, outcome.result, outcome.figures), strict=True))
        pdf = self._pdf_of(tag, left)
        written = self.store.put_folder(folder, {**left, PDF: pdf})
        for name in _TAG_FILES:
            self.files.pop(f"{folder}/{name}", None)
        self.files.update(written)
        present = self.present(tag, (shows_places(outcome), offers_instruments(outcome)))
        self.tags[tag] = replace(
            present,
            fingerprint=present.fingerprint if outcome.result is not None else "",
            pdf=self.tags[tag].pdf if pdf is not None else "",
        )
        self.journal.add(Entry(tag, self.tags[tag], written))

    def has_pdf(self, tag: str) -> bool:
        """Whether a PDF of the tag is on record."""
        return tag in self.tags and bool(self.tags[tag].pdf)

    def keep_pdf(self, tag: str, prepared: Path, mark: str) -> None:
        """Put a tag's PDF beside its page; ``mark``: the fingerprint of what it was made from and by."""
        place, folder = self.place(tag, PDF), f"tags/{self.folders[tag]}/"
        self.files[place] = self.store.put(place, prepared.read_bytes())
        self.tags[tag] = replace(self.tags[tag], pdf=mark)
        own = {name: each for name, each in self.files.items() if name.startswith(folder)}
        self.journal.add(Entry(tag, self.tags[tag], own))

    def withdraw_pdf(self, tag: str) -> None:
        """Take a tag's PDF out of its place: it is not of what is there now, or could not be made again."""
        name = self.place(tag, PDF)
        self.store.withdraw(name)
        self.files.pop(name, None)
        self.tags[tag] = replace(self.tags[tag], pdf="")

    def withdraw_others(self) -> None:
        """Take out of their places the reports of tags that the register no longer has."""
        self.tags = {tag: self.tags[tag] for tag in self.folders if tag in self.tags}
        wanted = {f"tags/{folder}" for folder in self.folders.values()}
        for folder in sorted({name.rsplit("/", 1)[0] for name in self.files if name.startswith("tags/")} - wanted):
            self.store.withdraw_folder(folder, _TAG_FILES)
            for name in _TAG_FILES:
                self.files.pop(f"{folder}/{name}", None)

    def collect(self, time_limit_s: int, engine: Engine) -> tuple[Mapping[str, str], str]:
        """Write the unit's tables and its page, unless they were made from the same.

        Returns the verdict of every tag and what failed on the unit's page ("" when nothing did).
        """
        gone = self.before.issues_gone(self.unit_folder)
        collected = collect(self.unit, self.store, self.folders, gone.values())
        mark = self._unit_mark(collected)
        names = (*TABLES, UNIT_PAGE, FIGURE_FILE, PLOTLY_SCRIPT)
        if mark == self.before.unit_page and all(self._is_as_written(name) for name in names):
            self.unit_page = mark
            return collected.verdicts, ""
        page = run_unit_page(self.unit_folder, collected.folder, self.label, time_limit_s=time_limit_s, engine=engine)
        self._prepare(UNIT_PAGE, page.html)
        self._prepare(FIGURE_FILE, page.figures)
        self._prepare(PLOTLY_SCRIPT, plotly_script())
        self.files.update(self.store.put_prepared(names))
        for name in [each for each in self.files if each.startswith(f"{SUMMARY}/") and each not in names]:
            self.store.withdraw(name)  # a table that an earlier version made
            self.files.pop(name)
        self.unit_page = "" if page.error else mark
        self.versions = present_versions()
        return collected.verdicts, page.error

    def keep_bound(self, data: bytes, mark: str) -> None:
        """Put the bound PDF of the unit in its place; ``mark``: the fingerprint of what it was made from and by."""
        self.files[BOUND] = self.store.put(BOUND, data)
        self.bound = mark

    def withdraw_bound(self) -> None:
        """Take the bound PDF out of its place: it is not of the PDFs that are there."""
        self.store.withdraw(BOUND)
        self.files.pop(BOUND, None)
        self.bound = ""

    def withdraw_lost_pdfs(self) -> None:
        """Take off record the PDFs that are no longer in their place as they were made."""
        for tag in [tag for tag in self.tags if self.has_pdf(tag) and not self.is_there(self.place(tag, PDF))]:
            self.withdraw_pdf(tag)

    def put_on_record(self, *, whole_unit: bool) -> None:
        """Write the manifest, if anything changed.

        A run of one tag leaves the inputs that the other reports were made from on record, and the
        unit's page for the next batch.
        """
        if not self.is_there(PLOTLY_SCRIPT):
            self.files[PLOTLY_SCRIPT] = self.store.put(PLOTLY_SCRIPT, plotly_script())
        inputs = self.unit.input_hashes if whole_unit or not self.before.inputs else self.before.inputs
        up_to_date = whole_unit or self.tags == self.before.tags
        new = Manifest(
            unit=self.unit.settings.unit,
            versions=self.versions,
            inputs=dict(inputs),
            files={name: each.sha256 for name, each in self.files.items()},
            tags=self.tags,
            unit_page=self.unit_page if up_to_date else "",
            sizes={name: each.size_bytes for name, each in self.files.items()},
            issued=self.before.issued_now(self.unit_folder),
            made_by=made_by(self.notebook) if whole_unit else self.before.made_by,
            bound=self.bound,
            issues=issues_mark(self.unit_folder) if whole_unit else self.before.issues,
        )
        if new != self.before:
            self.store.put_manifest(new.to_bytes())
        self.journal.end()

    def _pdf_of(self, tag: str, left: Mapping[str, bytes | None]) -> bytes | None:
        """The tag's PDF, if it is in its place as made and of the page and the result that a run left; else None."""
        names = {name: self.place(tag, name) for name in (*SHOWN_IN_PDF, PDF)}
        made = {name: each.sha256 for name, place in names.items() if (each := self.files.get(place)) is not None}
        shown = {name: sha256_of(data) for name in SHOWN_IN_PDF if (data := left[name]) is not None}
        path = self.store.folder / names[PDF]
        if PDF not in made or shown != {name: made[name] for name in SHOWN_IN_PDF if name in made}:
            return None
        pdf = path.read_bytes() if path.is_file() else b""
        return pdf if sha256_of(pdf) == made[PDF] else None

    @cached_property
    def _made_by(self) -> str:
        return page_made_by(self.notebook)

    @cached_property
    def _versions(self) -> dict[str, str]:
        return present_versions() | self.notebook.on_record

    def is_there(self, name: str) -> bool:
        """Whether an output is in its place, as it was made."""
        return is_there(self.store.folder, name, self.files.get(name))

    def _is_as_written(self, name: str) -> bool:
        return is_as_written(self.store.folder, name, self.files.get(name))

    def _unit_mark(self, collected: Collection) -> str:
        """What the unit's page would be made from now."""
        tags = [[tag, self.tags[tag].fingerprint] for tag in self.folders]
        marked = [dict(self.unit.input_hashes), tags, dict(collected.digests), issues_mark(self.unit_folder)]
        return fingerprint((json.dumps(marked, sort_keys=True).encode(), page_made_by(packaged_source(UNIT_SUMMARY)).encode()))

    def _prepare(self, name: str, data: bytes) -> None:
        path = self.store.prepared(name)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


def shows_places(outcome: TagRun) -> bool:
    """Whether a report shows the number of a row that is used: where judging it brought up a problem."""
    found = [] if outcome.result is None else json.loads(outcome.result).get("found_problems", [])
    return any(each["row"] is not None for each in found)


def offers_instruments(outcome: TagRun) -> bool:
    """Whether a report may offer other instruments of the register: where one of its checks is marginal."""
    checks = [] if outcome.result is None else json.loads(outcome.result).get("results", [])
    return any(each["verdict"] in MARGINAL for each in checks)


def open_dossier(unit: UnitRecords, unit_folder: Path, outputs: Path, work: Path, notebook: Source) -> Dossier:
    """The outputs folder of a unit, as it stands, with what an interrupted run has put there.

    Raises
    ------
    RunError
        If the folder holds another unit's outputs or cannot be read, or a tag cannot name a folder.
    """
    before, _ = read_manifest(outputs)
    if before.unit not in ("", unit.settings.unit):
        raise RunError(
            f"{outputs}: holds the outputs of unit {before.unit!r}, not of {unit.settings.unit!r}. Give another --out."
        )
    try:
        folders = folder_names(unit.tags)
    except FolderNameError as error:
        raise RunError(str(error)) from error
    dossier = Dossier(
        unit=unit,
        unit_folder=unit_folder,
        store=Store(outputs, work),
        journal=journal_in(work),
        before=before,
        folders=folders,
        notebook=notebook,
        files=before.written(outputs),
        tags=dict(before.tags),
        unit_page=before.unit_page,
        bound=before.bound,
        versions=before.versions,
    )
    for entry in dossier.journal.entries():
        for name in _TAG_FILES:
            dossier.files.pop(f"tags/{entry.made.folder}/{name}", None)
        dossier.files.update(entry.files)
        dossier.tags[entry.tag] = entry.made
    return dossier
