"""A program that fits: days, starts and whole minutes for a zone, within what the controller and the local rule allow.

    controller_limits(row) -> Limits                     row of the book's controllers
    fitting_program(need, limits, anchor) -> Fitting | None      None when nothing needs watering

Start times are laid out for all zones together: :mod:`core.water.layout`.

Deep and seldom: of the patterns that leave no gap longer than the plants' store lasts, the one with the fewest
waterings is taken, as long as its runs are short enough to be set and, where any is, to be over in a morning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Any

import pandas as pd

from core.errors import EntryError
from core.notation import DayPattern, parse_days, parse_starts
from core.water.runtime import Cycles, cycles, minutes_for

LONGEST_EVERY = 14  # days between waterings worth considering
LONGEST_NIGHT = 300  # minutes a zone may take on one day, soaking included, if more days can help: four to nine o'clock
LEAST_SHARE = 0.97  # of the need that rounding to whole minutes may leave
_YEAR = 364  # days over which patterns are compared: whole weeks


@dataclass(frozen=True, slots=True)
class Limits:
    """What a program may be.

    Attributes:
        forms: patterns the controller can be set to, of "weekdays", "odd-even", "every-n".
        max_starts, max_minutes: start times per zone and longest run it can hold.
        allowed: days the local rule allows, None for any.
        opens, closes: hours the local rule allows, by the clock, None for any; may pass midnight.
    """

    forms: frozenset[str] = frozenset({"weekdays"})
    max_starts: int = 4
    max_minutes: int = 240
    allowed: DayPattern | None = None
    opens: time | None = None
    closes: time | None = None

    @property
    def window_minutes(self) -> int:
        """Length of the allowed hours."""
        if self.opens is None or self.closes is None:
            return 1440
        length = (_minute(self.closes) - _minute(self.opens)) % 1440
        return length or 1440


@dataclass(frozen=True, slots=True)
class ZoneNeed:
    """What a zone must get.

    Attributes:
        litres_a_day: to be applied, rain credited and the loss by uneven watering already in it.
        flow_lph: of the zone, above 0.
        lasts_days: how long the smallest readily available store of its plantings lasts (interval_days).
        rate_mm_h, intake_mm_h: application rate where it lands and what the soil takes; None when runoff is no matter.
    """

    litres_a_day: float
    flow_lph: float
    lasts_days: float
    rate_mm_h: float | None = None
    intake_mm_h: float | None = None


@dataclass(frozen=True, slots=True)
class Fitting:
    """A program that fits, or the nearest to it.

    Attributes:
        days: which days it waters; starts: start times each of those days; minutes: each start.
        litres_a_week: what it gives; longest_gap: days between waterings at most.
        soak_minutes: least pause between starts of the zone, 0 when it does not matter.
        risk: what is wrong with it in a sentence, "" when it fits.
        spread: whether its starts are spread through the day, since what the soil holds does not last for one.
    """

    days: DayPattern
    starts: int
    minutes: int
    litres_a_week: float
    longest_gap: int
    soak_minutes: float
    risk: str
    spread: bool = False


def controller_limits(row: Mapping[str, Any] | pd.Series) -> Limits:
    """Limits from a controller's record: max_starts, max_minutes, day_choice, allowed_days, allowed_hours.

    Raises:
        EntryError: days or hours that cannot be read.
    """
    forms = frozenset(w.strip() for w in str(row.get("day_choice") or "weekdays").split(",") if w.strip())
    unknown = forms - {"weekdays", "odd-even", "every-n"}
    if unknown:
        raise EntryError(f"“{min(unknown)}” is not a choice of days. Expected weekdays, odd-even or every-n.")
    days, hours = _text(row, "allowed_days"), _text(row, "allowed_hours")
    opens = closes = None
    if hours:
        ends = [parse_starts(part).times for part in hours.split("-")]
        if len(ends) != 2 or any(len(e) != 1 for e in ends):
            raise EntryError(f"“{hours}” is not a span of hours. Expected 18:00-10:00.")
        opens, closes = ends[0][0], ends[1][0]
    return Limits(
        forms, int(row["max_starts"]), int(row["max_minutes"]), parse_days(days) if days else None, opens, closes
    )


def fitting_program(need: ZoneNeed, limits: Limits, anchor: date, busy: Sequence[float] = (0.0,) * 7) -> Fitting | None:
    """The program that meets a need with the fewest waterings the plants' store allows, its days spread evenly.

    Args:
        need: of the zone, for the month.
        limits: of the controller and the local rule.
        anchor: a day on which a pattern of every n days begins.
        busy: minutes other zones already run on each weekday, Monday first; of days as good the emptiest are taken.

    Returns:
        The fitting program, with a risk in words when no pattern fits wholly; None when nothing needs watering.

    Raises:
        EntryError: the zone has no flow, or no pattern the controller has keeps the local rule.
    """
    if need.flow_lph <= 0:
        raise EntryError("The zone has no flow. Write down its emitters or a flow test first.")
    if need.litres_a_day <= 0:
        return None
    options = [_option(pattern, need, limits, anchor) for pattern in _patterns(limits, anchor)]
    if not options:
        raise EntryError("The controller cannot be set to any days the local rule allows.")
    fits = [o for o in options if not o.risk]
    if fits:
        fits = [o for o in fits if _length(o) <= LONGEST_NIGHT] or fits
        return min(fits, key=lambda o: (_per_week(o.days, anchor), o.longest_gap, *_crowd(o.days, anchor, busy)))
    return min(options, key=lambda o: (o.longest_gap, _per_week(o.days, anchor), *_crowd(o.days, anchor, busy)))


def _length(fit: Fitting) -> float:
    """Minutes from the first start of a day to the end of its last run."""
    pauses = 0.0 if fit.spread else (fit.starts - 1) * fit.soak_minutes
    return fit.starts * fit.minutes + pauses


def minutes_by_weekday(fit: Fitting, anchor: date) -> list[float]:
    """Minutes a program runs on each weekday in the mean, Monday first."""
    minutes, days = fit.starts * fit.minutes, fit.days
    if days.form == "weekdays":
        return [float(minutes) if day in days.weekdays else 0.0 for day in range(7)]
    return [minutes * _per_week(days, anchor) / 7] * 7


def _crowd(days: DayPattern, anchor: date, busy: Sequence[float]) -> tuple[float, float, float]:
    """How unevenly a pattern's days lie, then how full they are: the fullest, then all of them."""
    waters = watered(days, anchor)
    uneven = round(sum((b - a) ** 2 for a, b in pairwise(waters)) / max(len(waters), 1), 6)
    if days.form != "weekdays":
        return uneven, sum(busy) / 7, sum(busy)
    full = [busy[day] for day in days.weekdays]
    return uneven, max(full, default=0.0), sum(full)


def _option(pattern: DayPattern, need: ZoneNeed, limits: Limits, anchor: date) -> Fitting:
    weekly, gap = _per_week(pattern, anchor), _longest_gap(pattern, anchor)
    run = minutes_for(need.litres_a_day * 7 / weekly, need.flow_lph)
    pieces = Cycles(1, run, 0.0)
    if need.rate_mm_h is not None and need.intake_mm_h is not None:
        pieces = cycles(run, need.rate_mm_h, need.intake_mm_h)
    often = math.ceil(1 / need.lasts_days - 1e-9) if need.lasts_days < 1 else 1
    starts = min(max(pieces.count, often, math.ceil(run / limits.max_minutes)), limits.max_starts)
    minutes = max(1, round(run / starts))
    minutes = min(minutes if minutes * starts >= LEAST_SHARE * run else math.ceil(run / starts), limits.max_minutes)
    soak = pieces.soak_minutes
    if often > 1:  # a small store is refilled through the day, not twice in a row
        between = limits.window_minutes / starts if limits.opens is None else limits.window_minutes / max(starts - 1, 1)
        soak = max(soak, math.floor(between) - 2 * minutes)
    given = weekly * starts * minutes * need.flow_lph / 60
    risks = []
    if gap > max(1.0, need.lasts_days):
        risks.append(f"the plants' store lasts {need.lasts_days:.1f} days, the days set leave up to {gap} between")
    if starts < often:
        risks.append(f"it should run {often} times a day and can start {starts} times")
    if given < 7 * need.litres_a_day * LEAST_SHARE and minutes == limits.max_minutes:
        risks.append(f"it gives {given / need.litres_a_day / 7:.0%} of the need at the longest run that can be set")
    if starts * minutes > limits.window_minutes:
        risks.append("its runs are longer than the allowed hours")
    if pieces.count > limits.max_starts:
        risks.append(f"to soak in it should run in {pieces.count} pieces and can start {limits.max_starts} times")
    risk = "; ".join(risks)
    return Fitting(pattern, starts, minutes, given, gap, soak, risk[:1].upper() + risk[1:], spread=often > 1)


def _patterns(limits: Limits, anchor: date) -> Iterator[DayPattern]:
    found: list[DayPattern] = []
    if "weekdays" in limits.forms:
        found += [DayPattern("weekdays", frozenset(c)) for n in range(7, 0, -1) for c in combinations(range(7), n)]
    if "odd-even" in limits.forms:
        found += [DayPattern("odd"), DayPattern("even")]
    if "every-n" in limits.forms:
        found += [DayPattern("every", every=n, anchor=anchor) for n in range(1, LONGEST_EVERY + 1)]
    for pattern in found:
        if limits.allowed is None or _keeps(pattern, limits.allowed, anchor):
            yield pattern


def _keeps(pattern: DayPattern, allowed: DayPattern, anchor: date) -> bool:
    return set(watered(pattern, anchor)) <= set(watered(allowed, anchor))


@lru_cache(maxsize=2048)
def watered(pattern: DayPattern, anchor: date) -> tuple[int, ...]:
    """Days of a year from ``anchor`` on, counted from 0, on which a pattern waters."""
    return tuple(d for d in range(_YEAR) if pattern.waters_on(anchor + timedelta(days=d)))


def _per_week(pattern: DayPattern, anchor: date) -> float:
    if pattern.form == "every":
        return 7 / pattern.every
    return len(watered(pattern, anchor)) * 7 / _YEAR


def _longest_gap(pattern: DayPattern, anchor: date) -> int:
    days = watered(pattern, anchor)
    return max((b - a for a, b in pairwise(days)), default=_YEAR)


def _minute(clock: time) -> int:
    return clock.hour * 60 + clock.minute


def _text(row: Mapping[str, Any] | pd.Series, name: str) -> str:
    value = row.get(name)
    return "" if value is None or pd.isna(value) else str(value).strip()
