"""JupyterLab as an engineer has it, with folders of its own, stopped whatever happens."""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import psutil

from tests.browser.demo_pages import ROOT

_STARTS_WITHIN_S: Final = 180  # seconds on an idle machine
_ENDS_WITHIN_S: Final = 20
_SETTINGS: Final = {
    # every cell stands in the page, wherever a reader has scrolled to
    "notebook-extension/tracker": {"windowingMode": "none"},
    "apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
}
_OPTIONS: Final = (
    "--no-browser",
    "--allow-root",
    "--ServerApp.ip=127.0.0.1",
    "--ServerApp.port=0",
    "--ServerApp.port_retries=0",
    "--LabApp.news_url=None",
    "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
)


@dataclass
class Lab:
    """A running server."""

    folder: Path  # its root: inputs/ and notebooks/, copies
    address: str
    token: str
    said: list[str] = field(default_factory=list)

    def page_of(self, notebook: str) -> str:
        """Where a notebook is opened, in a workspace of its own: the default one brings back what was open before."""
        workspace = f"{self.address}/lab/workspaces/{secrets.token_hex(4)}"
        return f"{workspace}/tree/notebooks/{notebook}?token={self.token}"


@contextlib.contextmanager
def running_lab(folder: Path) -> Iterator[Lab]:
    """Serve copies of the demo unit and of the notebooks, so that nothing of the checkout can change."""
    work, own = folder / "work", folder / "own"
    shutil.copytree(ROOT / "inputs" / "lime-works", work / "inputs" / "lime-works")
    shutil.copytree(ROOT / "notebooks", work / "notebooks", ignore=shutil.ignore_patterns("guide", ".*"))
    for name, content in _SETTINGS.items():
        settings = own / "settings" / "@jupyterlab" / f"{name}.jupyterlab-settings"
        settings.parent.mkdir(parents=True)
        settings.write_text(json.dumps(content), encoding="utf-8")
    token = secrets.token_hex(16)
    process = subprocess.Popen(
        [sys.executable, "-m", "jupyterlab", *_OPTIONS],
        cwd=work,
        env=_environment(own, token),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )
    late = threading.Timer(_STARTS_WITHIN_S, process.kill)
    late.start()
    lab = Lab(work, "", token)
    reader = threading.Thread(target=lambda: lab.said.extend(process.stderr or ()), daemon=True)
    with process:
        try:
            lab.address = _address(process, lab.said)
            late.cancel()
            reader.start()
            yield lab
        finally:
            late.cancel()
            _end(process)
            if reader.ident:
                reader.join(_ENDS_WITHIN_S)


def _address(process: subprocess.Popen[str], said: list[str]) -> str:
    for line in process.stderr or ():
        said.append(line)
        found = re.search(r"(http://127\.0\.0\.1:\d+)/lab", line)
        if found:
            return found[1]
    raise AssertionError("JupyterLab did not start:\n" + "".join(said))


def _environment(own: Path, token: str) -> dict[str, str]:
    """The developer's own settings, workspaces and profiles take no part."""
    return {
        **os.environ,
        "JUPYTER_TOKEN": token,
        "JUPYTER_CONFIG_DIR": str(own / "config"),
        "JUPYTER_DATA_DIR": str(own / "data"),
        "JUPYTER_RUNTIME_DIR": str(own / "runtime"),
        "JUPYTERLAB_SETTINGS_DIR": str(own / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(own / "workspaces"),
        "IPYTHONDIR": str(own / "ipython"),
        "JUPYTER_PREFER_ENV_PATH": "1",
    }


def _end(process: subprocess.Popen[str]) -> None:
    """The server and every kernel of its."""
    with contextlib.suppress(psutil.NoSuchProcess):
        family = [psutil.Process(process.pid), *psutil.Process(process.pid).children(recursive=True)]
        process.terminate()
        for left in psutil.wait_procs(family, timeout=_ENDS_WITHIN_S)[1]:
            with contextlib.suppress(psutil.NoSuchProcess):
                left.kill()
