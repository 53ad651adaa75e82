"""demo and open: the server is told exactly what to listen on, and the passphrase never meets a command line."""

from __future__ import annotations

import json
import os
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from core.book.store import Book
from core.cli import opening

Run = Callable[..., Result]
EVERYWHERE = "0.0.0.0"  # noqa: S104 - given to a command that is never run
WALNUT, CHERRY = "walnut tree", "cherry tree"


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What would have become of this process."""
    told: dict[str, Any] = {}

    def instead(path: str, command: list[str], environment: dict[str, str]) -> None:
        told.update(path=path, command=command, environment=environment)

    monkeypatch.setattr(os, "execve", instead)
    return told


@pytest.fixture
def taken() -> Iterator[int]:
    """A port somebody listens on."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


def flags(told: dict[str, Any], name: str) -> list[str]:
    return [part.split("=", 1)[1] for part in told["command"] if part.startswith(f"--server.{name}=")]


def test_only_this_machine_reaches_it(
    run: Run, garden: Book, served: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STREAMLIT_SERVER_ADDRESS", EVERYWHERE)
    result = run("open", garden.path)
    assert result.exit_code == 0
    assert flags(served, "address") == ["127.0.0.1"]
    assert flags(served, "allowedHosts") == [], "the dashboard's own settings hold"
    (port,) = flags(served, "port")
    assert f"garden.rillbook is open at http://127.0.0.1:{port} (Ctrl+C closes it)." in result.stdout
    assert served["environment"]["RILLBOOK_BOOK"] == str(garden.path)
    assert not [name for name in served["environment"] if name.startswith("STREAMLIT_")]
    assert "RILLBOOK_PASSPHRASE" not in served["environment"]
    assert flags(served, "headless") == []


@pytest.mark.parametrize("name", ["localhost", "::1", "127.0.0.1"])
def test_this_machine_by_any_name_needs_no_passphrase(
    run: Run, garden: Book, served: dict[str, Any], name: str
) -> None:
    assert run("open", garden.path, "--listen", name, "--no-browser", "--json").exit_code == 0
    assert flags(served, "address") == ["127.0.0.1"]
    assert flags(served, "headless") == ["true"]


def test_a_taken_port_is_said_and_another_picked(
    run: Run, garden: Book, served: dict[str, Any], taken: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(opening, "USUAL_PORT", taken)
    result = run("open", garden.path)
    (port,) = flags(served, "port")
    assert int(port) != taken
    assert f"Port {taken} is taken; {port} is free." in result.stdout
    asked = run("open", garden.path, "--port", taken)
    assert asked.exit_code == 1
    assert f"Port {taken} is taken. Leave --port out" in asked.stderr


def test_other_devices_need_a_passphrase(
    run: Run, garden: Book, served: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    result = run("open", garden.path, "--listen", EVERYWHERE, typed="walnut tree\nwalnut tree\n")
    assert result.exit_code == 0, result.output
    assert served["environment"]["RILLBOOK_PASSPHRASE"] == WALNUT
    assert "walnut" not in " ".join(served["command"]) + result.output
    assert flags(served, "address") == [EVERYWHERE]
    hosts = flags(served, "allowedHosts")
    assert {"localhost", "127.0.0.1", socket.gethostname().lower()} <= set(hosts)
    assert "*" not in hosts
    assert EVERYWHERE not in hosts

    monkeypatch.setenv("RILLBOOK_PASSPHRASE", CHERRY)
    served.clear()
    assert run("open", garden.path, "--listen", EVERYWHERE, "--host-name", "garden.home").exit_code == 0
    assert served["environment"]["RILLBOOK_PASSPHRASE"] == CHERRY
    assert "garden.home" in flags(served, "allowedHosts")


@pytest.mark.parametrize("typed", ["short\nshort\n", "", "walnut tree\ncherry tree\n"])
def test_without_a_good_passphrase_it_stays_shut(run: Run, garden: Book, served: dict[str, Any], typed: str) -> None:
    assert run("open", garden.path, "--listen", EVERYWHERE, typed=typed).exit_code == 1
    assert served == {}


def test_an_address_of_another_machine(
    run: Run, garden: Book, served: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RILLBOOK_PASSPHRASE", CHERRY)
    result = run("open", garden.path, "--listen", "198.51.100.7")  # RFC 5737: no machine has it
    assert result.exit_code == 1
    assert "198.51.100.7 is not an address of this machine" in result.stderr
    assert served == {}


def test_core_is_found_from_any_folder_and_no_other_core_is(garden: Book) -> None:
    command = opening.server_command("127.0.0.1", 8501, [], browser=False)
    assert command[1:5] == ["-P", "-m", "streamlit", "run"], "-P: a folder core of the current directory is not ours"
    assert Path(command[5]) == Path(opening.__file__).parents[2] / "dashboard" / "app.py"
    environment = opening.server_environment({"PYTHONPATH": "/elsewhere"}, garden.path)
    assert environment["PYTHONPATH"].split(os.pathsep) == [str(opening.HERE), "/elsewhere"]


def test_demo_is_made_once_kept_and_made_anew(run: Run, tmp_path: Path, served: dict[str, Any]) -> None:
    path = tmp_path / "sample.rillbook"
    made = json.loads(run("demo", "--at", path, "--no-open", "--json").stdout)
    assert made == {"book": str(path), "made": True}
    book = Book.open(path)
    assert book.home().name
    number = book.number()
    run("undo", path)
    assert json.loads(run("demo", "--at", path, "--no-open", "--json").stdout)["made"] is False
    assert book.number() == number + 1, "what was tried in it stays"
    assert served == {}
    opened = run("demo", "--at", path, "--fresh", "--no-browser")
    assert opened.exit_code == 0
    assert book.number() == number
    assert served["environment"]["RILLBOOK_BOOK"] == str(path)
    assert "is open at http://127.0.0.1:" in opened.stdout


def test_demo_deletes_nothing_but_a_book(run: Run, tmp_path: Path, served: dict[str, Any]) -> None:
    path = tmp_path / "letters.txt"
    path.write_text("dear")
    result = run("demo", "--at", path, "--fresh")
    assert result.exit_code == 1
    assert path.read_text() == "dear"
    assert served == {}
