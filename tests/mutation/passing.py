"""Which lines each test passes through, and how long it takes: a plugin for one run of the tests."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Generator
from pathlib import Path

import coverage
import pytest

_SETUP = "set up for "


class Passing:
    """Switches the context of the coverage at each test; the fixtures count for every test of their file."""

    def __init__(self, kit: Path, into: Path) -> None:
        self._coverage = coverage.Coverage(source=[str(kit)], data_file=None, branch=False)
        self._into = into
        self._seconds: dict[str, float] = {}
        self._failed: list[str] = []

    def pytest_sessionstart(self) -> None:
        self._coverage.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_setup(self, item: pytest.Item) -> Generator[None, None, None]:
        self._coverage.switch_context(_SETUP + _file(item.nodeid))
        yield

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Generator[None, None, None]:
        self._coverage.switch_context(item.nodeid)
        yield
        self._coverage.switch_context("")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self._seconds[report.nodeid] = self._seconds.get(report.nodeid, 0.0) + report.duration
        if report.failed:
            self._failed.append(report.nodeid)

    def pytest_sessionfinish(self) -> None:
        self._coverage.stop()
        data = self._coverage.get_data()
        tests_of = defaultdict(list)
        for test in self._seconds:
            tests_of[_file(test)].append(test)
        tests: dict[str, set[int]] = {}
        names = list(self._seconds)
        number = {name: place for place, name in enumerate(names)}
        for path in data.measured_files():
            for line, contexts in data.contexts_by_lineno(path).items():
                into = tests.setdefault(f"{path}:{line}", set())
                for context in contexts:
                    if context.startswith(_SETUP):
                        into.update(number[each] for each in tests_of[context.removeprefix(_SETUP)])
                    elif context in number:
                        into.add(number[context])
        passing = {place: sorted(each) for place, each in tests.items() if each}
        self._into.write_text(
            json.dumps({"tests": names, "seconds": self._seconds, "failed": self._failed, "passing": passing})
        )


def _file(name: str) -> str:
    return name.partition("::")[0]


def main(kit: str, into: str, *arguments: str) -> int:
    """Run the tests with the plugin."""
    return int(pytest.main([*arguments], plugins=[Passing(Path(kit), Path(into))]))


if __name__ == "__main__":
    import sys

    sys.exit(main(*sys.argv[1:]))
