"""The page that follows: served to this machine's own browser, from the outputs alone."""

from __future__ import annotations

import json
from collections.abc import Iterator
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path

import pytest

from kit.runs.watching.following import Follower, following
from kit.runs.watching.news import News

_PAGE = "tags/HV-1/report.html"


@pytest.fixture
def follower(tmp_path: Path) -> Iterator[Follower]:
    outputs = tmp_path / "outputs"
    (outputs / "tags" / "HV-1").mkdir(parents=True)
    (outputs / _PAGE).write_text("<p>Ω</p>", encoding="utf-8")
    (tmp_path / "secret.txt").write_text("not of the outputs", encoding="utf-8")
    with following(outputs) as begun:
        yield begun


def _get(follower: Follower, path: str, host: str | None = None) -> tuple[HTTPConnection, HTTPResponse]:
    connection = HTTPConnection("127.0.0.1", follower.port, timeout=30)
    connection.request("GET", path, headers={} if host is None else {"Host": host})
    return connection, connection.getresponse()


def _answer(follower: Follower, path: str, host: str | None = None) -> tuple[int, bytes]:
    connection, response = _get(follower, path, host)
    answer = response.status, response.read()
    connection.close()
    return answer


def test_a_report_is_served_byte_for_byte(follower: Follower):
    assert _answer(follower, f"/{follower.token}/pages/{_PAGE}") == (200, "<p>Ω</p>".encode())


def test_the_frame_runs_its_own_script_alone(follower: Follower):
    connection, response = _get(follower, f"/{follower.token}/")
    assert response.status == 200
    assert b'<script src="follow.js">' in response.read()
    assert response.getheader("Content-Security-Policy", "").startswith("default-src 'none'; script-src 'self'")
    connection.close()


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/news",
        f"/pages/{_PAGE}",
        "/{token}/pages/../../secret.txt",
        "/{token}/pages/%2e%2e/secret.txt",
        "/{token}/x",
    ],
)
def test_nothing_else_is_served(follower: Follower, path: str):
    assert _answer(follower, path.format(token=follower.token))[0] == 404


def test_another_sites_name_for_this_machine_is_refused(follower: Follower):
    assert _answer(follower, f"/{follower.token}/", "elsewhere.example")[0] == 404


def test_a_page_is_told_what_was_made_and_what_stays_and_that_the_watching_ended(follower: Follower):
    connection, response = _get(follower, f"/{follower.token}/news")
    assert _next(response)["number"] == 0
    follower.tell(News("HV-1: Pass", page=_PAGE, seconds=0.3))
    assert (_next(response).items() >= {"page": _PAGE, "line": "HV-1: Pass", "stays": False}.items()) is True
    follower.tell(News("strokes.csv: The file is empty.", stays=True))
    assert (_next(response).items() >= {"page": _PAGE, "stays": True, "number": 2}.items()) is True
    follower.end()
    assert response.readline() == b"event: ended\n"
    connection.close()


def test_a_page_opened_later_gets_what_was_told_last(follower: Follower):
    follower.tell(News("HV-1: Pass", page=_PAGE))
    connection, response = _get(follower, f"/{follower.token}/news")
    assert _next(response)["line"] == "HV-1: Pass"
    connection.close()


def _next(response: HTTPResponse) -> dict[str, object]:
    line = response.readline()
    assert line.startswith(b"data: "), line
    assert response.readline() == b"\n"
    told: dict[str, object] = json.loads(line.removeprefix(b"data: "))
    return told
