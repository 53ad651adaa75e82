"""Words and numbers for the screen: parts, states, figures with their range, and text that stays text."""

from __future__ import annotations

import re
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pandas as pd

from core.accounts.findings import Finding
from core.accounts.suspects.words import KIND_WORDS
from core.figures import Figure
from core.review.against import as_said, is_more
from core.review.decide import VERDICT_WORDS
from core.review.month import MonthReview
from core.review.naming import finding_place
from core.review.settled import settled_words as words_of_settled
from core.review.spoken import amount, first_up, span
from core.review.tell import unvouched_words
from core.units import QUANTITIES, System

UNITS: dict[System, str] = {"us": "gallons, inches", "metric": "litres, mm"}

# Findings of a zone, whose name stands before theirs on the screen.
OF_A_ZONE = ("stuck_open", "more_than_set", "less_than_set", "not_delivered", "another_schedule")
STRENGTHS = {"strong": "strong evidence", "fair": "fair evidence", "weak": "weak evidence"}
STATES = {
    "ran": "ran, written down or seen at the meter",
    "presumed": "presumed from the program",
    "missed": "did not run",
    "due": "set for later today, not yet due",
    "paused": "paused on purpose",
    "off": "no run set",
    "none": "not in use",
    "by hand": "watered by hand",
    "no word": "nothing written down",
}

# The garden page's parts by record kind. The page's address holds these words, so links use them.
GARDEN = {
    "home": "Home",
    "zone": "Zones",
    "planting": "Plants",
    "factor_month": "Plant factors",
    "emitter_group": "Emitters",
    "program": "Programs",
    "pause": "Pauses",
    "supply": "Supply",
    "meter": "Meters",
    "controller": "Controller",
    "tariff": "Water price",
    "bill": "Bills",
    "household": "Guests, trips",
    "normal": "Usual weather",
    "task": "Tasks",
    "flow_test": "Flow tests",
    "catch_test": "Catch tests",
    "leak_test": "Leak tests",
    "clock_check": "Clock checks",
}

# Words of the records' choices where the stored word alone would be curt.
CHOICES = {
    "us": "US: gallons and inches",
    "metric": "metric: litres and millimetres",
    "main": "public main",
    "barrel": "rain barrel",
    "imp_gal": "imperial gallons",
    "gal": "US gallons",
    "kgal": "thousand US gallons",
    "ft3": "cubic feet",
    "ccf": "hundred cubic feet (ccf)",
    "m3": "cubic metres",
    "l": "litres",
    "eye": "by eye",
    "bill": "from a bill",
    "file": "from a file",
    "button": "button or flag emitter",
    "inline": "tubing with emitters inside",
    "soaker": "soaker hose or tubing",
    "softener": "water softener",
    "evaporative cooler": "evaporative (swamp) cooler",
    "pool auto-fill": "pool that fills itself",
    "fountain auto-fill": "fountain that fills itself",
    "watering": "only while the system waters",
    "any": "any time of year",
    "not_needed": "not needed",
    **VERDICT_WORDS,
}

_MARKS = re.compile(r"([\\`*_{}\[\]()#+\-.!|<>~$:&=^@/])")
_SYMBOLS = {u.symbol.split()[0] for q in QUANTITIES.values() for u in q.units.values()} - {"in"} | {"%"}
# "in" is an inch only after a depth's decimals: "12 June 2026 in the night"
_BEFORE_UNIT = re.compile(rf"(?<=\d) (?=(?:{'|'.join(map(re.escape, _SYMBOLS))})(?![\w/]))|(?<=\.\d\d) (?=in\b)")


def plain(text: object) -> str:
    """``text`` so that a widget that reads markdown shows it letter for letter, a number on one line with its unit."""
    return _MARKS.sub(r"\\\1", _BEFORE_UNIT.sub("\u00a0", str(text))).replace("\n", " ")


_RISKY = re.compile(r"([\\`*_{}\[\]<>~$]|:(?=[a-z]))")


def label(text: object) -> str:
    """``text`` as a widget's label: only what would change its look is escaped, for the label is also read aloud."""
    return _RISKY.sub(r"\\\1", str(text)).replace("\n", " ")


def choice(word: str) -> str:
    """A choice as a person reads it."""
    return CHOICES.get(word, word.replace("_", " "))


def day_words(day: date | datetime | pd.Timestamp, year: bool = True) -> str:
    """``14 July 2026``."""
    return f"{day.day} {day:%B %Y}" if year else f"{day.day} {day:%B}"


def moment_words(moment: datetime | pd.Timestamp, zone: ZoneInfo, exact: str = "minute") -> str:
    """An instant on the home's clock: ``14 July 2026, 07:30``; only the day when no more is known."""
    local = moment.astimezone(zone)
    return day_words(local) if exact == "day" else f"{day_words(local)}, {local:%H:%M}"


def reach_words(review: MonthReview) -> str:
    """How far into its month the meter speaks; "" when it speaks of all of it."""
    if review.metered_through is None:
        return "No use is metered in this month; everything here comes from the programs and the household."
    zone = ZoneInfo(review.time_zone)
    if review.metered_through.astimezone(zone).date() >= review.last:
        return ""
    through = moment_words(review.metered_through, zone)
    return f"Metered through {through}; later days are known from the programs and the household alone."


def settled_words(review: MonthReview, system: System) -> str:
    """How much of what is left over the reader has settled, as the month's sentence has it; "" while nothing is."""
    return words_of_settled(review.settled, review.unexplained.value or 0.0, system)


def saved_words(review: MonthReview, system: System) -> tuple[str, Figure, str]:
    """What was saved, or what more was given, under the name of which it is, with its worth."""
    said = amount(abs(review.saved_money.value or 0.0), "money", system, review.currency)
    money = said if abs(review.saved_money.value or 0.0) >= 0.005 else ""
    figure = as_said(review.saved, added_up=True)
    if is_more(review.saved):
        return "More than sprinklers", figure, f"overhead, for the same plants{money and f'; it cost {money}'}"
    return "Saved", figure, f"against overhead sprinklers{money and f', worth {money}'}"


def missed_words(review: MonthReview) -> str:
    """What the number of missed days counts, and the days nobody can speak for, as the month's sentence has it."""
    unsure = unvouched_words(review.missed, review.unvouched)
    return "; ".join(words for words in ("known missed" if review.missed.value or unsure else "", unsure) if words)


def yearly(month_day: str) -> str:
    """A day of every year, kept as ``10-20``: ``20 October``; what is no such day stays as it was typed."""
    try:
        return day_words(date.fromisoformat(f"2000-{month_day}"), False)
    except ValueError:
        return month_day


def month_words(month: str) -> str:
    """``2026-07`` as ``July 2026``."""
    return f"{date.fromisoformat(month + '-01'):%B %Y}"


def article(noun: str) -> str:
    """``a zone``, ``an emitter group``."""
    return f"{'an' if noun[0] in 'aeio' else 'a'} {noun}"


def likely(figure: Figure, system: System, currency: str = "$") -> str:
    """The figure's 90 % range in words, or ""."""
    limits = span(figure, system, currency)
    return f"likely {limits}" if limits else ""


def finding_words(finding: Finding, zones: dict[str, str]) -> str:
    """A finding's name with its zone, or with all zones that cannot be told apart."""
    words, where = KIND_WORDS[finding.kind], finding_place(finding, zones)
    if finding.kind in OF_A_ZONE:
        return f"{first_up(where) or 'An unknown zone'}: {words}"
    return f"{first_up(words)} ({where})" if where else first_up(words)
