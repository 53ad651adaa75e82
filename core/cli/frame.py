"""What all commands share: errors in one line, exit codes, the BOOK argument, answers in words or in JSON."""

from __future__ import annotations

import json
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar

import click
from platformdirs import user_log_path

from core.errors import RillbookError

F = TypeVar("F", bound=Callable[..., Any])

BOOK_VARIABLE = "RILLBOOK_BOOK"
MONTH_VARIABLE = "RILLBOOK_MONTH"
REFUSED, WRONG_USE, OWN_FAULT = 1, 2, 70  # 70 is EX_SOFTWARE of sysexits.h


class Rillbook(click.Group):
    """The group of all commands, and the one place where an error becomes a line and an exit code.

    A command's module is imported when it is asked for, so that the list of all comes at once. ``rooms`` says by
    command name the module, the function in it and one line of help.
    """

    def __init__(self, *args: Any, rooms: dict[str, tuple[str, str, str]] | None = None, **extra: Any) -> None:
        super().__init__(*args, **extra)
        self.rooms = rooms or {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """In the order of a first acquaintance, not of the alphabet."""
        return list(self.rooms)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command, imported now."""
        if cmd_name not in self.rooms:
            return None
        module, name, _ = self.rooms[cmd_name]
        command = getattr(import_module(module), name)
        return command if isinstance(command, click.Command) else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, none of them imported."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, _, line) in self.rooms.items()])

    def main(  # type: ignore[override]  # the group's own, without its two overloads
        self, args: Sequence[str] | None = None, prog_name: str | None = None, **extra: Any
    ) -> None:
        """Run a command and leave with its exit code."""
        extra["standalone_mode"] = False
        try:
            code = super().main(args, prog_name, **extra)
        except click.UsageError as error:
            code = WRONG_USE
            path = error.ctx.command_path if error.ctx else "rillbook"
            _complain(f"{error.format_message().rstrip('.')}. See {path} --help.")
        except click.ClickException as error:
            code = error.exit_code
            _complain(error.format_message())
        except (click.Abort, KeyboardInterrupt):
            code = REFUSED
            _complain("stopped.")
        except RillbookError as error:
            code = REFUSED
            _complain(str(error))
        except BrokenPipeError:  # somebody read the first lines and left; nothing more is to be said
            code = 0
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        except Exception as error:  # noqa: BLE001 - the last stop: no traceback ever reaches a person
            code = OWN_FAULT
            _complain(f"something went wrong inside Rillbook ({type(error).__name__}). {_logged(error)}")
        sys.exit(code if isinstance(code, int) else 0)


class BookPath(click.ParamType):  # type: ignore[type-arg]  # generic only in newer clicks
    """The path of a book that is there."""

    name = "book"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path; where the variable names a book, a word that is no file leaves its place to that one."""
        path = Path(value).expanduser()
        if os.environ.get(BOOK_VARIABLE) and (not path.is_file() or path.suffix.lower() == ".csv"):
            self.fail(f"“{value}” is not the file of a book", param, ctx)
        return path


class BookCommand(click.Command):
    """A command whose first argument is a book, or left out where the variable RILLBOOK_BOOK names one."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the arguments as they stand; failing that, with the variable's book before them."""
        given, book = list(args), os.environ.get(BOOK_VARIABLE)
        try:
            return super().parse_args(ctx, args)
        except click.UsageError:
            if not book:
                raise
            ctx.params.clear()
            try:
                return super().parse_args(ctx, [book, *given])
            except click.UsageError as second:
                raise second from None


def book_argument(function: F) -> F:
    """The argument BOOK of a :class:`BookCommand`."""
    return click.argument("book", type=BookPath(), metavar="BOOK")(function)


def json_option(function: F) -> F:
    """The option --json."""
    return click.option("--json", "as_json", is_flag=True, help="Answer in JSON: metric, the unit in each name.")(
        function
    )


def answer(words: str, data: dict[str, Any], as_json: bool) -> None:
    """Say what came of it, to a person or to a script."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False) if as_json else words)


def take_back(book: Path, number: int | None) -> str:
    """How to take back what was just stored, as a sentence; "" when nothing was."""
    return f" To take it back: rillbook undo {book} {number}" if number is not None else ""


def _complain(sentence: str) -> None:
    click.echo(f"rillbook: {' '.join(sentence.split())}", err=True)


def _logged(error: Exception) -> str:
    try:
        log = user_log_path("rillbook", ensure_exists=True) / "rillbook.log"
        with log.open("a", encoding="utf-8") as file:
            file.write(f"{datetime.now(UTC):%Y-%m-%d %H:%M:%S} UTC {' '.join(sys.argv[:2])}\n")
            file.writelines(traceback.format_exception(error))
    except OSError:
        return "No log could be written."
    return f"What was stored before stands. The log is {log}."
