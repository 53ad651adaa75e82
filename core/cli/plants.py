"""The plants in the terminal: their month, a program that fits, and going away."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import click

from core.book.store import Book
from core.cli.entries import end_of
from core.cli.frame import BookCommand, answer, book_argument, json_option, take_back
from core.cli.plants_json import away_as_data, plants_as_data, programs_as_data
from core.cli.plants_text import away_in_words, plants_in_words, programs_in_words
from core.cli.saying import written_words
from core.days import parse_day
from core.errors import EntryError, NotFoundError
from core.review import present, see
from core.review.accept import Write, accept, planned
from core.review.away import going_away
from core.review.fitting import FittingMonth, ZoneFit, fitting_month, fitting_year
from core.review.outlook import BASES, Basis
from core.review.picture import Picture
from core.review.plants import plants_month
from core.units import System

AS_OF = click.option("--as-of", metavar="WHEN", help="Look with only what had happened by then: 2026-07-14.")
UNITS = click.option("--units", type=click.Choice(["us", "metric"]), help="Units to show. Default: the book's.")
BASIS = click.option(
    "--basis",
    type=click.Choice(list(BASES)),
    default="normals",
    show_default=True,
    help="Weather to go by: the month's normals, the last two weeks, or a dry spell.",
)


@click.command(cls=BookCommand)
@book_argument
@click.argument("month", metavar="MONTH")
@AS_OF
@click.option("--weeks", is_flag=True, help="Print every zone week by week too.")
@click.option("--working", is_flag=True, help="Print how each planting's need came about.")
@UNITS
@json_option
def plants(
    *, book: Path, month: str, as_of: str | None, weeks: bool, working: bool, units: System | None, as_json: bool
) -> None:
    """Tell what the plants needed, got, lost and felt in one month.

    MONTH is year and month: 2026-07. Days on which the system did not run and days on which plants went short are
    told apart, and which came of which.

    \b
    Examples:
      rillbook plants garden.rillbook 2026-07
      rillbook plants garden.rillbook 2026-07 --weeks
      rillbook plants garden.rillbook 2026-07 --working
      rillbook plants garden.rillbook 2026-07 --json > plants.json

    Need is reference ET x plant factor x area; the soil is walked day by day as FAO-56 chapter 8 says. --json is
    metric with the unit in each name: need_l, area_m2, reference_et_mm.
    """
    picture = _picture(book, as_of, "metric" if as_json else units)
    found = plants_month(picture, month)
    answer(plants_in_words(found, weeks=weeks, working=working), plants_as_data(found, working=working), as_json)


@click.command(cls=BookCommand)
@book_argument
@click.option("--month", metavar="N", help="Month of the year, 1 to 12. Default: the running one.")
@click.option("--year", is_flag=True, help="All twelve months, the running one first.")
@BASIS
@click.option("--zone", "zones", metavar="CODE", multiple=True, help="Only this zone; may be said again.")
@click.option("--use-from", metavar="DAY", help="Write the programs into the book, set from this day: 2026-07-16.")
@click.option("--dry-run", is_flag=True, help="With --use-from: show what would be written, and write nothing.")
@AS_OF
@click.option("--working", is_flag=True, help="Print how each zone's need came about.")
@UNITS
@json_option
def program(
    *,
    book: Path,
    month: str | None,
    year: bool,
    basis: Basis,
    zones: tuple[str, ...],
    use_from: str | None,
    dry_run: bool,
    as_of: str | None,
    working: bool,
    units: System | None,
    as_json: bool,
) -> None:
    """Work out programs that fit: days, start times and minutes of every zone, beside what the controller is set to.

    They keep what the controller can be set to and the local rule, give the thirstiest planting of each zone its
    need, leave no gap longer than the plants' soil lasts, and run in pieces where the soil takes water slowly. Set
    your controller first, then write it down with --use-from; Rillbook controls nothing.

    \b
    Examples:
      rillbook program garden.rillbook
      rillbook program garden.rillbook --month 7 --basis dry
      rillbook program garden.rillbook --year --json > year.json
      rillbook program garden.rillbook --use-from 2026-07-16 --dry-run
      rillbook program garden.rillbook --zone tubs --use-from 2026-07-16
    """
    if year and (month or use_from):
        raise click.UsageError("--year stands alone: choose one --month to write down.")
    if dry_run and not use_from:
        raise click.UsageError("--dry-run goes with --use-from DAY.")
    picture = _picture(book, as_of, "metric" if as_json else units)
    found = fitting_year(picture, basis) if year else (fitting_month(picture, _month(month, picture), basis),)
    found = tuple(_only(m, zones) for m in found)
    writes: tuple[Write, ...] = ()
    number: int | None = None
    said = programs_in_words(found, picture.home.display, picture.home.currency, working=working)
    if use_from:
        opened, day = Book.open(book), parse_day(use_from)
        chosen = [z for z in found[0].zones if z.fit is not None]
        if not chosen:
            raise EntryError("No program fits in that month, so nothing was stored.")
        writes = planned(opened, chosen, day)
        number = None if dry_run else accept(opened, chosen, day)
        said = "\n".join([written_words(number, dry_run), *(f"- {w.words}" for w in writes)]) + take_back(book, number)
    answer(said, programs_as_data(found, writes, number, stored=number is not None), as_json)


@click.command(cls=BookCommand)
@book_argument
@click.argument("start", metavar="DAY")
@click.argument("days", metavar="DAYS", type=int)
@BASIS
@AS_OF
@UNITS
@json_option
def away(
    *, book: Path, start: str, days: int, basis: Basis, as_of: str | None, units: System | None, as_json: bool
) -> None:
    """Say which plants run dry while you are away, if the system runs as it is set and if it stops.

    DAY is the first day away, DAYS how many. Every planting is walked on from the water its soil holds now; no rain
    is counted.

    \b
    Examples:
      rillbook away garden.rillbook 2026-07-25 10
      rillbook away garden.rillbook 2026-07-25 10 --basis recent
      rillbook away garden.rillbook 2026-07-25 10 --json > trip.json
    """
    picture = _picture(book, as_of, "metric" if as_json else units)
    trip = going_away(picture, parse_day(start), days, basis)
    answer(away_in_words(trip), away_as_data(trip), as_json)


def _picture(book: Path, as_of: str | None, units: System | None) -> Picture:
    opened = Book.open(book)
    instant: datetime = end_of(as_of, opened.zone_info) if as_of else present(opened.zone_info)
    return see(opened, instant, units)


def _month(text: str | None, picture: Picture) -> int:
    if text is None:
        return picture.today.month
    try:
        return int(text.rpartition("-")[2])  # 7, 07 or 2026-07
    except ValueError as error:
        raise EntryError(f"“{text}” is not a month of the year. Expected 1 to 12.") from error


def _only(month: FittingMonth, codes: tuple[str, ...]) -> FittingMonth:
    if not codes:
        return month
    known: dict[str, ZoneFit] = {z.zone: z for z in month.zones}
    strange = [code for code in codes if code not in known]
    if strange:
        raise NotFoundError(f"“{strange[0]}” is no zone with a controller. Expected one of {', '.join(known)}.")
    return replace(month, zones=tuple(known[code] for code in dict.fromkeys(codes)))
