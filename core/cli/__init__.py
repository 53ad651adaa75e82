"""The command ``rillbook``."""

from __future__ import annotations

import click

from core.cli.frame import Rillbook

__all__ = ["main"]

ROOMS = {
    "demo": ("core.cli.opening", "demo", "Open an invented household and look around."),
    "open": ("core.cli.opening", "open_", "Open a book in the browser."),
    "new": ("core.cli.books", "new", "Make a new book, also from a folder of sheets."),
    "add": ("core.cli.adding", "add", "Write down a meter reading or rain."),
    "bring": ("core.cli.bringing", "bring", "Bring in CSV sheets, after a look at what would happen."),
    "review": ("core.cli.reviewing", "review", "Tell one month: use, zones, findings, what to do next."),
    "plants": ("core.cli.plants", "plants", "Tell what the plants needed, got and felt in one month."),
    "program": ("core.cli.plants", "program", "Work out programs that fit, beside what is set."),
    "stop": ("core.cli.stopping", "stop_", "Write down that zones are paused or switched off."),
    "away": ("core.cli.plants", "away", "Say which plants run dry while you are away."),
    "watch": ("core.cli.watch", "watch", "Say what is new since the last watch; made for cron."),
    "export": ("core.cli.books", "export", "Write the book out as a folder of CSV sheets."),
    "changes": ("core.cli.books", "changes", "List the latest actions."),
    "undo": ("core.cli.books", "undo", "Take back an action, such as an import."),
    "backup": ("core.cli.books", "backup", "Copy the book into one checked file."),
    "restore": ("core.cli.books", "restore", "Put a backup in place of a book."),
}


@click.group(
    "rillbook",
    cls=Rillbook,
    rooms=ROOMS,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(package_name="rillbook", message="rillbook %(version)s")
@click.pass_context
def main(context: click.Context) -> None:
    """The water book of a home garden.

    Write down what you can see: meter readings, rain, what the controller is set to, what you repaired. Rillbook
    works out what you cannot: how much water each zone got, whether the plants needed it, what the meter says
    that nobody can explain, what it cost, and what to do next. It reads and advises; it controls nothing.

    \b
    Look at an invented household first:
      rillbook demo
    \b
    Then your own, from the command line or in the browser:
      rillbook new garden.rillbook
      rillbook open garden.rillbook
      rillbook add garden.rillbook reading 412350
      rillbook review garden.rillbook 2026-07

    BOOK may be left out where the variable RILLBOOK_BOOK names one.

    \b
    Exit codes: 0 done; 1 refused, the sentence says why and nothing was stored;
    2 the command was written wrongly; 10 the watch has something new; 70 a fault in Rillbook itself.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())
