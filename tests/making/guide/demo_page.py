"""The guide page of the demo unit: its tags, one story each, and the verdict that each must get."""

from __future__ import annotations

from typing import Final

from kit.basis.checks import CHECKS
from kit.basis.verdicts import TAG_VERDICTS, VERDICT_WORDS
from kit.demo import DEMO_UNIT
from tests.making.demo.stories import STORIES
from tests.making.demo.story import Plan, Slip, Story
from tests.making.demo.walk import Walk, log_name

_HEAD: Final = f"""# The demo unit, tag by tag

`strokebook demo` lays down `inputs/{DEMO_UNIT}/`: unit 40 of a lime works that does not exist. Plant, people,
instruments, limits, readings and recordings are invented. Each tag has one story, and all else about it is healthy, so
that its verdict comes from its story alone. The page, and all of the unit but `unit.toml` and `instruments.csv`, is
made from the stories in `tests/making/demo/` by `python -m tests.making.demo`; the tests hold every verdict in it
against the kit's own.
"""
_FILES: Final = """## Files of different kinds

| folder | what it shows |
| --- | --- |
| `records/kiln` | CSV, comma and decimal point, UTF-8 |
| `records/slaker/week-11` | CSV, semicolon and decimal comma, cp1252 in the visits |
| `records/storage/hall-2` | tab-separated with a UTF-8 mark; Parquet; one XLSX workbook with a sheet a table |
| `records/archive-2025` | the older visit of TV-115: its history |
| `records/hydrator` | what stands beside the recordings: visits, settings, prechecks, insulation and earth |
| `logs/` | a folder a tag: Parquet, CSV, CSV with semicolon, decimal comma and time stamps with their zone |

`photo-list.csv` is no table of the kit and is named as such. Inclinometer IN-03 was past its due date; dial gauge DG-02
was never used.
"""


def demo_page() -> str:
    """The page ``notebooks/guide/demo.md`` as Markdown."""
    return "\n".join([_HEAD, *_stories(), "", *_counts(), "", *_slips(), "", *_recordings(), "", _FILES])


def _stories() -> list[str]:
    rows = [
        "## Tags",
        "",
        "| tag | service | story | verdict | decided by |",
        "| --- | --- | --- | --- | --- |",
    ]
    return rows + [_story(story) for story in STORIES]


def _story(story: Story) -> str:
    check = CHECKS[story.deciding_check].title.lower() if story.deciding_check else "–"
    told = f"**{story.title}.** {story.tells}"
    return f"| {story.tag.tag} | {story.tag.service} | {told} | {VERDICT_WORDS[story.verdict]} | {check} |"


def _recordings() -> list[str]:
    rows = [
        "## Recordings",
        "",
        "Made by the [virtual valve](virtual-valve.md), walked through its commissioning routine by an invented hand.",
        "One file a tag; the kit finds the tests in it by itself.",
        "",
        "| tag | file | logger | a second | recorded |",
        "| --- | --- | --- | --- | --- |",
    ]
    return rows + [
        _recording(story, plan, plan.walk) for story in STORIES for plan in story.visits if plan.walk is not None
    ]


def _recording(story: Story, plan: Plan, walk: Walk) -> str:
    tag, logger = story.tag.tag, walk.logger
    channels = ", ".join(each.removesuffix("_v").replace("_", " ") for each in logger.channels)
    file = log_name(tag, plan.visit, walk)
    return f"| {tag} | `{file}` | {plan.equipment.command} | {logger.rate_hz:g} samples | {channels} |"


def _counts() -> list[str]:
    rows = ["## Verdicts", "", "| verdict | tags |", "| --- | --- |"]
    counts = {verdict: sum(story.verdict == verdict for story in STORIES) for verdict in TAG_VERDICTS}
    return rows + [f"| {VERDICT_WORDS[verdict]} | {count} |" for verdict, count in counts.items()]


def _slips() -> list[str]:
    rows = ["## Faults of recording", "", "| tag | table | what was typed |", "| --- | --- | --- |"]
    return rows + [_slip(story, slip) for story in STORIES for slip in story.slips]


def _slip(story: Story, slip: Slip) -> str:
    return f"| {story.tag.tag} | {slip.table} | {slip.what} |"
