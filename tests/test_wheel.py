"""The wheel holds what a person needs and nothing else, and works installed, from any folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import time
import urllib.request
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
pytest.importorskip("hatchling", reason="The wheel is built with hatchling, which is not installed here.")


def run(*command: str | Path, cwd: Path, **env: str) -> subprocess.CompletedProcess[str]:
    clean = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "RILLBOOK_BOOK", "RILLBOOK_AS_OF")}
    done = subprocess.run(
        [str(c) for c in command], cwd=cwd, env=clean | env, capture_output=True, text=True, check=False, timeout=180
    )
    assert done.returncode == 0, f"{command} gave {done.returncode}\n{done.stdout}\n{done.stderr}"
    return done


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built from this checkout without a network: the build tool comes with the test extra."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation", "--no-index"]
    run(*pip, "--wheel-dir", folder, ROOT, cwd=folder)
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The bin folder of an environment that holds the wheel; what it depends on is borrowed from this one."""
    env = tmp_path_factory.mktemp("env")
    run(sys.executable, "-m", "venv", "--without-pip", env, cwd=env)
    scripts = env / "bin"
    run(
        sys.executable,
        "-m",
        "pip",
        "--python",
        scripts / "python",
        "install",
        "-q",
        "--no-deps",
        "--no-index",
        wheel,
        cwd=env,
    )
    own = run(
        scripts / "python", "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=env
    ).stdout.strip()
    # Plain lines only: an editable rillbook of the lending environment is not reached through them.
    lent = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    (Path(own) / "lent.pth").write_text("\n".join(sorted(lent)))
    return scripts


def test_the_wheel_holds_screens_settings_tables_and_the_sample(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    needed = {
        "dashboard/app.py",
        "dashboard/.streamlit/config.toml",
        "sample_data/household/home.csv",
        "sample_data/household/meter_reading.csv",
        "sample_data/truth.json",
    }
    shipped = {
        p.relative_to(ROOT).as_posix()
        for folder in ("core", "dashboard")
        for p in (ROOT / folder).rglob("*")
        if p.is_file()
    }
    needed |= {n for n in shipped if "__pycache__" not in n and not n.endswith((".pyc", ".log"))}
    assert needed <= names, sorted(needed - names)
    assert any(n.startswith("core/cli") for n in names)
    assert any(n.startswith("dashboard/views/") for n in names)
    assert any(n.startswith("core/book/migrations/") and n.endswith(".sql") for n in names)


def test_the_wheel_holds_no_tests_and_no_folder_streamlit_would_serve_past_the_gate(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    tops = {n.split("/")[0] for n in names}
    assert {t for t in tops if not t.endswith(".dist-info")} == {"core", "dashboard", "sample_data"}
    assert not [n for n in names if "pages" in n.split("/") or "__pycache__" in n or n.startswith("tests/")]


def test_installed_it_runs_from_another_folder(installed: Path, tmp_path: Path) -> None:
    code = (
        "import json, core, dashboard, sample_data;"
        "from pathlib import Path;"
        "print(json.dumps([str(Path(m.__file__ or list(m.__path__)[0])) for m in (core, dashboard)]))"
    )
    found = json.loads(run(installed / "python", "-c", code, cwd=tmp_path).stdout)
    assert all(Path(f).is_relative_to(installed.parent) for f in found), found


SHOW = """
import sys
from streamlit.testing.v1 import AppTest
import dashboard
from pathlib import Path
entry = Path(dashboard.__file__).parent / "app.py"
screen = AppTest.from_file(str(entry), default_timeout=170).run()
assert not screen.exception, screen.exception
assert not screen.error, [e.value for e in screen.error]
print(" ".join(m.value for m in screen.markdown))
"""


def test_installed_it_opens_the_sample_household(installed: Path, tmp_path: Path) -> None:
    book = tmp_path / "sample.rillbook"
    made = run(installed / "rillbook", "demo", "--at", book, "--no-open", "--json", cwd=tmp_path)
    assert json.loads(made.stdout) == {"book": str(book), "made": True}
    shown = run(installed / "python", "-c", SHOW, cwd=tmp_path, RILLBOOK_BOOK=str(book)).stdout
    assert "Basalt Street" in shown


def test_installed_its_server_keeps_to_this_machine(installed: Path, tmp_path: Path) -> None:
    """The settings beside the entry script are read from the wheel, and the command's own flags hold."""
    command = [installed / "rillbook", "demo", "--at", tmp_path / "s.rillbook", "--no-browser", "--json"]
    clean = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    with subprocess.Popen(
        [str(c) for c in command], cwd=tmp_path, env=clean, stdout=subprocess.PIPE, text=True
    ) as server:
        try:
            assert server.stdout is not None
            told = json.loads(server.stdout.readline())
            assert told["address"] == f"http://127.0.0.1:{told['port']}"
            assert _healthy(told["address"])
            listening = _listening_at(told["port"])
            assert listening == {"0100007F"}, listening  # 127.0.0.1 as the kernel writes it
        finally:
            server.terminate()
            server.communicate(timeout=30)  # reads to the end: a server that cannot say “Stopping” would not stop


def _healthy(address: str) -> bool:
    for _ in range(300):
        try:
            with urllib.request.urlopen(f"{address}/_stcore/health", timeout=2) as answer:  # noqa: S310 - our own
                return bool(answer.read() == b"ok")
        except OSError:
            time.sleep(0.1)
    return False


def _listening_at(port: int) -> set[str]:
    """Local addresses, in hexadecimal, on which somebody listens at a port (Linux)."""
    table = Path("/proc/net/tcp")
    if not table.exists():
        pytest.skip("Which address a server listens at is read from /proc, which this system does not have.")
    rows = [line.split() for line in table.read_text().splitlines()[1:]]
    return {r[1].split(":")[0] for r in rows if r[3] == "0A" and int(r[1].split(":")[1], 16) == port}
