"""A register that looks wrong: held against the readings around it and against the other meters, and what it may have
been meant to be. It is asked, not refused: the person at the meter knows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import pandas as pd

from core.accounts.instants import HOUR_MS, to_ms
from core.accounts.steps import MOST_LPH, NEAR_TOP, SMALL_BACK_L, UNUSUAL_LPH, may_have_rolled
from core.book.kinds import Meter, MeterReading
from core.book.store import Book
from core.units import decimals, register_text, show, to_base, volume_symbol

NEIGHBOURS = 60  # readings before that say what is usual
MUCH = 2.0  # a step beyond twice the meter's second highest rate is asked about; a choice of our own
LEAST_L = 200.0  # and by at least so much: a household's ordinary busy day is no question; a choice of our own
SPAN = 0.75  # a span of readings at least this share of the time asked about tells its usual rate
LOOK_BACK = 6  # readings that may have been of another meter
FEW = 20  # with fewer readings the highest rate stands for the second highest


@dataclass(frozen=True, slots=True)
class History:
    """A meter's readings before an instant: hours and litres of each, in order, as they could be."""

    meter: Meter
    rows: pd.DataFrame

    @property
    def unit_l(self) -> float:
        return to_base(1, self.meter.unit, "volume")

    @property
    def last(self) -> pd.Series:
        return self.rows.iloc[-1]

    def step_l(self, value: float, back: int = 1) -> float:
        """Litres from the reading so many back to a value, past the top of the register if it stood near it."""
        was, full = float(self.rows.iloc[-back]["register_value"]), 10.0**self.meter.digits
        return (value - was + (full if value < was and was >= NEAR_TOP * full else 0.0)) * self.unit_l

    def hours(self, at: pd.Timestamp, back: int = 1) -> float:
        """Hours from the reading so many back to an instant."""
        return float((at - self.rows.iloc[-back]["at"]).total_seconds()) / 3600

    def usual_lph(self, hours: float) -> float:
        """The rate that few spans of so many hours exceed: the second highest of late, the highest of a few.

        Readings closer together are taken in spans of about that length, for an hour's rate is no day's.
        """
        at, litres = to_ms(self.rows["at"]) / HOUR_MS, self.rows["register_value"].to_numpy(float) * self.unit_l
        later = np.searchsorted(at, at + SPAN * hours)
        later = np.maximum(later, np.arange(len(at)) + 1)
        begun = np.flatnonzero(later < len(at))
        passed, lasted = litres[later[begun]] - litres[begun], at[later[begun]] - at[begun]
        rates = np.sort((passed / lasted)[(passed > 0) & (passed <= MOST_LPH * lasted)])
        if not len(rates):
            return UNUSUAL_LPH / MUCH
        return float(rates[-2] if len(rates) >= FEW else rates[-1])

    def most_l(self, hours: float) -> float:
        """The most that goes unasked in so many hours."""
        usual = self.usual_lph(hours) * hours
        return min(MOST_LPH * hours, max(MUCH * usual, usual + LEAST_L))

    def follows(self, value: float, at: pd.Timestamp, back: int = 1) -> bool:
        """Whether a value could be the reading after the one so many back."""
        return 0 <= self.step_l(value, back) <= self.most_l(self.hours(at, back))


def readings_but(book: Book, gone: int | None) -> pd.DataFrame:
    """All readings of the book but the one with this id, which is being put right."""
    rows = book.frame("meter_reading")
    return rows if gone is None else rows[rows["id"] != gone]


def history(book: Book, meter: Meter, at: pd.Timestamp, gone: int | None) -> History:
    """The readings of a meter before an instant but the one ``gone``, from its latest change of register on."""
    rows = readings_but(book, gone)
    rows = rows[(rows["meter"] == meter.code) & (rows["at"] < at)].sort_values("at", kind="stable").tail(NEIGHBOURS)
    changes = np.flatnonzero(rows["first_after_change"].to_numpy(bool))
    return History(meter, rows.iloc[changes[-1] :] if len(changes) else rows)


def about_register(book: Book, reading: MeterReading, meter: Meter, gone: int | None = None) -> list[str]:
    """Questions about a register that does not follow the readings before it, ``gone`` left out; empty if it does."""
    at, value = pd.Timestamp(reading.at.utc), float(reading.register_value)
    own = history(book, meter, at, gone)
    if own.rows.empty:
        return []
    if own.follows(value, at):
        return _follows_an_odd_one(book, own)
    meant = meant_value(own, reading.register_value, at)
    hint = f" {meant}" if meant else ""
    return [
        f"{_what_is_odd(book, own, value, at)}{hint}",
        *_of_another_meter(book, value, at, meter, gone),
        *_last_ones_odd(book, own, value, at),
    ]


def about_step(book: Book, reading: MeterReading, meter: Meter, gone: int | None = None) -> list[str]:
    """A question about a register between two of the steps it counts in; not where the one before was so too, for
    whoever stored that has said so.
    """
    step = reading.resolution or meter.resolution
    if reading.how == "estimated" or not reading.register_value % step:
        return []
    at = pd.Timestamp(reading.at.utc)
    own = history(book, meter, at, gone)
    if len(own.rows) and Decimal(str(own.last["register_value"])) % step:
        return []
    shows = plain(reading.register_value // step * step, meter)
    for digits in (
        _swapped(str(int(reading.register_value))) if len(own.rows) and not decimals(reading.register_value) else ()
    ):
        if not Decimal(digits) % step and own.follows(float(digits), at):
            shows += f", or {plain(Decimal(digits), meter)} if two digits are swapped"
            break
    return [
        f"The register is written down as counting in steps of {with_unit(step, meter)}, so it would show {shows}. "
        "Is a digit wrong? If you can read finer, give this reading its smaller step."
    ]


def meant_value(own: History, typed: Decimal, at: pd.Timestamp) -> str:
    """What a slip of the hand made of it, as a question: the decimal mark left out, digits swapped, one mistyped or
    left out; "" when none fits.

    Of several that fit, the one nearest to the meter's usual step is named, swaps first. Decimals that were typed count
    as digits like any other.
    """
    hours = own.hours(at)
    middle = float(np.median(np.diff(to_ms(own.rows["at"])) / HOUR_MS)) if len(own.rows) > 1 else hours
    usual = _usual_step_l(own) * hours / middle if middle else 0.0
    places = decimals(typed)
    without_mark = typed.scaleb(-decimals(own.meter.resolution))
    if not places and without_mark != typed and own.follows(float(without_mark), at):
        return f"{plain(without_mark, own.meter)} would fit: was the decimal mark left out?"
    for slips in (_swapped, _left_out, _mistyped):
        meant = [Decimal(digits).scaleb(-places) for digits in dict.fromkeys(slips(str(int(typed.scaleb(places)))))]
        fitting = [value for value in meant if own.follows(float(value), at)]
        if fitting:
            best = min(fitting, key=lambda value: abs(own.step_l(float(value)) - usual))
            return f"{plain(best, own.meter)} would fit: are two digits swapped, one wrong, or one left out?"
    return ""


def _what_is_odd(book: Book, own: History, value: float, at: pd.Timestamp) -> str:
    words = f"the last reading, {with_unit(own.last['register_value'], own.meter)} on {day(own.last['at'], book)}"
    step, was, hours, system = own.step_l(value), float(own.last["register_value"]), own.hours(at), book.home().display
    if value < was and may_have_rolled(was, value, own.meter.digits, own.unit_l, hours):
        return (
            f"It is lower than {words}. If it rolled over, that is {show(step, 'volume', system)} since then, far more "
            f"than usual, which would be up to about {show(own.most_l(hours), 'volume', system)} in that time. Did it "
            "roll over, was it misread, or was the register changed?"
        )
    if value < was:
        return f"It is lower than {words}. Was it misread, or was the register changed?"
    return (
        f"That is {show(step, 'volume', system)} since {words}: far more than usual, which would be up to about "
        f"{show(own.most_l(hours), 'volume', system)} in that time. "
        "Did you fill something, or is a digit wrong?"
    )


def _of_another_meter(book: Book, value: float, at: pd.Timestamp, own: Meter, gone: int | None) -> list[str]:
    """Two meters mixed: the number follows on from another meter of the book."""
    for stored in book.records(Meter):
        if stored.record.code == own.code:
            continue
        other = history(book, stored.record, at, gone)
        if len(other.rows) and other.follows(value, at):
            last = other.last
            return [
                f"It would follow on from {stored.record.name}, which showed "
                f"{plain(last['register_value'], other.meter)} on {day(last['at'], book)}. Did you read that meter?"
            ]
    return []


def _last_ones_odd(book: Book, own: History, value: float, at: pd.Timestamp) -> list[str]:
    """The last reading, or the last few, were the odd ones: this one follows a reading before them."""
    for back in range(2, min(LOOK_BACK, len(own.rows) - 1) + 1):
        if not own.follows(value, at, back):
            continue
        before, odd = own.rows.iloc[-back], own.rows.iloc[1 - back]
        earlier = History(own.meter, own.rows.iloc[: 1 - back])
        if earlier.follows(float(odd["register_value"]), odd["at"]):
            return []
        which, was = ("the last one", "that one") if back == 2 else (f"the last {back - 1}", "those")
        showed = "" if back > 2 else f", {plain(odd['register_value'], own.meter)}"
        were = "Was" if back == 2 else "Were"
        return [
            f"It follows on from {plain(before['register_value'], own.meter)} on {day(before['at'], book)}, but not "
            f"from {which}{showed}. {were} {was} misread, or read from another meter?"
        ]
    return []


def _follows_an_odd_one(book: Book, own: History) -> list[str]:
    """It follows the last reading, to which the register cannot have come: that one fell and nobody said why."""
    if len(own.rows) < 2:
        return []
    before, last = own.rows.iloc[-2], own.last
    earlier = History(own.meter, own.rows.iloc[:-1])
    if earlier.step_l(float(last["register_value"])) > -SMALL_BACK_L:
        return []
    shows, showed = (plain(reading["register_value"], own.meter) for reading in (last, before))
    return [
        f"It follows on from the last one, {shows} on {day(last['at'], book)}, which was lower than the one before it, "
        f"{showed}. Was the register changed? Then say so at that reading. Or are these readings of another meter?"
    ]


def _usual_step_l(own: History) -> float:
    steps = np.diff(own.rows["register_value"].to_numpy(float)) * own.unit_l
    steps = steps[steps >= 0]
    return float(np.median(steps)) if len(steps) else 0.0


def _swapped(digits: str) -> Iterator[str]:
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            yield digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]


def _left_out(digits: str) -> Iterator[str]:
    """A digit left out (a painted zero at the end first) or typed twice."""
    yield f"{digits}0"
    for i in range(len(digits) + 1):
        yield from (f"{digits[:i]}{d}{digits[i:]}" for d in "0123456789")
    yield from (digits[:i] + digits[i + 1 :] for i in range(len(digits)) if len(digits) > 1)


def _mistyped(digits: str) -> Iterator[str]:
    for i, was in enumerate(digits):
        yield from (digits[:i] + d + digits[i + 1 :] for d in "0123456789" if d != was)


def plain(value: Decimal | float, meter: Meter) -> str:
    """A register as its face shows it: 1,384.310."""
    return register_text(value, meter.resolution)


def with_unit(value: Decimal | float, meter: Meter) -> str:
    """The same with the unit it counts in: 1,384.310 m³."""
    return f"{plain(value, meter)} {volume_symbol(meter.unit)}"


def day(at: pd.Timestamp, book: Book) -> str:
    """The local day of an instant: 14 July 2026."""
    local = at.tz_convert(book.zone_info)
    return f"{local.day} {local:%B %Y}"
