"""Exit codes, one-line errors, help that teaches and comes at once, BOOK from the variable."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from core.book.store import Book
from core.cli import ROOMS, main

ROOT = Path(__file__).resolve().parents[3]


def test_help_comes_without_loading_what_commands_need() -> None:
    """Tables, records, equations and the dashboard take most of a second to load; a list of commands needs none."""
    heavy = "('pandas', 'numpy', 'pydantic', 'scipy', 'sqlite_utils', 'streamlit', 'altair')"
    code = (
        "import sys\nfrom core.cli import main\n"
        f"try:\n    main(['--help'])\nfinally:\n    print([m for m in {heavy} if m in sys.modules], file=sys.stderr)"
    )
    command, path = [sys.executable, "-c", code], {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, capture_output=True, text=True, check=True, env=path)
    assert done.stderr.strip() == "[]"
    assert all(f"\n  {name} " in done.stdout for name in ROOMS)


Run = Callable[..., Result]


def test_the_command_alone_shows_its_help(run: Run) -> None:
    alone = run()
    assert (alone.exit_code, alone.output) == (0, run("--help").output)
    assert "70 a fault in Rillbook itself" in alone.output


@pytest.mark.parametrize("name", ROOMS)
def test_every_command_teaches_by_example(run: Run, name: str) -> None:
    result = run(name, "--help")
    assert result.exit_code == 0
    examples = [line for line in result.output.splitlines() if line.strip().startswith(f"rillbook {name}")]
    assert examples, result.output
    assert "--json" in result.output


@pytest.mark.parametrize("name", ROOMS)
def test_the_first_list_says_what_the_command_itself_says(name: str) -> None:
    """Its line stands apart from the command so that nothing need be loaded; both must speak of the same thing."""
    command = main.get_command(None, name)  # type: ignore[arg-type]
    assert command is not None
    assert command.help
    first = {word.strip(".,:").lower() for word in command.help.split("\n\n")[0].split()}
    listed = {word.strip(".,:").lower() for word in ROOMS[name][2].split()}
    assert len(first & listed) >= 3, (first, listed)


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["water"], "No such command 'water'. See rillbook --help."),
        (["open"], "Missing argument 'BOOK'. See rillbook open --help."),
        (["review", "x.rillbook"], "Missing argument 'MONTH'. See rillbook review --help."),
        (["export", "x.rillbook", "out", "--twice"], "No such option"),
        (["add", "x.rillbook", "snow", "3"], "'snow' is not one of"),
    ],
)
def test_a_command_written_wrongly(run: Run, args: list[str], said: str) -> None:
    result = run(*args)
    assert result.exit_code == 2
    assert result.stderr.startswith("rillbook: ")
    assert said in result.stderr


@pytest.mark.parametrize(
    "args",
    [
        ["open", "{none}"],
        ["add", "{none}", "reading", "5"],
        ["review", "{none}", "2026-07"],
        ["export", "{none}", "{out}"],
        ["changes", "{none}"],
        ["undo", "{none}"],
        ["backup", "{none}", "{out}"],
        ["bring", "{none}", "{note}"],
        ["restore", "{none}", "{note}"],
        ["open", "{note}"],
        ["changes", "{note}"],
    ],
)
def test_what_is_no_book_is_refused_in_one_line(run: Run, tmp_path: Path, args: list[str]) -> None:
    (tmp_path / "rain.txt").write_text("not a book")
    names = {"none": tmp_path / "none.rillbook", "out": tmp_path / "out", "note": tmp_path / "rain.txt"}
    result = run(*(arg.format(**names) for arg in args))
    assert result.exit_code == 1
    assert result.stdout == ""
    assert result.stderr.startswith("rillbook: ")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["rain.txt"]
    assert (tmp_path / "rain.txt").read_text() == "not a book"


def test_a_fault_of_our_own_is_one_line_and_a_log(
    run: Run, garden: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("core.cli.frame.user_log_path", lambda *_, **__: tmp_path)
    monkeypatch.setattr(Book, "change_sets", lambda *_: 1 / 0)
    result = run("changes", garden.path)
    assert result.exit_code == 70
    assert result.stderr == (
        "rillbook: something went wrong inside Rillbook (ZeroDivisionError). What was stored before stands. "
        f"The log is {tmp_path / 'rillbook.log'}.\n"
    )
    assert "ZeroDivisionError: division by zero" in (tmp_path / "rillbook.log").read_text()


def test_the_variable_names_the_book(run: Run, garden: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RILLBOOK_BOOK", str(garden.path))
    sheet = tmp_path / "rain.csv"
    sheet.write_text("start,end,rain_in\n2026-07-20,2026-07-21,0.5\n")
    assert run("add", "reading", "1000", "--at", "2026-07-14 07:30").exit_code == 0
    assert run("bring", sheet).exit_code == 0
    assert run("export", tmp_path / "out").exit_code == 0
    assert run("backup", tmp_path / "copy.rillbook").exit_code == 0
    assert run("undo", "4").exit_code == 0
    assert len(run("changes").stdout.splitlines()) == 5
    other = Book.open(tmp_path / "copy.rillbook")
    assert len(run("changes", other.path).stdout.splitlines()) == 4, "a book that is named wins"
    wrong = run("export")
    assert (wrong.exit_code, "Missing argument 'FOLDER'" in wrong.stderr) == (2, True)
