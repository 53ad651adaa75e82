"""The short notations one cell of a record may hold: watering days, start times, shares, price tiers.

Each has a parser that raises a sentence and a ``str`` that the parser reads back to the same thing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from typing import Literal

from core.days import in_24_hours, parse_day
from core.errors import EntryError
from core.units import parse_number

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class DayPattern:
    """Which days a program waters.

    Attributes:
        form: "weekdays", "odd" or "even" (day of month), or "every" n days from an anchor.
        weekdays: 0 Monday to 6 Sunday, for form "weekdays".
        every: interval in days, for form "every".
        anchor: a day on which it waters, for form "every".
    """

    form: Literal["weekdays", "odd", "even", "every"]
    weekdays: frozenset[int] = frozenset()
    every: int = 0
    anchor: date | None = None

    def waters_on(self, day: date) -> bool:
        """Whether the pattern waters on a local day."""
        if self.form == "weekdays":
            return day.weekday() in self.weekdays
        if self.form == "every":
            if self.anchor is None:
                return False
            return (day - self.anchor).days % self.every == 0
        return day.day % 2 == (1 if self.form == "odd" else 0)

    def __str__(self) -> str:
        if self.form == "weekdays":
            if len(self.weekdays) == 7:
                return "daily"
            return " ".join(WEEKDAYS[d] for d in sorted(self.weekdays))
        if self.form == "every":
            return f"every {self.every} from {self.anchor}"
        return self.form


def parse_days(text: str) -> DayPattern:
    """``daily``, ``mon wed fri``, ``odd``, ``even`` or ``every 3 from 2026-05-01``.

    Raises:
        EntryError: none of these.
    """
    plain = text.strip().lower()
    if plain in ("daily", "every day"):
        return DayPattern("weekdays", frozenset(range(7)))
    if plain in ("odd", "even"):
        return DayPattern("odd" if plain == "odd" else "even")
    every = re.fullmatch(r"every (\d+)(?: days)? from (\S+)", plain)
    if every and int(every[1]) >= 1:
        return DayPattern("every", every=int(every[1]), anchor=parse_day(every[2]))
    words = [w[:3] for w in re.split(r"[ ,;/]+", plain) if w]
    if words and all(w in WEEKDAYS for w in words):
        return DayPattern("weekdays", frozenset(WEEKDAYS.index(w) for w in words))
    raise EntryError(
        f"“{text}” is not a set of days. Expected daily, mon wed fri, odd, even or every 3 from 2026-05-01."
    )


@dataclass(frozen=True, slots=True)
class Starts:
    """Start times of a program on the controller's clock, earliest first."""

    times: tuple[time, ...]

    def __str__(self) -> str:
        return " ".join(f"{t:%H:%M}" for t in self.times)


def parse_starts(text: str) -> Starts:
    """Start times such as ``05:00`` or ``05:00 20:30``, or ``5am 8:30 pm``.

    Raises:
        EntryError: no time, or one that is not HH:MM.
    """
    times = []
    for word in re.split(r"[ ,;]+", in_24_hours(text).strip()):
        found = re.fullmatch(r"(\d{1,2}):(\d{2})", word)
        if not found or int(found[1]) > 23 or int(found[2]) > 59:
            raise EntryError(f"“{text}” is not a list of start times. Expected 05:00 or 05:00 20:30.")
        times.append(time(int(found[1]), int(found[2])))
    return Starts(tuple(sorted(set(times))))


def parse_month_day(text: str) -> str:
    """The same day every year, month first: ``10-20`` is 20 October; "" where there is none.

    Raises:
        EntryError: not two numbers with a dash between, or a day no year has.
    """
    if not text.strip():
        return ""
    found = re.fullmatch(r"(\d{1,2})-(\d{1,2})", text.strip())
    try:
        return f"{date(2000, int(found[1]), int(found[2])):%m-%d}" if found else _no_month_day(text)  # a leap year
    except ValueError:
        return _no_month_day(text)


def _no_month_day(text: str) -> str:
    raise EntryError(f"“{text}” is no day of the year. Expected its month and day, such as 10-20 for 20 October.")


@dataclass(frozen=True, slots=True)
class Shares:
    """How an emitter group's water divides over plantings; the parts sum to 1."""

    parts: tuple[tuple[str, float], ...]

    def __str__(self) -> str:
        if len(self.parts) == 1:
            return self.parts[0][0]
        # six digits that count, without an exponent, which nobody types and the parser does not read
        return " ".join(f"{code}:{Decimal(f'{share:.6g}'):f}" for code, share in self.parts)


def parse_shares(text: str) -> Shares:
    """``tubs``, or ``tubs:3 herbs:1`` (any weights; they are scaled to sum to 1).

    Raises:
        EntryError: no planting named, a weight that is not above zero, a planting named twice.
    """
    weights: list[tuple[str, float]] = []
    for word in re.split(r"[ ;]+", text.strip()):
        code, _, weight = word.partition(":")
        number = float(parse_number(weight)) if weight else 1.0
        if not code or number <= 0 or code in dict(weights):
            raise EntryError(f"“{text}” is not a list of shares. Expected tubs, or tubs:3 herbs:1.")
        weights.append((code, number))
    total = sum(w for _, w in weights)
    return Shares(tuple((code, weight / total) for code, weight in weights))


@dataclass(frozen=True, slots=True)
class Tier:
    """A price step: volume up to ``up_to`` billing units in the period (None: the rest) costs ``price`` each."""

    up_to: Decimal | None
    price: Decimal


@dataclass(frozen=True, slots=True)
class Tiers:
    """Price steps, cheapest bound first; the last one is open."""

    steps: tuple[Tier, ...]

    def __str__(self) -> str:
        return " / ".join(f"{'rest' if s.up_to is None else f'to {s.up_to}'}: {s.price}" for s in self.steps)


def parse_tiers(text: str) -> Tiers:
    """Prices per billing unit: ``to 4: 3.65 / to 10: 5.10 / rest: 6.17``, or one price ``3.65``.

    Bounds count billing units from the start of the billing period. Prices may fall or rise.

    Raises:
        EntryError: bounds that do not climb, or no open last step.
    """
    steps: list[Tier] = []
    parts = [p.strip() for p in text.split("/") if p.strip()]
    for index, part in enumerate(parts):
        bound, colon, price = part.partition(":")
        if not colon:
            bound, price = "rest", part
        name = bound.strip().lower().removeprefix("to ").strip()
        up_to = None if name == "rest" else parse_number(name)
        last = index == len(parts) - 1
        climbs = up_to is None or not steps or (steps[-1].up_to or Decimal(0)) < up_to
        if (up_to is None) is not last or not climbs:
            raise EntryError(f"“{text}” is not a set of prices. Expected to 4: 3.65 / to 10: 5.10 / rest: 6.17.")
        steps.append(Tier(up_to, parse_number(price)))
    if not steps:
        raise EntryError("A price is missing. Expected 3.65, or to 4: 3.65 / rest: 6.17.")
    return Tiers(tuple(steps))
