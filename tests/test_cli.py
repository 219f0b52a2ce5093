"""The command, as a user types it."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook
from typer.testing import CliRunner

import kit
from kit import cli
from kit.demo import DEMO_UNIT
from kit.runs.done import BatchReport, TagReport
from kit.runs.outputs.store import files_below
from tests.runs.stand_in import rows_of
from tests.small_unit import small_unit
from tests.starting.lists import HEADINGS, workbook

__all__ = ["small_unit"]  # a fixture

Typed = Callable[..., subprocess.CompletedProcess[str]]
COMMANDS = tuple(command.name or command.callback.__name__ for command in cli.app.registered_commands)


def strokebook(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the installed command in ``folder``."""
    environment = {**os.environ, "COLUMNS": "100", "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(
        [sys.executable, "-m", "kit.cli", *words],
        cwd=folder,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        timeout=600,
        check=False,
    )


@pytest.fixture
def typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    """Run the command in this process, in the folder ``tmp_path``: what an interpreter of its own would print."""
    monkeypatch.chdir(tmp_path)

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        monkeypatch.setattr(sys, "argv", ["strokebook", *words])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = capsys.readouterr()
        return subprocess.CompletedProcess(words, int(ended.value.code or 0), said.out, said.err)

    return run


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in files_below(folder)}


def one_line(done: subprocess.CompletedProcess[str]) -> str:
    """The error line of a refused call: one line, no traceback, exit status 2."""
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    return done.stderr


@pytest.fixture
def small_folder(small_unit: Path) -> Path:
    """The folder in which the command is typed: inputs/ holds just one unit."""
    return small_unit.parents[1]


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_shows_an_example_in_its_help(command: str):
    shown = CliRunner().invoke(cli.app, [command, "--help"])
    assert shown.exit_code == 0
    assert re.search(f"Examples?: `strokebook {command}[ `]", " ".join(shown.output.split()))
    assert not set(shown.output) & set("╭│╰─\x1b")


def test_the_version_is_the_packages():
    assert CliRunner().invoke(cli.app, ["--version"]).output == f"strokebook {kit.__version__}\n"


@pytest.mark.usefixtures("small_unit")
def test_wrong_usage_gets_one_line(typed: Typed):
    for words, said in (
        (("bach",), "there is no command bach. Was batch meant? `strokebook` lists the commands."),
        (("batch", "--wrkers", "2"), "batch has no option --wrkers. Was --workers meant?"),
        (("--wrkers",), "strokebook has no option --wrkers."),
        (("batch", "--workers", "0"), "--workers 0: it has to be a whole number from 1."),
        (("batch", "--workers=x"), "--workers x: it has to be a whole number from 1."),
        (("report", "--engine", "fst", "HV-1"), "--engine fst: it has to be one of fast, plain."),
        (("report",), "report needs TAG."),
        (("new",), "new needs FOLDER."),
        (("demo", "one", "two", "three"), "demo takes no further word: two three."),
        (("batch", "--out"), "--out needs FOLDER behind it."),
        (("check", "--all=3"), "--all takes no value."),
    ):
        line = one_line(typed(*words))
        assert line.startswith(f"strokebook: {said}")
        assert line.endswith(("lists the commands.\n", "--help` shows what it takes.\n"))


@pytest.mark.parametrize("width", [40, 80, 200])
def test_help_shows_arguments_as_they_are_typed_at_any_width(width: int):
    shown = CliRunner().invoke(cli.app, ["report", "--help"], prog_name="strokebook", terminal_width=width).output
    assert " ".join(shown.split()).startswith("Usage: strokebook report [UNIT] TAG [OPTIONS]")
    assert max(map(len, shown.splitlines())) <= max(width, 50)  # a word is never broken
    whole = " ".join(CliRunner().invoke(cli.app, ["--help"]).output.split())
    assert "Run every tag that changed since its last report, then the unit's page." in whole


def test_without_arguments_it_says_what_to_do_next_and_lists_the_commands(typed: Typed, tmp_path: Path):
    done = typed()
    assert done.returncode == 0
    assert done.stdout.startswith("There is no unit here yet.\n  strokebook new inputs/NAME")
    for command in COMMANDS:
        assert f"\n  {command} " in done.stdout
    typed("new", "inputs/north")
    assert "north: cannot be used. north/tags.csv: no usable row." in typed().stdout
    assert not (tmp_path / "outputs").exists()


def test_without_arguments_each_unit_has_its_state_and_the_command_that_comes_next(small_folder: Path, typed: Typed):
    before = list(files_below(small_folder))
    assert typed().stdout.startswith(
        "small: 3 tags, 1 record unanswered (a batch may find more), no batch yet.\n"
        f"  Next: strokebook batch {Path('inputs/small')}\n"
    )
    assert list(files_below(small_folder)) == before


@pytest.mark.usefixtures("small_unit")
def test_a_unit_that_is_not_there_gets_one_line(typed: Typed):
    assert "elsewhere" in one_line(typed("check", "elsewhere"))


def test_one_wrong_heading_is_one_line_and_two_are_two_more(small_unit: Path, typed: Typed):
    register = small_unit / "tags.csv"
    right = register.read_text(encoding="utf-8")
    register.write_text(right.replace("duty", "dutty", 1), encoding="utf-8")
    line = one_line(typed("check"))
    assert line.startswith(
        "strokebook: tags.csv cannot be used: tags has no column 'dutty', so it is not read. Was duty"
    )
    register.write_text(right.replace("duty", "dutty", 1).replace("motion", "motionn", 1), encoding="utf-8")
    assert typed("check").stderr.count("\n- ") == 2


@pytest.mark.usefixtures("small_unit")
def test_an_unknown_tag_gets_one_line_that_names_the_nearest(typed: Typed):
    assert "HV-1" in one_line(typed("report", "HV-l", "--engine", "plain"))


def test_the_demo_unit_is_laid_down_where_it_is_asked_for_and_never_over_anything(typed: Typed, tmp_path: Path):
    assert typed("demo").returncode == 0
    assert typed("demo", "other").returncode == 0
    usual, other = tmp_path / "inputs" / DEMO_UNIT, tmp_path / "other"
    assert list(files_below(usual)) == list(files_below(other))
    assert "not empty" in one_line(typed("demo"))


def test_a_new_unit_is_laid_down_and_says_what_comes_next(typed: Typed, tmp_path: Path):
    done = typed("new", "inputs/north")
    assert done.returncode == 0
    assert done.stdout.splitlines()[-1] == f"  strokebook check {Path('inputs/north')}"
    assert (tmp_path / "inputs/north/unit.toml").is_file()
    assert "not empty" in one_line(typed("new", "inputs/north"))
    assert "no usable row" in one_line(typed("check"))
    assert "name it with --register" in one_line(typed("new", "inputs/south", "--sheet", "Valves"))


def test_a_list_is_carried_over_only_once_its_headings_are_confirmed(typed: Typed, tmp_path: Path):
    call = ("new", "inputs/north", "--register", str(workbook(tmp_path)))
    asked = typed(*call)
    assert asked.returncode == 2
    assert not (tmp_path / "inputs").exists()
    line = asked.stdout.splitlines()[-1]
    said = re.search(r'--columns "(.*)"$', line)
    assert said is not None
    done = typed(*call, "--columns", said[1])
    assert done.returncode == 0
    assert "valves.xlsx, sheet Valves: 9 rows, 4 used, 5 told:" in done.stdout
    check = typed("check").stdout
    assert "4 tags, 0 unanswered, 0 answered." in check
    assert "Limits that are placeholders: " in check


def test_the_proposals_are_written_into_a_file_that_is_not_there_and_read_from_it(typed: Typed, tmp_path: Path):
    call = ("new", "inputs/north", "--register", str(workbook(tmp_path)), "--columns", "list.toml")
    assert typed(*call).returncode == 2
    assert not (tmp_path / "inputs").exists()
    assert typed(*call).returncode == 0
    assert (tmp_path / "inputs/north/tags.csv").read_text(encoding="utf-8").count("\n") == 5


def test_on_a_terminal_the_headings_are_asked_for(typed: Typed, tmp_path: Path, monkeypatch):
    asked: list[str] = []

    of_the_system = iter(["no column", "own"])

    def answer(question: str, *, default: str) -> str:
        asked.append(question)
        return next(of_the_system) if question.startswith("System") else default

    monkeypatch.setattr("kit.cli.new.is_terminal", lambda: True)
    monkeypatch.setattr("typer.prompt", answer)
    done = typed("new", "inputs/north", "--register", str(workbook(tmp_path)))
    assert done.returncode == 0
    assert "'no column' is no column." in done.stdout
    assert "fail_action: 'FC' means" in asked
    assert len(asked) == len(HEADINGS) + 1 + len(("Ball", "control", "on/off", "FC", "FO", "FL"))


def test_check_prints_what_is_open_and_writes_nothing(small_folder: Path, typed: Typed):
    before = list(files_below(small_folder))
    done = typed("check")
    assert done.returncode == 0
    first, heading, opened, last = done.stdout.splitlines()
    assert first == "4 files: 11 rows read, 10 used, 1 set aside."
    assert heading == "1 record unanswered; a batch lists them in open_records.csv:"
    assert opened.startswith("  records/strokes.csv, row 6, time_s (HV/2): 'quick' is not a number.")
    assert last == "3 tags, 1 unanswered, 0 answered."
    counts = {
        line.split()[0]: line.split()[-3:] for line in typed("check", "--all").stdout.splitlines() if "csv  " in line
    }
    assert counts["records/strokes.csv"] == ["5", "4", "1"]
    assert list(files_below(small_folder)) == before


def test_report_batch_and_verify_on_a_small_unit(small_folder: Path):
    """One real run of everything: the exit statuses and the words printed."""
    report = strokebook(small_folder, "report", "HV/2", "--strict")
    assert report.returncode == 3, report.stderr
    page, verdict = report.stdout.splitlines()
    assert (small_folder / page).is_file()
    assert verdict.startswith("Fail: ")

    batch = strokebook(small_folder, "batch", "inputs/small", "--workers", "2")
    assert batch.returncode == 0, batch.stdout + batch.stderr
    assert "2 reports made, 1 unchanged." in batch.stdout
    assert "2 of 2 reports, 0 failed" in batch.stderr
    assert (small_folder / "outputs/small/index.html").is_file()

    issued = contents(small_folder / "outputs/small")
    again = strokebook(small_folder, "batch", "--strict")
    assert again.returncode == 3, again.stderr
    assert "0 reports made, 3 unchanged." in again.stdout
    assert contents(small_folder / "outputs/small") == issued

    assert strokebook(small_folder, "verify").returncode == 0
    (small_folder / "outputs/small/index.html").write_bytes(b"")
    verify = strokebook(small_folder, "verify")
    assert verify.returncode == 1
    assert "index.html: not as it was made" in verify.stdout


def test_no_notebook_is_run_because_it_lies_in_a_units_folder(small_unit: Path):
    """Typed inside the unit's folder, and from where the unit is named."""
    ran = small_unit.parents[1] / "ran"
    folder = small_unit / "notebooks"
    folder.mkdir()
    write_notebook(folder / "tag_report.ipynb", f"open({str(ran)!r}, 'w').close()")
    inside = strokebook(small_unit, "report", ".", "HV-1", "--out", str(small_unit.parents[1] / "out"))
    assert "lies in a unit's folder and was passed over" in inside.stdout
    assert "Conditional pass: " in inside.stdout
    assert strokebook(small_unit.parents[1], "batch").returncode == 0
    assert not ran.exists()


def test_a_notebook_that_is_named_is_run_and_one_without_page_one_gives_no_verdict(small_folder: Path):
    named = small_folder / "plant.ipynb"
    write_notebook(named, "print('of the plant')")
    done = strokebook(small_folder, "batch", "--notebook", "plant.ipynb")
    assert done.returncode == 1
    assert "Notebook: plant.ipynb" in done.stdout
    assert done.stdout.count("showed no page one") == 3
    outputs = small_folder / "outputs/small"
    assert {row["verdict"] for row in rows_of(outputs / "tags.csv")} == {""}
    assert "of the plant" in (outputs / "tags/HV-1/report.html").read_text(encoding="utf-8")
    assert "Made by the notebook plant.ipynb" in (outputs / "tags/HV-1/report.html").read_text(encoding="utf-8")
    assert '"notebook": "plant.ipynb"' in (outputs / "manifest.json").read_text(encoding="utf-8")


def write_notebook(path: Path, source: str) -> None:
    """A notebook that takes a unit and a tag, and shows no page one."""
    head = new_code_cell('unit: str = ""\ntag: str = ""', metadata={"tags": ["parameters"]})
    nbformat.write(new_notebook(cells=[head, new_code_cell(source)]), path)


@pytest.mark.usefixtures("small_unit")
def test_outputs_go_to_the_folder_that_is_asked_for(typed: Typed, monkeypatch):
    def made(unit: Path, outputs: Path, tag: str, **_: object) -> TagReport:
        return TagReport(outputs / tag, "not_tested", "No record.", failed=False)

    monkeypatch.setattr("kit.runs.batch.run_report", made)
    assert typed("report", "HV-3", "--out", "pages").stdout == f"{Path('pages/HV-3')}\nNot tested: No record.\n"
    assert typed("report", "HV-3").stdout.startswith(str(Path("outputs/small/HV-3")))


def test_a_tag_without_a_report_is_exit_status_1_even_when_another_fails(small_folder: Path, monkeypatch):
    made = BatchReport(Path("index.html"), ("A", "B"), 0, {"A": "ValueError: no"}, "", {"A": "", "B": "fail"})
    monkeypatch.chdir(small_folder)
    monkeypatch.setattr("kit.runs.batch.run_batch", lambda *_, **__: made)
    done = CliRunner().invoke(cli.app, ["batch", "--strict"])
    assert done.exit_code == 1
    assert "No report: A: ValueError: no" in done.output


def test_a_report_whose_notebook_failed_is_exit_status_1_and_says_why(small_folder: Path, monkeypatch):
    made = TagReport(Path("report.html"), "", "ValueError: no", failed=True)
    monkeypatch.chdir(small_folder)
    monkeypatch.setattr("kit.runs.batch.run_report", lambda *_, **__: made)
    done = CliRunner().invoke(cli.app, ["report", "HV-1"])
    assert done.exit_code == 1
    assert done.output == "report.html\nNo report: ValueError: no\n"


@pytest.mark.parametrize(
    ("words", "tags"),
    [
        (("small", "--pdf", "HV-1", "HV-3"), ["HV-1", "HV-3"]),
        (("--pdf", "HV-1", "HV-3"), ["HV-1", "HV-3"]),
        (("--pdf", "HV-1"), ["HV-1"]),
        (("--pdf",), []),
        (("small", "--pdf"), []),
        (("small",), None),
    ],
)
def test_tags_are_named_with_pdf_with_the_unit_or_without(
    small_folder: Path, typed: Typed, monkeypatch, words: tuple[str, ...], tags: list[str] | None
):
    asked: list[object] = []

    def made(unit: Path, *_: object, pdf_of: object, **__: object) -> BatchReport:
        asked.extend((unit.name, pdf_of))
        return BatchReport(Path("index.html"), (), 3, {}, "", {})

    monkeypatch.setattr("kit.runs.batch.run_batch", made)
    assert typed("batch", *words).returncode == 0
    assert asked == ["small", tags]


def test_a_word_that_is_neither_unit_nor_tag_is_refused(small_folder: Path, typed: Typed):
    assert "HV-9" in one_line(typed("batch", "--pdf", "HV-9"))
    assert "There is no unit HV-1" in one_line(typed("batch", "HV-1"))
    assert "There is no unit HV-1" in one_line(typed("batch", "HV-1", "--dossier"))
    assert "name no tags with it" in one_line(typed("batch", "small", "HV-1", "--dossier"))
    assert "with --pdf only" in one_line(typed("batch", "small", "HV-1"))


def test_of_two_units_the_one_must_be_named_before_a_tag(small_folder: Path, typed: Typed):
    shutil.copytree(small_folder / "inputs" / "small", small_folder / "inputs" / "other")
    assert "Say which unit" in one_line(typed("batch", "--pdf", "HV-1"))


@pytest.mark.parametrize("words", [("batch", "--pdf"), ("batch", "--dossier"), ("report", "HV-1", "--pdf")])
def test_without_the_optional_install_it_says_what_to_install(
    small_folder: Path, typed: Typed, monkeypatch, words: tuple[str, ...]
):
    monkeypatch.setattr("kit.runs.paper.installed._version", lambda package: "")
    assert "pip install 'strokebook[pdf]'" in one_line(typed(*words))
    assert not (small_folder / "outputs").exists()


def test_a_pdf_that_was_asked_for_and_not_made_is_exit_status_1(small_folder: Path, typed: Typed, monkeypatch):
    batch = BatchReport(Path("index.html"), (), 2, {}, "", {"A": "pass"}, pdfs=("B",), no_pdf={"A": "ValueError: no"})
    monkeypatch.setattr("kit.runs.batch.run_batch", lambda *_, **__: batch)
    done = typed("batch", "--pdf")
    assert (done.returncode, "No PDF: A: ValueError: no" in done.stdout) == (1, True)
    one = TagReport(Path("report.html"), "pass", "", failed=False, no_pdf="ValueError: no")
    monkeypatch.setattr("kit.runs.batch.run_report", lambda *_, **__: one)
    done = typed("report", "HV-1", "--pdf")
    assert (done.returncode, "No PDF: ValueError: no" in done.stdout) == (1, True)


def test_a_dossier_without_every_report_is_exit_status_1_and_names_what_it_lacks(
    small_folder: Path, typed: Typed, monkeypatch
):
    made = BatchReport(Path("index.html"), (), 2, {}, "", {}, no_pdf={"A": "x", "B": "y"}, bound=Path("dossier.pdf"))
    monkeypatch.setattr("kit.runs.batch.run_batch", lambda *_, **__: made)
    done = typed("batch", "--dossier")
    assert done.returncode == 1
    assert "dossier.pdf is incomplete, as its cover says. Not bound in: A, B." in done.stdout


def test_an_interrupt_says_what_stands(small_folder: Path, monkeypatch, capsys):
    def interrupted(*_: object, **__: object) -> BatchReport:
        raise KeyboardInterrupt

    monkeypatch.chdir(small_folder)
    monkeypatch.setattr("kit.runs.batch.run_batch", interrupted)
    monkeypatch.setattr(sys, "argv", ["strokebook", "batch"])
    with pytest.raises(SystemExit, match="130"):
        cli.main()
    assert "interrupted" in capsys.readouterr().err


def test_touched_prints_a_line_a_tag_and_what_does_not_stand(small_unit: Path, typed: Typed) -> None:
    listed = typed("touched", "small", "S-1")
    assert listed.returncode == 0
    assert "S-1, Stopwatch. 4 readings of 2 tags on 2 visits." in listed.stdout
    assert re.search(r"HV-1 +1 \(2026-03-02\) +time +2 +0\n", listed.stdout)
    impact = typed("touched", "S-1", "--error", "2.5 s", "--since", "2026-03-01")
    assert re.search(r"HV-1: .*pass at 20.10 s, then fail at 17.60 s .*: flips\n", impact.stdout)
    assert impact.stdout.rstrip().endswith(str(Path("outputs/small/touched/S-1/touched.html")))


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("s1",), "Was S-1 meant?"),
        (("S-1", "--since", "March"), "Write it as 2026-01-05"),
        (("S-1", "--error", "1 mA"), "S-1 measures s, not mA"),
    ],
)
def test_touched_says_in_a_line_what_is_wrong(small_unit: Path, typed: Typed, words: tuple[str, ...], why: str) -> None:
    said = typed("touched", "small", *words)
    assert said.returncode == 2
    assert why in said.stderr
    assert said.stderr.count("\n") == 1
