"""Whole books: new, export, backup, restore, and taking back what was done."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import click

from core.book.kinds import Home
from core.book.store import Book
from core.cli.entries import measured
from core.cli.frame import BookCommand, answer, book_argument, json_option
from core.errors import BookError, Problem, RefusedError, UndoError, shown
from core.exchange.export import export_folder
from core.exchange.folder import new_from_folder
from core.exchange.sheets import read_sheet
from core.usual import usual_currency, usual_units

PATH = click.Path(path_type=Path)


@click.command()
@click.argument("book", type=PATH, metavar="BOOK")
@click.option(
    "--from", "folder", type=PATH, metavar="FOLDER", help="A folder of sheets, home.csv at least. No questions."
)
@click.option("--name", help="Name of the household.")
@click.option("--latitude", help="Degrees, south negative: 39.5.")
@click.option("--timezone", help="Such as America/Denver.")
@click.option("--elevation", help="Height above sea level: 3960ft or 1207m.")
@click.option("--people", help="People usually at home.")
@click.option("--units", type=click.Choice(["us", "metric"]), help="Units to show. Default: as usual in the time zone.")
@click.option("--currency", help="Sign of the money: $, €, £. Default: as usual in the time zone.")
@json_option
def new(
    *,
    book: Path,
    folder: Path | None,
    name: str | None,
    latitude: str | None,
    timezone: str | None,
    elevation: str | None,
    people: str | None,
    units: str | None,
    currency: str | None,
    as_json: bool,
) -> None:
    """Make a new book.

    Without --from it asks for what is not given: a name, the latitude, the time zone and, beside these, how many
    people live there, in which units the book shows water and in which money. An answer that cannot be is asked for
    again. Name, latitude and time zone given, it asks nothing: units and money are then as usual in that time zone.

    \b
    Examples:
      rillbook new garden.rillbook
      rillbook new garden.rillbook --name "Maple Row 3" --latitude 39.5 --timezone America/Los_Angeles
      rillbook new garden.rillbook --from household/

    FOLDER holds one sheet a kind of record, as rillbook export writes them; rillbook bring --kinds names them.
    Either the whole book is made or, if a row cannot be taken, none.
    """
    if folder is not None:
        made, brought = new_from_folder(book, folder)
        answer(
            f"{made.path} is made: {brought.words}.",
            {"book": str(made.path), "added": brought.added, "change_set": brought.number},
            as_json,
        )
        return

    if book.exists():
        raise BookError(f"{book} is there already. Choose another name, or open it.")
    given = {"name": name, "latitude": latitude, "timezone": timezone}
    asking = not all(given.values())  # a script that gives all three is asked nothing
    answers = {
        column: text or click.prompt(QUESTIONS[column], value_proc=_fits(column)) for column, text in given.items()
    }
    if asking and not people:
        people = click.prompt(QUESTIONS["people"], value_proc=_fits("people"))
    units = units or _asked(asking, QUESTIONS["units"], usual_units(answers["timezone"]), SHOWN_IN)
    if currency is None:
        currency = _asked(asking, QUESTIONS["currency"], usual_currency(answers["timezone"]))
    made = Book.create(book, _home(answers, elevation, people, units, currency))
    money = f"money in {currency}" if currency else "money without a sign"
    words = f"{made.path} is made; it shows {SHOWN_IN[units]} and {money}. Next: rillbook open {book}"
    answer(words, {"book": str(made.path), "added": 1, "change_set": made.number()}, as_json)


QUESTIONS = {
    "name": "Name of the household",
    "latitude": "Latitude in degrees, south negative, such as 39.5",
    "timezone": "Time zone, such as America/Denver",
    "people": "People usually at home (what the house uses is reckoned from it until the meter has shown it)",
    "units": "Units to show: us (gallons, inches) or metric (litres, mm)",
    "currency": "Sign of the money, such as $, € or £",
}
SHOWN_IN = {"us": "gallons and inches", "metric": "litres and mm"}
_ANY = {"name": "x", "latitude": "0", "timezone": "UTC"}  # beside which one answer can be judged by itself


def _asked(asking: bool, question: str, usual: str, choices: Mapping[str, str] | None = None) -> str:
    """What is usual there, which a person who is asked may say otherwise."""
    if not asking:
        return usual
    kind = click.Choice(list(choices)) if choices else None
    return str(click.prompt(question, default=usual, type=kind, show_choices=False, show_default=bool(usual))).strip()


def _fits(column: str) -> Callable[[str], str]:
    """Takes an answer a home may hold; any other is told and asked for again."""

    def take(text: str) -> str:
        try:
            _home({**_ANY, column: text}, None, None, "us", "")
        except RefusedError as error:
            raise click.BadParameter(_told(error.problems[0])) from error
        return text

    return take


def _told(problem: Problem) -> str:
    return f"“{shown(problem.value)}” cannot be. Expected {problem.expected}."


def _home(answers: dict[str, str], elevation: str | None, people: str | None, units: str, currency: str) -> Home:
    """The home from typed words, through the very checks a sheet goes through."""

    cells = {**answers, "display": units, "currency": currency or "'"}  # an empty cell would mean the default
    if elevation:
        height = measured(elevation, "length", "us" if units == "us" else "metric")
        cells[f"elevation_{height.unit}"] = height.typed
    if people:
        cells["people"] = people
    out = io.StringIO()
    csv.writer(out).writerows([cells, cells.values()])
    sheet = read_sheet(out.getvalue(), "home", ZoneInfo("UTC"), "new book")
    if sheet.problems:  # of the option, not of the row and column the checks are made in
        raise RefusedError(
            [replace(p, file=f"--{p.column.partition('_')[0]}", row=0, column="") for p in sheet.problems]
        )
    home = sheet.rows[0][1]
    if not isinstance(home, Home):
        raise TypeError(f"a home was expected, not {home!r}")
    return home


@click.command(cls=BookCommand)
@book_argument
@click.argument("folder", type=PATH)
@click.option("--replace", is_flag=True, help="Write over sheets that are there already.")
@json_option
def export(book: Path, folder: Path, replace: bool, as_json: bool) -> None:
    """Write the book out as a folder of plain CSV sheets.

    One sheet a kind of record, units in the column names, every number with the digits and the unit it was typed
    in. rillbook new --from makes the same book from it again.

    \b
    Examples:
      rillbook export garden.rillbook household/
      rillbook export garden.rillbook household/ --replace
    """
    written = export_folder(Book.open(book), folder, replace=replace)
    words = f"{folder}: {len(written)} sheets, {sum(written.values()):,} rows."
    answer(words, {"folder": str(folder), "rows": written}, as_json)


@click.command(cls=BookCommand)
@book_argument
@click.argument("dest")  # as it was typed: a slash at its end says that it is a folder
@json_option
def backup(book: Path, dest: str, as_json: bool) -> None:
    """Copy the book, open or not, into one checked file.

    DEST is a new file, or a folder that is there, in which the copy gets the book's name and the time.

    \b
    Examples:
      rillbook backup garden.rillbook /media/stick/
      rillbook backup garden.rillbook garden-before-spring.rillbook
    """
    copy = Book.open(book).backup(dest)
    answer(f"The copy is {copy}.", {"book": str(book), "copy": str(copy)}, as_json)


@click.command()
@click.argument("book", type=PATH, metavar="BOOK")
@click.argument("src", type=PATH)
@click.option("--yes", is_flag=True, help="Do not ask.")
@json_option
def restore(book: Path, src: Path, yes: bool, as_json: bool) -> None:
    """Put a backup in place of a book, or make the book from it.

    SRC is checked first. What the book held until now is kept beside it under a name with the time.

    \b
    Example:
      rillbook restore garden.rillbook garden-before-spring.rillbook
    """
    if book.exists() and not yes:
        click.confirm(f"Everything in {book} will be as it was in {src}. Put it back?", abort=True, err=True)
    kept = Book.restore(src, book)
    words = f"{book} is as it was in {src}." + (f" What it held is kept in {kept}." if kept else "")
    answer(words, {"book": str(book), "from": str(src), "kept": str(kept) if kept else None}, as_json)


@click.command(cls=BookCommand)
@book_argument
@click.option("--limit", type=click.IntRange(1), default=20, show_default=True, help="How many.")
@json_option
def changes(book: Path, limit: int, as_json: bool) -> None:
    """List the latest actions, newest first, with the numbers that undo takes.

    \b
    Example:
      rillbook changes garden.rillbook --limit 5
    """
    opened = Book.open(book)
    zone, found = opened.zone_info, opened.change_sets(limit)
    lines = []
    for one in found:
        each = ", ".join(f"{n:,} {kind}" for kind, n in one.counts.items())
        rows = each if len(one.counts) < 4 else f"{sum(one.counts.values()):,} rows of {len(one.counts)} kinds"
        fate = f"  (taken back by {one.undone_by})" if one.undone_by else ""
        lines.append(f"{one.number:>6}  {one.at.astimezone(zone):%Y-%m-%d %H:%M}  {one.what}  [{rows}]{fate}")
    data = [
        {
            "change_set": one.number,
            "at": one.at.isoformat(),
            "what": one.what,
            "rows": one.counts,
            "undone_by": one.undone_by,
            "undoes": one.undoes,
        }
        for one in found
    ]
    answer("\n".join(lines), {"change_sets": data}, as_json)


@click.command(cls=BookCommand)
@book_argument
@click.argument("number", type=click.IntRange(0, 2**63 - 1), required=False, metavar="[NUMBER]")
@json_option
def undo(book: Path, number: int | None, as_json: bool) -> None:
    """Take back an action, such as an import, whole: the latest, or the one with a NUMBER.

    It is refused, with the name of what stands in the way, when something later rests on it.

    \b
    Examples:
      rillbook undo garden.rillbook
      rillbook undo garden.rillbook 12
    """
    opened = Book.open(book)
    which = _latest(opened) if number is None else number
    what = next((one.what for one in opened.change_sets(1_000_000) if one.number == which), "")
    done = opened.undo(which)
    fate = "is taken back" if not what.startswith("undid: ") else "is taken back, so that its action holds again"
    answer(f"Action {which} {fate}: “{what}”.", {"undone": which, "what": what, "change_set": done}, as_json)


def _latest(book: Book) -> int:
    """The latest action that stands and is not itself an undo."""
    for one in book.change_sets(1_000_000):
        if one.undone_by is None and one.undoes is None and one.number > 1:
            return one.number
    raise UndoError("There is nothing to take back: the book has only just begun.")
