"""The command `strokebook`: calls and printing, nothing else."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

import kit
from kit.basis.verdicts import FAILING, VERDICT_WORDS
from kit.check_lines import check_lines
from kit.console import BatchProgress, row_count_lines, say
from kit.demo import DEMO_UNIT, DemoFolderError, lay_down_demo
from kit.records import UnitError, find_unit
from kit.runs.done import BatchReport, TagReport, nothing_to_do
from kit.runs.engines import Engine, prepared
from kit.runs.errors import RunError

if TYPE_CHECKING:
    from kit.runs.notebook.source import Source
    from kit.runs.workers.cluster import Cluster

SOME_PAGE_MISSING: Final = 1
UNUSABLE: Final = 2
TAG_FAILS: Final = 3
INTERRUPTED: Final = 130
TAG_TIMEOUT_S: Final = 300
CHECK_LINES: Final = 40

app = typer.Typer(
    name="strokebook",
    help="Commissioning reports of positioner-controlled valves, from recorded readings.",
    epilog="Exit status: 0 done; 1 some tag has no report; 2 the call or the unit's folder cannot be used; "
    "3 a tag fails (with --strict only). Example: `strokebook batch inputs/north`",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode="markdown",
)

Unit = Annotated[
    str | None,
    typer.Argument(
        metavar="[UNIT]", help="The unit's folder. May be left out where inputs/ holds just one.", show_default=False
    ),
]
Out = Annotated[
    Path | None,
    typer.Option("--out", metavar="FOLDER", help="Folder for the outputs; by default outputs/ and the unit's name."),
]
EngineOption = Annotated[
    Engine,
    typer.Option(
        "--engine", help="fast: kernels forked from a preloaded process (Linux); plain: an interpreter for each tag."
    ),
]
TagTimeout = Annotated[
    int, typer.Option("--tag-timeout", min=1, metavar="SECONDS", help="Stops a tag's notebook that takes longer.")
]
TlsFile = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="PEM file for a tls:// cluster; all three, or as dask is configured."),
]
Strict = Annotated[bool, typer.Option("--strict", help="Exit status 3 when a tag fails or conditionally fails.")]


Notebook = Annotated[
    Path | None,
    typer.Option(
        "--notebook",
        metavar="FILE",
        help="The notebook to run for a tag; by default notebooks/tag_report.ipynb here, else the packaged one.",
    ),
]


def main() -> None:
    """Run the command; a call or a folder that cannot be used gives one line and exit status 2."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a console that has no ohm sign shows ? and goes on
    status = _status()
    if status == INTERRUPTED:
        say("strokebook: interrupted. What was issued before stands; run the same command again.", error=True)
    sys.exit(status)


def _status() -> int:
    try:
        return app(standalone_mode=False) or 0
    except (UnitError, RunError, DemoFolderError) as error:
        say(f"strokebook: {error}", error=True)
        return UNUSABLE
    except (KeyboardInterrupt, typer.Abort):
        return INTERRUPTED
    except Exception as error:
        if not hasattr(error, "format_message"):  # only wrong usage has one; its class moved between versions
            raise
        say(f"strokebook: {error.format_message()} `strokebook --help` shows what it takes.", error=True)
        return UNUSABLE


def _print_version(wanted: bool) -> None:
    if wanted:
        say(f"strokebook {kit.__version__}")
        raise typer.Exit


@app.callback()
def strokebook(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and end.", callback=_print_version, is_eager=True)
    ] = False,
) -> None:
    """Commissioning reports of positioner-controlled valves, from recorded readings."""


@app.command(epilog="Example: `strokebook demo` and then `strokebook batch`")
def demo(
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="[FOLDER]", help=f"Becomes the unit's folder; by default inputs/{DEMO_UNIT}."),
    ] = None,
) -> None:
    """Lay down the demo unit: an invented plant with a story for every tag."""
    place = folder or Path("inputs", DEMO_UNIT)
    lay_down_demo(place)
    say(f"The demo unit (invented) is in {place}. Next: strokebook batch {place}")


@app.command(epilog="Example: `strokebook check inputs/north`")
def check(
    unit: Unit = None,
    everything: Annotated[bool, typer.Option("--all", help="Every line, and every file's row counts.")] = False,
) -> None:
    """Read everything, print what is open and what each recording holds, run no report."""
    from kit.assessment.recordings.describe import describe_recordings
    from kit.records import tag_records
    from kit.records.recordings.proposals.propose import propose_tables
    from kit.records.unit import read_unit

    folder = find_unit(unit)
    records = read_unit(folder)
    tags = dict.fromkeys(log.tag for log in records.recordings)
    recordings = [line for tag in tags for line in describe_recordings(tag_records(records, tag))]
    if everything:
        say("\n".join([*row_count_lines(records.counts), ""]))
    say("\n".join(check_lines(records, recordings, at_most=None if everything else CHECK_LINES)))
    proposals = propose_tables(records, folder)
    if proposals:
        say("\n".join(proposals))


@app.command(epilog="Example: `strokebook report inputs/north FV-101`, or `strokebook report FV-101`")
def report(
    unit_or_tag: Annotated[str, typer.Argument(metavar="[UNIT] TAG", help="The unit's folder, then the tag.")],
    tag: Annotated[str | None, typer.Argument(metavar="", show_default=False)] = None,
    out: Out = None,
    notebook: Notebook = None,
    engine: EngineOption = "fast",
    tag_timeout: TagTimeout = TAG_TIMEOUT_S,
    strict: Strict = False,
    pdf: Annotated[bool, typer.Option("--pdf", help="As PDF too, beside the page.")] = False,
) -> None:
    """Run one tag's notebook to HTML."""
    folder = find_unit(unit_or_tag if tag else None)
    source = _chosen(notebook)
    with prepared(engine):  # it preloads while the rest is imported here
        from kit.runs.batch import run_report

        outputs = _outputs(folder, out)
        made = run_report(
            folder, outputs, tag or unit_or_tag, notebook=source, time_limit_s=tag_timeout, engine=engine, pdf=pdf
        )
    say("\n".join(_report_lines(made)))
    if made.failed or made.no_pdf:
        raise typer.Exit(SOME_PAGE_MISSING)
    if strict and made.verdict in FAILING:
        raise typer.Exit(TAG_FAILS)


@app.command(epilog="Examples: `strokebook batch inputs/north`, `strokebook batch inputs/north --pdf FV-101 FV-102`")
def batch(
    unit: Unit = None,
    tags: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[TAG]...",
            help="With --pdf: these alone, after the unit or, where inputs/ holds just one, without it.",
            show_default=False,
        ),
    ] = None,
    pdf: Annotated[
        bool, typer.Option("--pdf", help="As PDF too: the tags named after the unit, or all; what stands is left.")
    ] = False,
    dossier: Annotated[
        bool,
        typer.Option("--dossier", help="Every tag as PDF, all bound into dossier.pdf behind an index."),
    ] = False,
    every_tag: Annotated[bool, typer.Option("--all", help="Every tag, not only what changed.")] = False,
    notebook: Notebook = None,
    workers: Annotated[
        int | None, typer.Option("--workers", min=1, metavar="N", help="Worker processes; by default one a core.")
    ] = None,
    out: Out = None,
    log_file: Annotated[
        Path | None, typer.Option("--log-file", metavar="FILE", help="Add one line of JSON a tag to this file.")
    ] = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", metavar="ADDRESS", help="A dask scheduler, such as tcp://host:8786.")
    ] = None,
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
    folder, tags = _unit_and_tags(unit, tags or [], named=pdf and not dossier)
    outputs = _outputs(folder, out)
    source = _chosen(notebook)
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


def _unit_and_tags(unit: str | None, tags: list[str], *, named: bool) -> tuple[Path, list[str]]:
    """The unit's folder and the tags; with tags ``named`` the first word is one where no folder is called that."""
    if unit is None or not named or Path(unit).exists():
        return find_unit(unit), tags
    try:
        return find_unit(unit), tags
    except UnitError:
        return find_unit(None), [unit, *tags]


@app.command(epilog="Example: `strokebook verify inputs/north`")
def verify(unit: Unit = None, out: Out = None) -> None:
    """Hold the outputs against manifest.json; exit status 1 when something differs."""
    from kit.runs.outputs.verify import KIND_WORDS, verify_outputs

    folder = find_unit(unit)
    outputs = _outputs(folder, out)
    differences = verify_outputs(folder, outputs)
    for difference in differences:
        say(f"{difference.file}: {KIND_WORDS[difference.kind]}")
    if differences:
        say(f"{len(differences)} differences. `strokebook batch {folder}` makes what changed again.")
        raise typer.Exit(SOME_PAGE_MISSING)
    say(f"{outputs}: every file is as issued, and the inputs are as they were.")


def _outputs(unit_folder: Path, out: Path | None) -> Path:
    return out or Path("outputs", unit_folder.resolve().name)


def _chosen(notebook: Path | None) -> Source:
    """The notebook to run; which one it is is said where there was a choice."""
    from kit.runs.notebook.source import choose

    chosen = choose(notebook)
    if chosen.said:
        say(chosen.said)
    return chosen.source


def _standing(unit_folder: Path, outputs: Path, notebook: Source) -> Mapping[str, str] | None:
    """Every tag's verdict where nothing changed: found before all that makes reports is imported."""
    from kit.runs.outputs.standing import standing_verdicts

    return standing_verdicts(unit_folder, outputs, notebook)


def _machines(address: str | None, *tls_files: Path | None) -> Cluster | None:
    if address is None:
        return None
    from kit.runs.workers.cluster import Cluster

    return Cluster(address, *tls_files)


def _report_lines(made: TagReport) -> list[str]:
    """One report: its page, its PDF, its verdict."""
    lines = [str(made.page)]
    if made.pdf is not None:
        lines.append(str(made.pdf))
    elif made.no_pdf:
        lines.append(f"No PDF: {made.no_pdf}")
    elif made.pdf_gone:
        lines.append("Its PDF was of the page before and is kept in superseded/; --pdf makes it again.")
    return [*lines, f"{VERDICT_WORDS.get(made.verdict, 'No report')}: {made.reason}"]


def _batch_lines(made: BatchReport) -> list[str]:
    """What a batch did: counts by verdict, what failed, where to look."""
    counts = {verdict: list(made.verdicts.values()).count(verdict) for verdict in VERDICT_WORDS}
    done = f"{len(made.ran)} reports made, {made.unchanged} unchanged."
    nothing = " Nothing to do: no input, notebook, source or library changed." if made.nothing_to_do else ""
    if made.pdfs or made.no_pdf:
        done += f" {len(made.pdfs)} PDFs made."
    lines = [done + nothing]
    lines += [f"  {VERDICT_WORDS[verdict]}: {count}" for verdict, count in counts.items() if count]
    lines += [f"  No report: {tag}: {error}" for tag, error in made.failed.items()]
    lines += [f"  No PDF: {tag}: {error}" for tag, error in made.no_pdf.items()]
    if made.pdfs_gone:
        lines.append(f"  PDFs of pages before, now in superseded/: {len(made.pdfs_gone)}; --pdf makes them again.")
    if made.unit_page_error:
        lines.append(f"  The unit's page is incomplete: {made.unit_page_error}")
    if made.bound and made.no_pdf:
        without = ", ".join(made.no_pdf)
        lines.append(f"  dossier.pdf is incomplete, as its cover says. Not bound in: {without}. --dossier tries again.")
    if made.bound_gone:
        lines.append("  dossier.pdf was of other PDFs and is kept in superseded/; --dossier binds it again.")
    return [*lines, *([str(made.bound)] if made.bound else []), str(made.unit_page)]


if __name__ == "__main__":
    main()
