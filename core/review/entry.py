"""An entry that looks wrong is asked about before it is stored. The person decides; nothing is refused here."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pandas as pd

from core.book.kinds import (
    EmitterGroup,
    Meter,
    MeteredUse,
    MeterReading,
    OtherUse,
    Pause,
    Planting,
    Program,
    Rain,
    Record,
    Run,
)
from core.book.resting import winter_over
from core.book.rows import row_of
from core.book.store import Book, Stored
from core.book.stretches import OF, overlaps
from core.book.whole_days import span
from core.review.entry_intervals import about_intervals
from core.review.entry_register import about_register, about_step, day, readings_but, with_unit
from core.review.entry_usual import about_usual
from core.review.spoken import day_named
from core.units import show

LONG_RUN_MIN = 240.0  # drip runs are minutes to a few hours; common practice, no source


def questions_about(
    book: Book, record: Record, now: datetime | None = None, instead: Stored[Record] | None = None
) -> list[str]:
    """Sentences that ask about an odd value; empty when nothing looks odd.

    A reading is held against the readings before and after it: lower than the one before, higher than the one after,
    a step far above what this meter usually shows in that time, or a week far from the weeks of late.

    Args:
        instead: what the record puts right. It is no neighbour of itself, and what was as odd in it is not asked again:
            whoever mends a note has said so already.

    Raises:
        EntryError: a day or instant outside the years a book holds.
    """
    row_of(record)
    moment = now or datetime.now(UTC)
    gone = None if instead is None else instead.id
    asked = _asked(book, record, moment, gone)
    if instead is None or not asked:
        return asked
    before = _asked(book, instead.record, moment, gone)
    return [question for question in asked if question not in before]


def _asked(book: Book, record: Record, moment: datetime, gone: int | None) -> list[str]:
    match record:
        case MeterReading():
            return _about_reading(book, record, moment, gone)
        case Rain() | MeteredUse():
            return [*_about_stretch(book, record, moment), *_told_already(book, record, gone)]
        case Run():
            return _about_run(record, moment)
        case OtherUse():
            return _future(record.start.utc, moment)
        case Planting() | EmitterGroup() | Program():
            return [*about_garden(record), *_about_winter(book, record)]
    return []


def about_garden(record: Record) -> list[str]:
    """Whether a plant is wider, or an emitter faster, than the trade knows them."""
    if isinstance(record, Planting) and record.very_wide:
        return [f"{record.canopy} across is very wide for one plant of {record.name}. Is the unit right?"]
    if isinstance(record, EmitterGroup) and record.very_fast and record.flow_each is not None:
        hourly = " and ".join(show(record.flow_each.base, "flow", system) for system in ("us", "metric"))
        return [
            f"{record.flow_each} is very much for one emitter: {hourly}. Drip emitters give 0.3 to 6 gph (1 to 24 L/h) "
            "each. Is the unit right, and is it the flow of one?"
        ]
    return []


def _about_winter(book: Book, record: Record) -> list[str]:
    """Whether a program begins while it is paused for the winter, so that it would be taken for set and never run."""
    held = (stored.record for stored in book.records(Pause))
    if not isinstance(record, Program) or (pause := winter_over(record, held)) is None:
        return []
    what = "Everything" if pause.scope == "all" else "The zone"
    paused = f"{what} is paused for the winter from {day_named(pause.since, year=True)}"
    if pause.until is not None:
        first = day_named(pause.until, year=True)
        return [f"{paused} to {first}, so that this program only runs from {first} on. Is that right?"]
    return [
        f"{paused} on, without an end, so that this program would not run at all. If the garden is on again, end that "
        "pause first: Garden, Pauses. Store it all the same?"
    ]


def _about_reading(book: Book, reading: MeterReading, now: datetime, gone: int | None) -> list[str]:
    meter = book.find(Meter, reading.meter)
    if meter is None:
        return []
    asked = _future(reading.at.utc, now)
    digits = meter.record.digits
    if len(str(int(reading.register_value))) > digits:
        asked.append(
            f"The meter has {digits} digits before the decimal mark, but {reading.register_value:,} has more. Right?"
        )
    asked += about_step(book, reading, meter.record, gone)
    if reading.first_after_change:
        return asked
    asked += (
        about_register(book, reading, meter.record, gone)
        or about_intervals(book, reading, meter.record, gone)
        or about_usual(book, reading, meter.record, gone)
    )
    rows = readings_but(book, gone)
    after = rows[(rows["meter"] == reading.meter) & (rows["at"] > pd.Timestamp(reading.at.utc))].sort_values("at")
    if len(after) and not bool(after.iloc[0]["first_after_change"]):
        later = after.iloc[0]
        if float(reading.register_value) > float(later["register_value"]):
            asked.append(
                f"It is higher than the reading after it, {with_unit(later['register_value'], meter.record)} "
                f"on {day(later['at'], book)}. Is it right?"
            )
    return asked


def _about_stretch(book: Book, told: Rain | MeteredUse, now: datetime) -> list[str]:
    over = span(told.start, told.end, book.zone_info)[1] if isinstance(told, MeteredUse) else told.end.utc
    asked = _future(over, now)
    if isinstance(told, Rain) and told.very_much:
        asked.append(f"{told.rain} is very much rain for that time. Is it right?")
    return asked


def _told_already(book: Book, record: Rain | MeteredUse, gone: int | None) -> list[str]:
    """Whether the gauge or meter has a row for some of the same hours."""
    return [
        f"The book has {record.TITLE} of {getattr(record, OF[record.KIND])} from {met.start} to {met.end} already, "
        "which overlaps this. Is it other water?"
        for met in overlaps(book, [record], gone)
    ]


def _about_run(run: Run, now: datetime) -> list[str]:
    asked = _future(run.at.utc, now) if run.at.exact != "day" else []
    if run.ran and run.duration is not None and run.duration.base > LONG_RUN_MIN:
        asked.append(f"{run.duration.base / 60:.1f} hours is a long run. Is it right?")
    return asked


def _future(at: datetime, now: datetime) -> list[str]:
    if at > now + timedelta(hours=1):
        return [f"That is in the future: {at:%Y-%m-%d %H:%M} UTC. Is the date right?"]
    return []
