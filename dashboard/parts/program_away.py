"""Going away: from which day, how many days, and what runs dry when."""

from __future__ import annotations

from datetime import timedelta

import streamlit as st

from core.book.store import Book
from core.errors import RillbookError
from core.review.away import FURTHEST_DAYS, LONGEST_DAYS
from core.review.outlook import Basis
from core.review.spoken import listed
from dashboard import data
from dashboard.charts import Look
from dashboard.charts.program import away_drawing
from dashboard.parts.drawing import show_drawing
from dashboard.parts.plants_data import away_of
from dashboard.parts.say import refuse, sentence
from dashboard.words import plain

WEATHER: dict[Basis, str] = {"normals": "as usual for the season", "recent": "as in the last two weeks"}


def away_form(book: Book, look: Look, ground: str) -> None:
    """A date, a number of days, the weather to reckon with; then each planting in a sentence."""
    st.subheader("Going away")
    today = data.today(book)
    with st.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        start = st.date_input(
            "First day away",
            value=today + timedelta(days=1),
            min_value=today,
            max_value=today + timedelta(days=FURTHEST_DAYS),
            format="YYYY-MM-DD",
            key="away-start",
            width=200,
        )
        days = st.number_input("How many days", 1, LONGEST_DAYS, 10, 1, key="away-days", width=160)
        basis = st.selectbox("Weather", list(WEATHER), format_func=lambda b: WEATHER[b], key="away-basis", width=240)
    try:
        trip = away_of(book, start, int(days), basis)
    except RillbookError as error:
        refuse(str(error))
        return
    for said in trip.sentences:
        sentence(said)
    if not trip.plantings or any(not p.resting for p in trip.plantings):
        show_drawing(away_drawing(trip, look), f"away-{ground}-{start}-{days}-{basis}")
        st.markdown("\n".join(f"- {plain(p.sentence)}" for p in trip.plantings))
    else:
        sentence(f"{listed(p.name for p in trip.plantings)}: at rest for the winter.")
    for said in (trip.weather, *trip.notes):
        sentence(said, "small")
