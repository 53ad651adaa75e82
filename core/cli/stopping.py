"""Pausing zones or switching them off, in the terminal."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from core.book.kinds import Zone
from core.book.store import Book
from core.cli.frame import BookCommand, answer, book_argument, json_option, take_back
from core.cli.saying import written_words
from core.days import parse_day
from core.errors import NotFoundError
from core.review import present
from core.review.stopping import How, Stop, Why, first_day_off, paused_on, planned_stop, programmed, stop


@click.command("stop", cls=BookCommand)
@book_argument
@click.option("--zone", "zones", metavar="CODE", multiple=True, help="Only this zone; may be said again. Default: all.")
@click.option("--from", "since", metavar="DAY", help="First day off. Default: the next day without a run begun.")
@click.option("--until", metavar="DAY", help="First day on again. Default: until you end it.")
@click.option(
    "--why", type=click.Choice(["rain", "away", "repair", "other"]), default="other", show_default=True, help="Why."
)
@click.option("--off", is_flag=True, help="End the programs instead of pausing them.")
@click.option("--on-again", metavar="DAY", help="End the pauses instead: the first day on again.")
@click.option("--dry-run", is_flag=True, help="Show what would be written, and write nothing.")
@json_option
def stop_(
    *,
    book: Path,
    zones: tuple[str, ...],
    since: str | None,
    until: str | None,
    why: Why,
    off: bool,
    on_again: str | None,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Write down that zones are paused, switched off, or on again.

    Do it at your controller first; Rillbook controls nothing. A paused zone keeps its program and expects no runs
    until it is on again. A zone switched off has no program from that day on.

    \b
    Examples:
      rillbook stop garden.rillbook --why rain --until 2026-07-20
      rillbook stop garden.rillbook --zone tubs --from 2026-07-16 --dry-run
      rillbook stop garden.rillbook --zone hedge --off
      rillbook stop garden.rillbook --on-again 2026-04-20
    """
    if off and until:
        raise click.UsageError("--until goes with a pause, not with --off.")
    opened = Book.open(book)
    if on_again is not None:
        if off or until or since:
            raise click.UsageError("--on-again stands by itself or with --zone.")
        first = parse_day(on_again)
        _write(book, opened, _paused(opened, zones, first), first, "on", dry_run=dry_run, as_json=as_json)
        return
    day = parse_day(since) if since else first_day_off(opened, present(opened.zone_info).astimezone(opened.zone_info))
    how: How = "off" if off else "pause"
    ends = parse_day(until) if until else None
    _write(book, opened, _chosen(opened, zones, day), day, how, ends, why, dry_run=dry_run, as_json=as_json)


def _write(
    path: Path,
    book: Book,
    zones: dict[str, str],
    day: date,
    how: How,
    until: date | None = None,
    why: Why = "other",
    *,
    dry_run: bool,
    as_json: bool,
) -> None:
    stops = planned_stop(book, zones, day, how, until, why)
    number = None if dry_run else stop(book, zones, day, how, until, why)
    said = [written_words(number, dry_run), *(f"- {s.words}" for s in stops)]
    answer("\n".join(said) + take_back(path, number), _as_data(stops, number, day), as_json)


def _paused(book: Book, codes: tuple[str, ...], day: date) -> dict[str, str]:
    """Code and name of each zone that is to be on again: those named, else all."""
    names = {s.record.code: s.record.name for s in book.records(Zone)}
    strange = next((code for code in codes if code not in names), None)
    if strange is not None:
        raise NotFoundError(f"“{strange}” is no zone. Expected one of {', '.join(names)}.")
    chosen = codes or tuple(names)
    if not paused_on(book, chosen, day):
        raise NotFoundError(f"Nothing is paused on {day}, so there is nothing to end.")
    return {code: names[code] for code in chosen}


def _chosen(book: Book, codes: tuple[str, ...], day: date) -> dict[str, str]:
    """Code and name of each zone that is to stop: those named, else all with a program on the day."""
    names = {s.record.code: s.record.name for s in book.records(Zone)}
    set_then = programmed(book, day)
    strange = next((code for code in codes if code not in set_then), None)
    if not set_then:
        raise NotFoundError(f"No zone has a program on {day}, so there is nothing to stop.")
    if strange is not None:
        raise NotFoundError(f"“{strange}” has no program on {day}. Expected one of {', '.join(set_then)}.")
    return {code: names.get(code, code) for code in (codes or set_then)}


def _as_data(stops: tuple[Stop, ...], number: int | None, day: date) -> dict[str, object]:
    return {
        "stored": number is not None,
        "change_set": number,
        "from": day.isoformat(),
        "writes": [{"verb": s.verb, "kind": s.record.KIND, "words": s.words} for s in stops],
    }
