"""Writing down one thing in one short line."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import click
from pydantic import ValidationError

from core.book.kinds import Measured, Meter, MeterReading, Rain, Record, fields_of
from core.book.rows import R
from core.book.store import Book
from core.cli.entries import instant, measured
from core.cli.frame import BookCommand, answer, book_argument, json_option, take_back
from core.days import Moment
from core.errors import EntryError, NotFoundError
from core.review.entry import questions_about
from core.review.entry_register import with_unit
from core.units import amount_and_unit, parse_number, show, to_base, unit_named, volume_symbol

GAUGE_READ_DAILY = timedelta(hours=24)  # how far back rain reaches when no earlier emptying is nearer


@click.command(cls=BookCommand)
@book_argument
@click.argument("what", type=click.Choice(["reading", "rain"]))
@click.argument("value", nargs=-1, required=True)
@click.option("--at", metavar="WHEN", help="reading: when it was read. Default: now.")
@click.option("--meter", metavar="CODE", help="reading: which meter. Default: the only one.")
@click.option("--how", type=click.Choice(["eye", "bill", "file", "estimated"]), help="reading: how it was read.")
@click.option("--register-changed", is_flag=True, help="reading: the first after the register was changed.")
@click.option("--from", "start", metavar="WHEN", help="rain: when the gauge was emptied before.")
@click.option("--to", "end", metavar="WHEN", help="rain: when it was read. Default: now.")
@click.option("--gauge", metavar="CODE", default="yard", show_default=True, help="rain: which gauge.")
@click.option("--note", help="reading: a note.")
@click.option("--yes", is_flag=True, help="Store it even if it looks odd, without asking.")
@json_option
def add(book: Path, what: str, value: tuple[str, ...], yes: bool, as_json: bool, **given: Any) -> None:
    """Write down a meter reading or rain.

    A reading is the whole number the register shows, painted zeros included, in the meter's own unit. Rain is the
    depth in the gauge, or the word trace; without a unit it is in the unit the book shows. WHEN is a day or a time
    on the home's clock: 2026-07-14, "2026-07-14 07:30".

    \b
    Examples:
      rillbook add garden.rillbook reading 412350
      rillbook add garden.rillbook reading 412350 --at "2026-07-14 07:30" --meter curb
      rillbook add garden.rillbook rain 0.35in
      rillbook add garden.rillbook rain 9 mm --from "2026-07-13 07:00" --to "2026-07-14 07:00"

    Rain without --from reaches back to the last emptying, at most a day. A number far from the usual, or a reading
    that goes backwards, is asked about before it is stored.
    """
    opened, typed = Book.open(book), " ".join(value)
    _only_own_options(what, given)
    entry = _reading(opened, typed, given) if what == "reading" else _rain(opened, typed, given)
    asked = _ask(opened, entry.record, yes)
    with opened.change(f"wrote down {entry.words}") as change:
        row = change.add(entry.record)
    stored = change.number is not None
    words = f"Stored: {entry.words}.{entry.since}" if stored else f"It was there already: {entry.words}."
    data = {
        "stored": stored,
        "change_set": change.number,
        "kind": entry.record.KIND,
        "id": row,
        **entry.data,
        "questions": asked,
    }
    answer(words + take_back(book, change.number), data, as_json)


@dataclass(frozen=True)
class _Entry:
    """A record, the same in words and for a script, and what it means beside the one before."""

    record: Record
    words: str
    data: dict[str, Any]
    since: str = ""


_OPTIONS = {"reading": ("at", "meter", "how", "register_changed", "note"), "rain": ("start", "end")}
_FLAGS = {"start": "from", "end": "to", "register_changed": "register-changed"}


def _only_own_options(what: str, given: dict[str, Any]) -> None:
    other = "rain" if what == "reading" else "reading"
    wrong = next((name for name in _OPTIONS[other] if given[name]), None)
    if wrong:
        raise click.UsageError(f"--{_FLAGS.get(wrong, wrong)} belongs to {other}, not to {what}")


def _ask(book: Book, record: Record, yes: bool) -> list[str]:
    """Ask about a value that looks odd; what was asked is returned once it may be stored."""
    asked = questions_about(book, record)
    if asked and not yes:
        if not sys.stdin.isatty():
            raise EntryError(f"{' '.join(asked)} Add --yes to store it all the same. Nothing was stored.")
        click.confirm(f"{' '.join(asked)} Store it as it is?", abort=True, err=True)
    return asked


def _reading(book: Book, typed: str, given: dict[str, Any]) -> _Entry:
    meter = _meter(book, given["meter"])
    number, unit = amount_and_unit(typed)
    if unit and unit_named(unit, "volume") != meter.unit:
        counts = volume_symbol(meter.unit)
        raise EntryError(f"“{typed}”: the register of {meter.code} counts {counts}. Expected the number it shows.")
    record: MeterReading = _made(
        MeterReading,
        meter=meter.code,
        at=instant(given["at"], book.zone_info),
        register_value=parse_number(number),
        how=given["how"] or "eye",
        first_after_change=given["register_changed"],
        note=given["note"] or "",
    )
    before = [s.record for s in book.records(MeterReading, meter=meter.code) if s.record.at.utc < record.at.utc]
    words = f"{with_unit(record.register_value, meter)} at {meter.code}, {record.at.local:%Y-%m-%d %H:%M}"
    data = {
        "meter": meter.code,
        "at": record.at.utc.isoformat(),
        "register_value": str(record.register_value),
        "register_unit": meter.unit,
        "since_last_l": None,
    }
    if not before or record.first_after_change or record.register_value < before[-1].register_value:
        return _Entry(record, words, data)
    litres = to_base(record.register_value - before[-1].register_value, meter.unit, "volume")
    since = f" That is {show(litres, 'volume', book.home().display)} since {before[-1].at.local:%Y-%m-%d}."
    return _Entry(record, words, {**data, "since_last_l": litres}, since)


def _rain(book: Book, typed: str, given: dict[str, Any]) -> _Entry:
    zone, home = book.zone_info, book.home()
    trace = typed.strip().lower() == "trace"
    end = instant(given["end"], zone)
    if given["start"]:
        start = instant(given["start"], zone)
    else:
        since = max(_last_emptied(book, given["gauge"], end.utc), end.utc - GAUGE_READ_DAILY)
        offset = since.astimezone(zone).utcoffset() or timedelta()
        start = Moment(since, int(offset.total_seconds() // 60))
    rain = Measured("0", "mm", "depth") if trace else measured(typed, "depth", home.display)
    record: Rain = _made(Rain, gauge=given["gauge"], start=start, end=end, rain=rain, trace=trace)
    shown = "a trace" if trace else str(rain)
    words = f"{shown} of rain, {record.start.local:%Y-%m-%d %H:%M} to {record.end.local:%Y-%m-%d %H:%M}"
    data = {
        "gauge": record.gauge,
        "start": record.start.utc.isoformat(),
        "end": record.end.utc.isoformat(),
        "rain_mm": rain.base,
        "trace": trace,
    }
    return _Entry(record, words, data)


def _last_emptied(book: Book, gauge: str, before: datetime) -> datetime:
    ends = [s.record.end.utc for s in book.records(Rain, gauge=gauge) if s.record.end.utc < before]
    return max(ends, default=datetime.min.replace(tzinfo=UTC))


def _meter(book: Book, code: str | None) -> Meter:
    meters = {s.record.code: s.record for s in book.records(Meter)}
    if not meters:
        raise NotFoundError(
            "There is no meter in the book yet. Write one down on the garden page, or bring in meter.csv."
        )
    if code is None and len(meters) == 1:
        return next(iter(meters.values()))
    if code in meters:
        return meters[code]
    said = f"“{code}” is not a meter of the book" if code else "There is more than one meter, so say which"
    raise NotFoundError(f"{said}. Expected --meter {' or --meter '.join(meters)}.")


def _made(kind: type[R], **values: Any) -> R:
    """A record, or a sentence that says which of its values cannot be."""

    try:
        return kind(**values)
    except ValidationError as error:
        detail = error.errors()[0]
        labels = {f.name: f.label for f in fields_of(kind)}
        where = f"{labels[str(detail['loc'][0])]}: " if detail["loc"] else ""
        message = detail["msg"].removeprefix("Value error, ").removeprefix("Input ")
        raise EntryError(f"{where}{message}. Nothing was stored.") from error
