"""The plants: what the weather asked for, what each planting needed and got, and how its soil stood each day."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from core.book.kinds import Planting
from core.book.store import Book
from core.review.month import MonthReview
from core.units import System, show
from dashboard.parts.drawing import show_table
from dashboard.parts.figure import show_working
from dashboard.parts.go import garden_link
from dashboard.parts.page import month_page
from dashboard.parts.say import sentence, show_told
from dashboard.words import counted, listed

ALL = "all zones"


def main() -> None:
    page = month_page()
    book, review, system, look = page.book, page.review, page.system, page.look
    show_told()
    if review.plant_days.empty:
        sentence("No plant is in the book for this month.", "large")
        sentence("Write down what grows in each zone, and the weather, and their need will stand here day by day.")
        garden_link("Write down the plants", "planting")
        return
    sentence(headline(review), "large")
    zones = [z for z in look.names if z in set(review.plant_days["zone"])]
    chosen = st.pills(
        "Zone",
        [ALL, *zones],
        default=ALL,
        format_func=lambda z: look.names.get(z, z),
        key="plants-zone",
        required=True,
        label_visibility="collapsed",
    )
    shown = zones if chosen == ALL else [str(chosen)]
    page.draw("need")
    st.subheader("Planting by planting")
    show_table(plantings_table(book, review, system, shown))
    names = planting_names(book)
    st.subheader("How the soil stood")
    before = ""
    for zone, planting in pairs(review, shown):
        name = f"{look.names.get(zone, zone)}, {names.get((zone, planting), planting)}"
        page.draw("depletion", zone, planting, name, with_key=zone != before)
        before = zone
    st.subheader("What the weather asked for")
    page.draw("reference")
    for z in review.zones:
        if z.zone in shown and z.need.working:
            with st.expander(f"How the need of {z.name} was worked out", key=f"need-{z.zone}"):
                show_working("Need", z.need, system, review.currency)


def headline(review: MonthReview) -> str:
    """Stress told apart from missed days."""
    short = [f"{z.name} on {counted(z.stress_days, 'day')}" for z in review.zones if z.stress_days]
    if not short:
        return "No plant was short of water this month."
    return f"Plants were short of water: {listed(short)}."


def planting_names(book: Book) -> dict[tuple[str, str], str]:
    """Zone and code to name, of the latest version."""
    return {(s.record.zone, s.record.code): s.record.name for s in book.records(Planting)}


def pairs(review: MonthReview, zones: list[str]) -> list[tuple[str, str]]:
    """The plantings of these zones that the month tells of."""
    found = review.plant_days[["zone", "planting"]].drop_duplicates()
    return [(z, p) for z in zones for p in found.loc[found["zone"] == z, "planting"]]


def plantings_table(book: Book, review: MonthReview, system: System, zones: list[str]) -> pd.DataFrame:
    """Each planting's month: need, rain, given, drained, days short."""
    names, zone_names = planting_names(book), {z.zone: z.name for z in review.zones}
    frame = review.plant_days[review.plant_days["zone"].isin(zones)]
    rows = []
    for zone, planting in pairs(review, zones):
        days = frame[(frame["zone"] == zone) & (frame["planting"] == planting)]
        rows.append(
            {
                "Zone": zone_names.get(zone, zone),
                "Plants": names.get((zone, planting), planting),
                "Need": show(days["need_mm"].sum(), "depth", system),
                "Rain": show(days["rain_mm"].sum(), "depth", system),
                "Given": show(days["applied_mm"].sum(), "depth", system),
                "Below the roots": show(days["percolated_mm"].sum(), "depth", system),
                "Driest": show(days["depletion_mm"].max(), "depth", system),
                "Days short": int((days["stress_coefficient"] < 0.995).sum()),
            }
        )
    return pd.DataFrame(rows)


main()
