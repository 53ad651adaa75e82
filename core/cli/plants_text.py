"""A month of the plants, fitting programs and trips as text for a terminal."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import pandas as pd

from core.cli.saying import table, wrapped
from core.review.away import Away
from core.review.fitting import FittingMonth, ZoneFit
from core.review.plants import PlantingMonth, PlantsMonth
from core.review.spoken import amount, line_value
from core.units import System, show


def plants_in_words(month: PlantsMonth, *, weeks: bool = False, working: bool = False) -> str:
    """The plants' month, one section after another; empty sections are left out."""
    title = f"Plants, {month.first:%B %Y}"
    sections = [
        [title, "=" * len(title)],
        [wrapped(sentence) for sentence in month.sentences],
        _plantings(month),
        _zones(month),
        _weeks(month) if weeks else [],
        _bullets("Unlike plants on one valve", [m.sentence for m in month.mixes]),
        _bullets("How evenly it waters", [e.sentence for e in month.evenness]),
        _bullets("What it rests on", [*month.weather, *(p.begun.sentence for p in month.plantings if p.begun)]),
        _bullets("What is missing", list(month.problems)),
        _working(month) if working else [],
    ]
    return "\n\n".join("\n".join(section) for section in sections if section)


def programs_in_words(months: tuple[FittingMonth, ...], system: System, currency: str, *, working: bool) -> str:
    """Programs that fit, month by month."""
    return "\n\n".join(_program(month, system, currency, working=working) for month in months)


def away_in_words(trip: Away) -> str:
    """A trip: the headline, each planting, what it rests on."""
    sections = [
        [wrapped(sentence) for sentence in trip.sentences],
        [wrapped(p.sentence, "- ") for p in trip.plantings],
        [wrapped(note) for note in (trip.weather, *trip.notes)],
    ]
    return "\n\n".join("\n".join(section) for section in sections if section)


def _plantings(month: PlantsMonth) -> list[str]:
    if not month.plantings:
        return ["Nothing is planted in this month, as far as the book says."]
    header = (
        "",
        "factor",
        "need",
        "a day",
        "each a day",
        "by rain",
        "given",
        "drained",
        "lacking",
        "too much",
        "short",
    )

    def row(p: PlantingMonth) -> tuple[str, ...]:
        volumes = [_volume(f.value, month.system) for f in (p.rain, p.applied, p.excess, p.short)]
        if p.zone in month.unwritten:
            volumes[1:] = ["not written", "", ""]
        much = "yes" if p.too_much and p.zone not in month.unwritten else ""
        small = (_small(f.value, month.system) for f in (p.a_day, p.each_a_day))
        need = amount(p.need.value, "depth", month.system, "")
        return (
            p.name,
            f"{p.factor:.2f}",
            need,
            *small,
            *volumes,
            much,
            "" if p.zone in month.unwritten else str(p.stress_days),
        )

    return ["Planting by planting", *table(header, [row(p) for p in month.plantings])]


def _zones(month: PlantsMonth) -> list[str]:
    if month.zones.empty:
        return []
    header = ("", "need", "by rain", "given", "drained", "cost", "too much", "lacking", "would cost")
    rows = [
        (
            month.names[str(z["zone"])],
            *(_volume(z[c], month.system) for c in ("need_l", "effective_rain_l")),
            *_became(z, month),
        )
        for z in month.zones.to_dict("records")
    ]
    return ["Enough or too much, zone by zone", *table(header, rows)]


def _became(zone: dict[Hashable, Any], month: PlantsMonth) -> tuple[str, ...]:
    """What became of a zone's water; nothing is said where nobody wrote down what it was."""
    if zone["zone"] in month.unwritten:
        return ("not written", "", "", "", "", "")
    return (
        *(_volume(zone[c], month.system) for c in ("applied_l", "excess_l")),
        _money(zone["excess_money"], month.currency),
        "yes" if zone["too_much"] else "",
        _volume(zone["short_l"], month.system),
        _money(zone["short_money"], month.currency),
    )


def _weeks(month: PlantsMonth) -> list[str]:
    header = ("", "need", "by rain", "given", "drained", "lacking", "days short", "missed")
    rows = [
        (
            f"{month.names[str(w['zone'])]}, {_span(w['first'], w['last'])}",
            *(_volume(w[c], month.system) for c in ("need_l", "effective_rain_l", "applied_l")),
            *(_volume(w[c], month.system) for c in ("excess_l", "short_l")),
            str(int(w["days_short"])),
            str(int(w["days_missed"])),
        )
        for w in month.weeks.to_dict("records")
    ]
    return ["Week by week", *table(header, rows)]


def _working(month: PlantsMonth) -> list[str]:
    lines = ["How the needs came about"]
    for p in month.plantings:
        lines.append(f"{p.zone_name}, {p.name} ({p.plant_type}): {_small(p.a_day.value, month.system)} a day")
        for line in p.need.working:
            source = f"  [{line.source}]" if line.source else ""
            lines.append(wrapped(f"{line.what}: {line_value(line, month.system, '')}{source}", "    ", " " * 8))
    return lines


def _program(month: FittingMonth, system: System, currency: str, *, working: bool) -> str:
    title = f"Programs that fit {month.first:%B}"
    sections = [
        [title, "=" * len(title)],
        [wrapped(sentence) for sentence in month.sentences],
        _fits(month, system, currency),
        _bullets("What to know", [f"{z.name}: {z.note}" for z in month.zones if z.note and (z.fit or not z.as_set)]),
        _bullets("Risks of the programs that fit", [f"{z.name}: {z.risk}" for z in month.zones if z.risk]),
        _bullets(f"Risks {_when(month)}", [f"{z.name}: {z.set_risk}" for z in month.zones if z.set_risk]),
        _bullets("Conflicts of the programs that fit", list(month.conflicts)),
        _bullets(f"Conflicts {_when(month)}", list(month.set_conflicts)),
        [f"Watered by hand, without a program: {', '.join(month.by_hand)}."] if month.by_hand else [],
        _needs(month, system) if working else [],
    ]
    return "\n\n".join("\n".join(section) for section in sections if section)


def _fits(month: FittingMonth, system: System, currency: str) -> list[str]:
    lines = []
    for z in month.zones:
        if z.fit is None and not z.as_set:
            continue
        fits = f"{z.words}, {_volume(z.fit_l, system)} in the month" if z.fit is not None else f"nothing. {z.note}"
        lines.append(wrapped(f"{z.name}: {fits}", "- "))
        lines.append(wrapped(_beside(month, z, system, currency), "    "))
    return lines


def _beside(month: FittingMonth, z: ZoneFit, system: System, currency: str) -> str:
    if not z.as_set:
        return f"Nothing {_when(month)}."
    words = " and ".join(p.words for p in z.as_set)
    more = ""
    if z.paused:
        more = ", and paused"
    elif z.less_l is not None:
        money = f" ({_money(abs(z.money), currency)})" if z.money is not None and abs(z.money) >= 0.005 else ""
        more = f": {_volume(abs(z.less_l), system)}{money} {'more' if z.less_l > 0 else 'less'}"
    return f"{_when(month)[:1].upper()}{_when(month)[1:]}: {words}, {_volume(z.set_l, system)}{more}"


def _needs(month: FittingMonth, system: System) -> list[str]:
    lines = ["How the needs came about"]
    for z in month.zones:
        if z.demand is not None:
            lines.append(f"{z.name}: {_small(z.need.value, system)} a day to apply")
            for line in z.need.working:
                source = f"  [{line.source}]" if line.source else ""
                lines.append(wrapped(f"{line.what}: {line_value(line, system, '')}{source}", "    ", " " * 8))
    return lines


def _when(month: FittingMonth) -> str:
    return "as set now" if month.running else f"as set in {month.looked_at:%B %Y}"


def _bullets(title: str, sentences: list[str]) -> list[str]:
    return [title, *(wrapped(sentence, "- ") for sentence in sentences)] if sentences else []


def _volume(litres: float | None, system: System) -> str:
    return amount(litres, "volume", system, "")


def _small(litres: float | None, system: System) -> str:
    return show(litres, "volume", system, 2 if litres is not None and litres < 10 else 1)


def _span(first: pd.Timestamp, last: pd.Timestamp) -> str:
    return f"{last.day} {last:%b}" if first == last else f"{first.day} to {last.day} {last:%b}"


def _money(value: float | None, currency: str) -> str:
    return "" if value is None or value != value else amount(value, "money", "us", currency)  # noqa: PLR0124 - NaN
