"""`strokebook batch`."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kit.basis.verdicts import VERDICT_WORDS
from kit.cli.command import (
    SOME_PAGE_MISSING,
    TAG_FAILS,
    TAG_TIMEOUT_S,
    EngineOption,
    Notebook,
    Out,
    Strict,
    TagTimeout,
    Unit,
    app,
    chosen,
    outputs_of,
    unit_and_tags,
)
from kit.console import BatchProgress, say
from kit.records import find_unit
from kit.runs.done import BatchReport, nothing_to_do
from kit.runs.engines import prepared
from kit.runs.errors import RunError

if TYPE_CHECKING:
    from kit.runs.notebook.source import Source
    from kit.runs.workers.cluster import Cluster

PrintedTags = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="[TAG]...",
        help="With --pdf: these alone, after the unit or, where inputs/ holds just one, without it.",
        show_default=False,
    ),
]
Pdf = Annotated[
    bool, typer.Option("--pdf", help="As PDF too: the tags named after the unit, or all; what stands is left.")
]
Dossier = Annotated[
    bool, typer.Option("--dossier", help="Every tag as PDF, all bound into dossier.pdf behind an index.")
]
EveryTag = Annotated[bool, typer.Option("--all", help="Every tag, not only what changed.")]
Workers = Annotated[
    int | None, typer.Option("--workers", min=1, metavar="N", help="Worker processes; by default one a core.")
]
LogFile = Annotated[
    Path | None, typer.Option("--log-file", metavar="FILE", help="Add one line of JSON a tag to this file.")
]
ClusterAddress = Annotated[
    str | None, typer.Option("--cluster", metavar="ADDRESS", help="A dask scheduler, such as tcp://host:8786.")
]
TlsFile = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="PEM file for a tls:// cluster; all three, or as dask is configured."),
]


@app.command(epilog="Examples: `strokebook batch inputs/north`, `strokebook batch inputs/north --pdf FV-101 FV-102`")
def batch(
    unit: Unit = None,
    tags: PrintedTags = None,
    pdf: Pdf = False,
    dossier: Dossier = False,
    every_tag: EveryTag = False,
    notebook: Notebook = None,
    workers: Workers = None,
    out: Out = None,
    log_file: LogFile = None,
    cluster: ClusterAddress = None,
    cluster_tls_ca: TlsFile = None,
    cluster_tls_cert: TlsFile = None,
    cluster_tls_key: TlsFile = None,
    engine: EngineOption = "fast",
    tag_timeout: TagTimeout = TAG_TIMEOUT_S,
    strict: Strict = False,
) -> None:
    """Run every tag that changed since its last report, then the unit's page."""
    if tags and dossier:
        raise RunError("--dossier binds every tag of a unit: name no tags with it.")
    pdf = pdf or dossier
    if tags and not pdf:
        raise RunError(f"{' '.join(tags)}: tags are named with --pdf only; what changed is found by itself.")
    folder, tags = unit_and_tags(unit, tags or []) if pdf and not dossier else (find_unit(unit), [])
    outputs = outputs_of(folder, out)
    source = chosen(notebook)
    standing = None if every_tag or pdf else _standing(folder, outputs, source)
    if standing is not None:
        made = nothing_to_do(outputs, standing)
    else:
        with prepared(engine), BatchProgress(log_file) as progress:
            from kit.runs.batch import run_batch

            made = run_batch(
                folder,
                outputs,
                notebook=source,
                every_tag=every_tag,
                workers=workers,
                cluster=_machines(cluster, cluster_tls_ca, cluster_tls_cert, cluster_tls_key),
                progress=progress,
                time_limit_s=tag_timeout,
                engine=engine,
                pdf_of=tags if pdf else None,
                bound=dossier,
            )
    say("\n".join(_batch_lines(made)))
    if not made.complete:
        raise typer.Exit(SOME_PAGE_MISSING)
    if strict and made.any_tag_fails:
        raise typer.Exit(TAG_FAILS)


def _standing(unit_folder: Path, outputs: Path, notebook: Source) -> Mapping[str, str] | None:
    """Every tag's verdict where nothing changed: found before all that makes reports is imported."""
    from kit.runs.outputs.standing import standing_verdicts

    return standing_verdicts(unit_folder, outputs, notebook)


def _machines(address: str | None, *tls_files: Path | None) -> Cluster | None:
    if address is None:
        return None
    from kit.runs.workers.cluster import Cluster

    return Cluster(address, *tls_files)


def _batch_lines(made: BatchReport) -> list[str]:
    """What a batch did: counts by verdict, what failed, where to look."""
    counts = {verdict: list(made.verdicts.values()).count(verdict) for verdict in VERDICT_WORDS}
    done = f"{_count(len(made.ran), 'report')} made, {made.unchanged} unchanged."
    nothing = " Nothing to do: no input, notebook, source or library changed." if made.nothing_to_do else ""
    if made.pdfs or made.no_pdf:
        done += f" {_count(len(made.pdfs), 'PDF')} made."
    lines = [done + nothing]
    lines += [f"  {VERDICT_WORDS[verdict]}: {count}" for verdict, count in counts.items() if count]
    lines += [f"  No report: {tag}: {error}" for tag, error in made.failed.items()]
    lines += [f"  No PDF: {tag}: {error}" for tag, error in made.no_pdf.items()]
    if made.pdfs_gone:
        lines.append(f"  PDFs of pages before, taken away: {len(made.pdfs_gone)}; --pdf makes them again.")
    if made.unit_page_error:
        lines.append(f"  The unit's page is incomplete: {made.unit_page_error}")
    if made.bound and made.no_pdf:
        without = ", ".join(made.no_pdf)
        lines.append(f"  dossier.pdf is incomplete, as its cover says. Not bound in: {without}. --dossier tries again.")
    if made.bound_gone:
        lines.append("  dossier.pdf was of other PDFs and is gone; --dossier binds it again.")
    return [*lines, *([str(made.bound)] if made.bound else []), str(made.unit_page)]


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
