"""An entry that looks wrong is asked about before it is stored. The person decides; nothing is refused here."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import numpy as np
import pandas as pd

from core.accounts.instants import HOUR_MS, to_ms
from core.accounts.steps import NEAR_TOP, plausible_l, plausible_lph
from core.book.kinds import Meter, MeterReading, OtherUse, Rain, Record, Run
from core.book.store import Book
from core.units import show, to_base

MUCH_RAIN_MM_DAY = 100.0  # rain few gardens see in a day; common practice, no source
LONG_RUN_MIN = 240.0  # drip runs are minutes to a few hours; common practice, no source
NEIGHBOURS = 60  # readings before and after that say what is usual


def questions_about(book: Book, record: Record, now: datetime | None = None) -> list[str]:
    """Sentences that ask about an odd value; empty when nothing looks odd.

    A reading is held against the readings before and after it: lower than the one before, higher than the one after,
    or a step far above what this meter usually shows in that time.
    """
    moment = now or datetime.now(UTC)
    match record:
        case MeterReading():
            return _about_reading(book, record, moment)
        case Rain():
            return _about_rain(book, record, moment)
        case Run():
            return _about_run(record, moment)
        case OtherUse():
            return _future(record.start.utc, moment)
    return []


def _about_reading(book: Book, reading: MeterReading, now: datetime) -> list[str]:
    meter = book.find(Meter, reading.meter)
    if meter is None:
        return []
    asked = _future(reading.at.utc, now)
    unit, digits = meter.record.unit, meter.record.digits
    if len(str(int(reading.register_value))) > digits:
        asked.append(
            f"The meter has {digits} digits before the decimal mark, but {reading.register_value:,} has more. Right?"
        )
    if reading.first_after_change:
        return asked
    rows = book.frame("meter_reading")
    rows = rows[rows["meter"] == reading.meter].sort_values("at", kind="stable")
    at = pd.Timestamp(reading.at.utc)
    before, after = rows[rows["at"] < at].tail(NEIGHBOURS), rows[rows["at"] > at].head(NEIGHBOURS)
    value = float(reading.register_value)
    if len(before):
        last = before.iloc[-1]
        asked += _about_step(before, value - float(last["register_value"]), at - last["at"], book, meter.record, last)
    if len(after) and not bool(after.iloc[0]["first_after_change"]) and value > float(after.iloc[0]["register_value"]):
        later = after.iloc[0]
        asked.append(
            f"It is higher than the reading after it, {_plain(later['register_value'])} {unit} "
            f"on {_day(later['at'], book)}. Is it right?"
        )
    return asked


def _about_step(
    before: pd.DataFrame, step: float, elapsed: timedelta, book: Book, meter: Meter, last: pd.Series
) -> list[str]:
    words = f"the last reading, {_plain(last['register_value'])} {meter.unit} on {_day(last['at'], book)}"
    full = 10.0**meter.digits
    if step < 0:
        if float(last["register_value"]) >= NEAR_TOP * full:
            step += full
        else:
            return [f"It is lower than {words}. Was it misread, or was the register changed?"]
    hours = elapsed.total_seconds() / 3600
    litres = float(to_base(Decimal(str(step)), meter.unit, "volume"))
    history = to_ms(before["at"]) / HOUR_MS
    values = before["register_value"].to_numpy(float) * to_base(1, meter.unit, "volume")
    usual = plausible_lph(np.diff(history), np.diff(values))
    most = float(plausible_l(np.array([hours]), usual)[0])
    if litres > most:
        system = book.home().display
        return [
            f"That is {show(litres, 'volume', system)} since {words}: far more than usual, which would be up to "
            f"about {show(most, 'volume', system)} in that time. Is every digit right?"
        ]
    return []


def _about_rain(book: Book, rain: Rain, now: datetime) -> list[str]:
    asked = _future(rain.end.utc, now)
    days = max((rain.end.utc - rain.start.utc).total_seconds() / 86_400, 1.0)
    if rain.rain.base > MUCH_RAIN_MM_DAY * days:
        asked.append(
            f"{show(rain.rain.base, 'depth', book.home().display)} is very much rain for that time. Is it right?"
        )
    return asked


def _about_run(run: Run, now: datetime) -> list[str]:
    asked = _future(run.at.utc, now) if run.at.exact != "day" else []
    if run.ran and run.duration is not None and run.duration.base > LONG_RUN_MIN:
        asked.append(f"{run.duration.base / 60:.1f} hours is a long run. Is it right?")
    return asked


def _future(at: datetime, now: datetime) -> list[str]:
    if at > now + timedelta(hours=1):
        return [f"That is in the future: {at:%Y-%m-%d %H:%M} UTC. Is the date right?"]
    return []


def _plain(value: object) -> str:
    return f"{Decimal(str(value)).normalize():,f}"


def _day(at: pd.Timestamp, book: Book) -> str:
    local = at.tz_convert(book.zone_info)
    return f"{local.day} {local:%B %Y}"
