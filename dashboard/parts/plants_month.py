"""The plants' month on the page: sentences, each planting's need and what became of it, weeks, unlike plants."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from core.figures import Figure
from core.review.enough import MEANING
from core.review.plants import PlantingMonth, PlantsMonth
from core.review.spoken import amount, counted
from core.units import System, show
from dashboard.charts import Look
from dashboard.charts.enough import weeks_drawing
from dashboard.parts.drawing import show_drawing, show_table
from dashboard.parts.figure import show_working
from dashboard.parts.say import sentence
from dashboard.words import plain

REST, BLANK, UNKNOWN = "at rest", "not written down", "not known"


def show_sentences(month: PlantsMonth) -> None:
    """Short or not, too much or not; then what missed runs did, one line a zone."""
    links = {link.sentence for link in month.links}
    first, *others = [s for s in month.sentences if s not in links] or ["Nothing is planted in this month."]
    sentence(first, "large")
    for said in others:
        sentence(said)
    if month.links:
        st.markdown("\n".join(f"- {plain(link.sentence)}" for link in month.links))


def show_plantings(month: PlantsMonth, system: System, zones: list[str]) -> None:
    """Each planting's need, then what became of it, then the working of its need on request."""
    mine = [p for p in month.plantings if p.zone in zones]
    show_table(pd.DataFrame([_need(p, system) for p in mine]), "need")
    st.markdown("##### What became of the need")
    show_table(pd.DataFrame([_became(p, system, month) for p in mine]).fillna(""), "became")
    sentence(MEANING, "small")
    with st.expander("How each need was worked out", key="plants-working"):
        chosen = st.selectbox(
            "Planting",
            range(len(mine)),
            format_func=lambda n: f"{mine[n].zone_name}, {mine[n].name}",
            key="plants-working-of",
        )
        if mine:
            planting = mine[chosen or 0]
            show_working("Need a day", planting.a_day, system, month.currency)
            if planting.begun:
                sentence(planting.begun.sentence, "small")


def show_enough(month: PlantsMonth, look: Look, zones: list[str], ground: str) -> None:
    """Enough or too much: the weeks as a chart, the month by zone with money as a table."""
    st.subheader("Enough or too much")
    drawing = weeks_drawing(month, look, zones)
    show_drawing(drawing, f"weeks-{ground}-{'-'.join(zones)}")
    rows = month.zones[month.zones["zone"].isin(zones)].to_dict("records")
    show_table(pd.DataFrame([_zone(r, month, look.system) for r in rows]).fillna(""), "zones")
    for told in month.mixes:
        if told.zone in zones and told.zone not in month.resting:
            sentence(told.sentence)
    for even in month.evenness:
        if even.zone in zones:
            sentence(even.sentence)


def show_grounds(month: PlantsMonth) -> None:
    """What the figures rest on, and what is missing."""
    for said in (*month.weather, *(p.begun.sentence for p in month.plantings if p.begun), *month.problems):
        sentence(said, "small")


def _need(p: PlantingMonth, system: System) -> dict[str, str]:
    area = show(p.area_m2, "area", system)
    much = f"{counted(p.count, 'pot' if p.in_pots else 'plant')}, {area}" if p.count > 1 or p.in_pots else area
    return {
        "Plants": p.name if p.name == p.zone_name else f"{p.zone_name}: {p.name}",
        "A day": _small(p.a_day, system),
        "Each a day": _small(p.each_a_day, system) if p.count > 1 else "",
        "Need": _tight(amount(p.need.value, "depth", system)),
        "Plant factor": _factor(p),
        "How much": much,
        "Type": p.plant_type,
    }


def _became(p: PlantingMonth, system: System, month: PlantsMonth) -> dict[str, str]:
    resting, currency = p.zone in month.resting, month.currency
    plants = {"Plants": p.name if p.name == p.zone_name else f"{p.zone_name}: {p.name}"}
    if p.zone in month.unwritten:
        rain = _volume(p.rain.value, system)
        return (
            plants
            | {"Given": BLANK, "Drained of it": "", "Too much": "", "Lacking": UNKNOWN}
            | {
                "Days short": UNKNOWN,
                "Rain kept": rain,
            }
        )
    return plants | {
        "Given": _volume(p.applied.value, system),
        "Drained of it": _priced(p.excess.value, p.excess_money, system, currency),
        "Too much": "yes" if p.too_much else "",
        "Lacking": REST if resting else _priced(p.short.value, p.short_money, system, currency),
        "Days short": f"{p.stress_days}" + (f" ({counted(p.unknown_days, 'day')} not known)" if p.unknown_days else ""),
        "Rain kept": _volume(p.rain.value, system),
        "Least of the need met": REST if resting else amount(p.lowest_stress, "share", system),
    }


def _zone(row: dict[object, object], month: PlantsMonth, system: System) -> dict[str, str]:
    numbers = {k: float(v) for k, v in row.items() if isinstance(v, int | float)}
    zone = {"Zone": month.names[str(row["zone"])], "Need": _volume(numbers["need_l"], system)}
    if row["zone"] in month.unwritten:
        rain = _volume(numbers["effective_rain_l"], system)
        return zone | {"Given": BLANK, "Drained of it": "", "Too much": "", "Lacking": UNKNOWN, "Rain kept": rain}
    return zone | {
        "Given": _volume(numbers["applied_l"], system),
        "Drained of it": _priced(numbers["excess_l"], numbers["excess_money"], system, month.currency),
        "Too much": "yes" if row["too_much"] else "",
        "Lacking": REST
        if row["zone"] in month.resting
        else _priced(numbers["short_l"], numbers["short_money"], system, month.currency),
        "Rain kept": _volume(numbers["effective_rain_l"], system),
    }


def _factor(p: PlantingMonth) -> str:
    own = any("your own" in line.source for line in p.factor_lines if "factor" in line.what)
    source = (
        "your own" if own else "landscape coefficient" if p.factor_lines[1].what.startswith("landscape") else "table"
    )
    return f"{p.factor:.2f}, {source}"


def _small(figure: Figure, system: System) -> str:
    value = figure.value
    return _tight(show(value, "volume", system, 2 if value is not None and value < 4 else 1))


def _volume(litres: float | None, system: System) -> str:
    return _tight(amount(litres, "volume", system))


def _tight(text: str) -> str:
    """A number that stays on one line with its unit."""
    return text.replace(" ", "\u00a0")


def _priced(litres: float | None, money: float | None, system: System, currency: str) -> str:
    said = _volume(litres, system)
    worth = money is not None and money == money and money >= 0.005  # noqa: PLR0124 - NaN is unlike itself
    return f"{said}, {amount(money, 'money', system, currency)}" if worth else said
