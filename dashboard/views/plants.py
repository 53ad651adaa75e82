"""The plants: what the weather asked for, what each planting needed and got, and how its soil stood each day."""

from __future__ import annotations

import streamlit as st

from core.book.kinds import Planting
from core.book.store import Book
from core.review.month import MonthReview
from core.review.spoken import counted
from dashboard.parts.figure import show_working
from dashboard.parts.go import garden_link
from dashboard.parts.page import MonthPage, month_page
from dashboard.parts.plants_data import plants_of
from dashboard.parts.plants_factor import factor_form
from dashboard.parts.plants_month import show_enough, show_grounds, show_plantings, show_sentences
from dashboard.parts.say import sentence, show_told

ALL = "all zones"
MOST_SOILS = 3  # charts to look through at once; beyond that those never short are a fold away


def main() -> None:
    page = month_page()
    book, review, system, look = page.book, page.review, page.system, page.look
    show_told()
    if review.plant_days.empty:
        sentence("No plant is in the book for this month.", "large")
        sentence("Write down what grows in each zone, and the weather, and their need will stand here day by day.")
        garden_link("Write down the plants", "planting")
        return
    plants = plants_of(book, page.month)
    show_sentences(plants)
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
    show_plantings(plants, system, shown)
    show_enough(plants, look, shown, page.key[-1])
    st.subheader("How the soil stood")
    standing = pairs(review, shown)
    short = {(p.zone, p.planting) for p in plants.plantings if p.stress_days}
    calm = [pair for pair in standing if pair not in short]
    if chosen != ALL or len(standing) <= MOST_SOILS:
        soils(page, standing)
    else:
        soils(page, [pair for pair in standing if pair in short])
        with st.expander(f"{counted(len(calm), 'planting')} not short of water", key="soils-calm"):
            soils(page, calm)
    st.subheader("What the weather asked for")
    page.draw("reference")
    show_grounds(plants)
    factor_form(book, plants)
    for z in review.zones:
        if z.zone in shown and z.need.working:
            with st.expander(f"How the need of {z.name} was worked out", key=f"need-{z.zone}"):
                show_working("Need", z.need, system, review.currency)


def soils(page: MonthPage, plantings: list[tuple[str, str]]) -> None:
    """The soil of these plantings day by day; the key stands with the first of each zone, whose shade it shows."""
    names, before = planting_names(page.book), ""
    for zone, planting in plantings:
        where, what = page.look.names.get(zone, zone), names.get((zone, planting), planting)
        page.draw("depletion", zone, planting, what if what == where else f"{where}, {what}", with_key=zone != before)
        before = zone


def planting_names(book: Book) -> dict[tuple[str, str], str]:
    """Zone and code to name, of the latest version."""
    return {(s.record.zone, s.record.code): s.record.name for s in book.records(Planting)}


def pairs(review: MonthReview, zones: list[str]) -> list[tuple[str, str]]:
    """The plantings of these zones that the month tells of."""
    found = review.plant_days[["zone", "planting"]].drop_duplicates()
    return [(z, p) for z in zones for p in found.loc[found["zone"] == z, "planting"]]


main()
