"""A page on this machine alone that shows a tag's report and follows it: the report itself stays as it is."""

from __future__ import annotations

import contextlib
import json
import mimetypes
import secrets
import threading
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote, urlsplit

from kit.runs.watching.news import News

_HOST: Final = "127.0.0.1"  # nobody beyond this machine
_FRAME: Final = Path(__file__).parent / "frame"
_FRAME_FILES: Final = {"": "follow.html", "follow.js": "follow.js", "follow.css": "follow.css"}
_PAGES: Final = "pages/"
_POLICY: Final = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; frame-src 'self'"
_STILL_HERE_S: Final = 10.0  # so often an idle page is told so: one that was closed is found out by it
_TRIES: Final = 20
_NEXT_TRY_S: Final = 0.02  # a folder that is being replaced is away for a moment


@dataclass(slots=True)
class Follower:
    """What the pages that follow are told, and where they are served from."""

    outputs: Path
    token: str = field(default_factory=lambda: secrets.token_urlsafe(16))  # another user of this machine lacks it
    port: int = 0
    _changed: threading.Condition = field(default_factory=threading.Condition)
    _latest: dict[str, Any] = field(default_factory=lambda: {**asdict(News("")), "number": 0})
    _ended: bool = False

    @property
    def address(self) -> str:
        """The address to open in a browser."""
        return f"http://{_HOST}:{self.port}/{self.token}/"

    @property
    def hosts(self) -> tuple[str, str]:
        """What a browser that was sent here by that address, and not by another site's name, calls this host."""
        return f"{_HOST}:{self.port}", f"localhost:{self.port}"

    def tell(self, news: News) -> None:
        """Tell every page that follows; where no page was made, the one before stays."""
        with self._changed:
            page, number = news.page or self._latest["page"], self._latest["number"] + 1
            self._latest = {**asdict(news), "page": page, "number": number}
            self._changed.notify_all()

    def end(self) -> None:
        """Have every page that waits for news go."""
        with self._changed:
            self._ended = True
            self._changed.notify_all()

    def news_after(self, number: int) -> dict[str, Any] | None:
        """What was told last, once that is not number ``number`` any more; the same again: nothing for a while.

        None: the watching has ended.
        """
        with self._changed:
            self._changed.wait_for(lambda: self._ended or self._latest["number"] != number, _STILL_HERE_S)
            return None if self._ended else self._latest


@contextlib.contextmanager
def following(outputs: Path) -> Iterator[Follower]:
    """Serve the outputs on this machine while the block runs."""
    follower = Follower(outputs.resolve())

    class Handler(_Handler):
        told = follower

    server = ThreadingHTTPServer((_HOST, 0), Handler)
    server.daemon_threads = True
    follower.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True)
    thread.start()
    try:
        yield follower
    finally:
        follower.end()
        server.shutdown()
        server.server_close()
        thread.join()


class _Handler(BaseHTTPRequestHandler):
    told: Follower

    def do_GET(self) -> None:
        path = unquote(urlsplit(self.path).path)
        start = f"/{self.told.token}/"
        if self.headers.get("Host") not in self.told.hosts or not secrets.compare_digest(
            path[: len(start)].encode(), start.encode()
        ):
            self.send_error(404)
            return
        name = path[len(start) :]
        if name == "news":
            self._send_news()
        elif name in _FRAME_FILES:
            self._send(_FRAME / _FRAME_FILES[name], _POLICY)
        elif name.startswith(_PAGES):
            self._send(self.told.outputs / name.removeprefix(_PAGES))
        else:
            self.send_error(404)

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing: the shell shows what became of each save."""

    def _send(self, path: Path, policy: str = "") -> None:
        inside = path.resolve().is_relative_to(_FRAME if policy else self.told.outputs)
        data = _bytes_of(path) if inside else None
        if data is None:
            self.send_error(404)
            return
        self.send_response(200)
        kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
        self.send_header("Content-Type", f"{kind}; charset=utf-8" if kind.startswith("text/") else kind)
        self.send_header("Content-Length", str(len(data)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Referrer-Policy", "no-referrer")
        if policy:
            self.send_header("Content-Security-Policy", policy)
        self.end_headers()
        self.wfile.write(data)

    def _send_news(self) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        number = -1
        with contextlib.suppress(ConnectionError):
            while (latest := self.told.news_after(number)) is not None:
                text = f"data: {json.dumps(latest)}\n\n" if latest["number"] != number else ": still here\n\n"
                self.wfile.write(text.encode())
                self.wfile.flush()
                number = latest["number"]
            self.wfile.write(b"event: ended\ndata: {}\n\n")
        self.close_connection = True


def _bytes_of(path: Path) -> bytes | None:
    """A file's bytes; where its folder is just being replaced, those that come into its place."""
    for _ in range(_TRIES):
        with contextlib.suppress(OSError):
            return path.read_bytes()
        time.sleep(_NEXT_TRY_S)
    return None
