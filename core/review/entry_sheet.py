"""Register readings of a sheet that would make a meter run backwards: asked about before they are stored."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from core.accounts.instants import HOUR_MS, Flags, Floats, Ints, to_ms
from core.accounts.steps import NEAR_NOUGHT, SMALL_BACK_L, may_have_rolled
from core.book.kinds import Meter, MeterReading, Record
from core.book.store import Book
from core.review.entry_register import day, with_unit
from core.units import to_base

CHANGED = "write yes under first_after_change where the register was changed"


def about_registers(
    book: Book, records: Sequence[Record], with_them: Sequence[Record] = ()
) -> Iterator[tuple[list[int], str, str]]:
    """Readings, new to the book, that lie below the one before them or above the one after them.

    Held against are the readings of the book and those beside them in the sheet; a meter may come ``with_them``. No
    question is a step back of :data:`core.accounts.steps.SMALL_BACK_L` or one step of the register, a register that
    rolled over, one said to be changed, or an estimate, which the next real reading puts right.

    Yields:
        Places of readings that lie below (or above) the same one, the field, and what was expected of it.
    """
    if not records or not isinstance(records[0], MeterReading):
        return
    readings: dict[str, list[tuple[int, MeterReading]]] = {}
    for n, r in enumerate(records):
        if isinstance(r, MeterReading) and r.how != "estimated":
            readings.setdefault(r.meter, []).append((n, r))
    held = book.frame(MeterReading.KIND)
    held = held[held["how"] != "estimated"]
    for meter in [*(stored.record for stored in book.records(Meter)), *(r for r in with_them if isinstance(r, Meter))]:
        if own := readings.get(meter.code):
            line = _in_order(meter, own, held[held["meter"] == meter.code])
            if line.falls().any():
                yield from _told(book, line, _odd(line))


@dataclass(frozen=True)
class _Line:
    """Readings of one meter in the order of time; ``place`` is where a new one stands, -1 for one of the book."""

    meter: Meter
    at_ms: Ints
    value: Floats
    changed: Flags
    place: Ints
    slack: float

    def falls(self) -> Flags:
        """Whether a reading is below the one before it by more than may be, its register not said to be changed."""
        return (np.diff(self.value) < -self.slack) & ~self.changed[1:]

    def fell(self, before: int, after: int) -> bool:
        """The same of two readings that need not be neighbours; no register falls that rolled over."""
        was, shows = float(self.value[before]), float(self.value[after])
        if was - shows <= self.slack:
            return False
        hours = float(self.at_ms[after] - self.at_ms[before]) / HOUR_MS
        unit_l = to_base(1, self.meter.unit, "volume")
        near_nought = shows < NEAR_NOUGHT * 10.0**self.meter.digits
        return not (near_nought and may_have_rolled(was, shows, self.meter.digits, unit_l, hours))


def _in_order(meter: Meter, new: Sequence[tuple[int, MeterReading]], held: pd.DataFrame) -> _Line:
    at = np.concatenate([to_ms(held["at"]), [int(r.at.utc.timestamp() * 1000) for _, r in new]]).astype("i8")
    value = np.concatenate([held["register_value"].to_numpy(float), [float(r.register_value) for _, r in new]])
    changed = np.concatenate([held["first_after_change"].to_numpy(bool), [r.first_after_change for _, r in new]])
    place = np.concatenate([np.full(len(held), -1), [n for n, _ in new]]).astype("i8")
    order = np.argsort(at, kind="stable")
    slack = max(float(meter.resolution), SMALL_BACK_L / to_base(1, meter.unit, "volume"))
    return _Line(meter, at[order], value[order], changed[order].astype(bool), place[order], slack)


def _odd(line: _Line) -> dict[int, tuple[int, str]]:
    """New readings that do not fit: each with the one it does not fit, and on which side of it that lies.

    Of three of a sheet the middle one is odd when the third follows the first; else the later one. The book's own
    readings stand.
    """
    odd: dict[int, tuple[int, str]] = {}
    kept: list[int] = []
    for here in range(len(line.value)):
        if line.changed[here]:
            kept = []
        while kept and line.fell(kept[-1], here):
            last = kept[-1]
            follows_one_before = len(kept) > 1 and not line.fell(kept[-2], here)
            if line.place[last] < 0 or not (line.place[here] < 0 or follows_one_before):
                break
            odd[kept.pop()] = (here, "after")
        if kept and line.fell(kept[-1], here) and line.place[here] >= 0:
            odd[here] = (kept[-1], "before")
        else:
            kept.append(here)
    return odd


def _told(book: Book, line: _Line, odd: dict[int, tuple[int, str]]) -> Iterator[tuple[list[int], str, str]]:
    """The odd ones in the order of the sheet, those beside the same reading and on the same side of it together."""
    together: dict[tuple[int, str], list[int]] = {}
    for here, beside in odd.items():
        together.setdefault(beside, []).append(int(line.place[here]))
    for (other, side), places in sorted(together.items(), key=lambda item: min(item[1])):
        shows = with_unit(float(line.value[other]), line.meter)
        where = "the book" if line.place[other] < 0 else "this sheet"
        when = day(pd.Timestamp(line.at_ms[other], unit="ms", tz="UTC"), book)
        if side == "before":
            expected = f"{shows} or more, for {where} has that on {when} and a meter never runs backwards; {CHANGED}"
        else:
            expected = f"{shows} or less, for {where} has that on {when} and a meter never runs backwards"
        yield sorted(places), "register_value", expected
