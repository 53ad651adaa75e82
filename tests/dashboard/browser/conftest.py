"""A server of its own and a browser on it, on a wide screen and on a phone."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlparse

import pytest
from playwright.sync_api import Browser

from tests.dashboard.browser.seen import SIZES, SLOW, Seen

ROOT = Path(__file__).resolve().parents[3]
NOW = "2026-11-22T18:00:00-07:00"


@pytest.fixture(params=list(SIZES))
def seen(request: pytest.FixtureRequest, browser: Browser, tmp_path: Path) -> Iterator[Seen]:
    """A server without a book, and a browser on it; afterwards no traceback in its log and no other host asked."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("RILLBOOK_", "STREAMLIT_"))}
    environment |= {"RILLBOOK_AS_OF": NOW, "XDG_DATA_HOME": str(tmp_path / "data"), "PYTHONPATH": str(ROOT)}
    log = tmp_path / "server.log"
    command = [sys.executable, "-m", "streamlit", "run", str(ROOT / "dashboard" / "app.py")]
    command += ["--server.headless=true", f"--server.port={port}", "--server.address=127.0.0.1"]
    with log.open("w") as out:
        server = subprocess.Popen(command, cwd=tmp_path, env=environment, stdout=out, stderr=subprocess.STDOUT)
    try:
        url = f"http://127.0.0.1:{port}"
        _wait_for(f"{url}/_stcore/health", server, log)
        width, height = SIZES[request.param]
        phone = request.param == "phone"
        context = browser.new_context(
            viewport={"width": width, "height": height}, is_mobile=phone, has_touch=phone, timezone_id="Asia/Tokyo"
        )
        context.set_default_timeout(SLOW)
        page = context.new_page()
        watched = Seen(page, url, request.param, log)
        page.on("request", lambda r: watched.hosts.add(urlparse(r.url).hostname or "inline"))
        yield watched
        context.close()
    finally:
        server.terminate()
        server.wait(timeout=20)
    assert watched.hosts <= {"127.0.0.1", "inline"}, watched.hosts
    assert "Traceback" not in log.read_text(), log.read_text()[-3000:]


def _wait_for(address: str, server: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(150):
        assert server.poll() is None, log.read_text()
        try:
            with urllib.request.urlopen(address, timeout=1) as answer:  # noqa: S310 - our own server
                if answer.read() == b"ok":
                    return
        except OSError:
            time.sleep(0.2)
    pytest.fail(f"the server did not start: {log.read_text()}")
