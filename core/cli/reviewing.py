"""One month in the terminal."""

from __future__ import annotations

from pathlib import Path

import click

from core.book.store import Book
from core.cli.entries import end_of
from core.cli.frame import BookCommand, answer, book_argument, json_option
from core.cli.month_json import month_as_data
from core.cli.month_text import month_in_words
from core.review import review_month
from core.units import System


@click.command(cls=BookCommand)
@book_argument
@click.argument("month", metavar="MONTH")
@click.option("--as-of", metavar="WHEN", help="Look with only what had happened by then: 2026-07-14.")
@click.option("--working", is_flag=True, help="Print how each headline figure came about.")
@click.option("--units", type=click.Choice(["us", "metric"]), help="Units to show. Default: the book's.")
@json_option
def review(*, book: Path, month: str, as_of: str | None, working: bool, units: System | None, as_json: bool) -> None:
    """Tell one month: where the water went, what the plants needed, what the meter cannot explain, what to do next.

    MONTH is year and month: 2026-07.

    \b
    Examples:
      rillbook review garden.rillbook 2026-07
      rillbook review garden.rillbook 2026-07 --working
      rillbook review garden.rillbook 2026-07 --as-of 2026-07-14
      rillbook review garden.rillbook 2026-07 --json > july.json

    Past months may change a little as readings arrive. --json is metric whatever the book shows, with the unit in
    each name: value_l, need_l, rate_lph.
    """
    opened = Book.open(book)
    instant = end_of(as_of, opened.zone_info) if as_of else None
    found = review_month(opened, month, instant, "metric" if as_json else units)
    answer(month_in_words(found, working=working), month_as_data(found, working=working), as_json)
