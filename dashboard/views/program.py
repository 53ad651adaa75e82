"""A program that fits: days, starts and minutes for a month, beside what the controller is set to; and going away."""

from __future__ import annotations

import calendar

import streamlit as st

from core.book.kinds import Controller, Planting, Zone
from core.errors import RillbookError
from core.review.outlook import BASES, Basis
from dashboard import data
from dashboard.charts import Look
from dashboard.charts.program import beside_drawing
from dashboard.colours import palette
from dashboard.parts.drawing import show_drawing
from dashboard.parts.go import garden_link
from dashboard.parts.plants_data import fitting_of
from dashboard.parts.program_away import away_form
from dashboard.parts.program_beside import show_conflicts, show_year, show_zones
from dashboard.parts.program_stop import stop_form
from dashboard.parts.program_use import use_form
from dashboard.parts.say import refuse, sentence, show_told
from dashboard.words import plain


def main() -> None:
    book = data.book()
    st.header("A program that fits")
    show_told()
    for kind, words in ((Zone, "the zones"), (Controller, "the controller"), (Planting, "the plants")):
        if not book.latest(kind, 1):
            sentence("A program can be worked out once the zones, their plants and the controller are in the book.")
            garden_link(f"Write down {words}", kind.KIND)
            return
    system, home = data.system(book.home()), book.home()
    ground = "dark" if st.context.theme.type == "dark" else "light"
    colours = palette(ground)
    names = data.names(book, Zone)
    look = Look(system, colours, names, colours.zones(list(names)))
    month, basis = _asked(data.today(book).month)
    try:
        found = fitting_of(book, month, basis)
    except RillbookError as error:
        refuse(str(error))
        garden_link("Write down the usual weather", "normal")
        return
    weather, *said = found.sentences
    sentence(said[0] if said else weather, "large")
    for more in said[1:]:
        sentence(more)
    sentence(weather, "small")
    if any(z.fit is not None or (z.set_l and not z.paused) for z in found.zones):
        show_drawing(beside_drawing(found, look), f"beside-{ground}-{system}-{month}-{basis}")
    show_zones(book, found, system, home.currency)
    show_conflicts(found)
    show_year(book, basis, system)
    forms = [use_form, stop_form] if any(z.fit is not None for z in found.zones) else [stop_form, use_form]
    for form in forms:
        form(book, found)
    away_form(book, look, f"{ground}-{system}")


def _asked(running: int) -> tuple[int, Basis]:
    """The month of the year and the weather to go by."""
    with st.container(horizontal=True, vertical_alignment="top", gap="medium"):
        month = st.selectbox(
            "For the month of",
            list(range(1, 13)),
            index=running - 1,
            format_func=lambda m: plain(calendar.month_name[m]),
            key="program-month",
            persist_state="session",
            width=200,
        )
        basis = st.pills(
            "Made for",
            list(BASES),
            default="normals",
            format_func=lambda b: BASES[b],
            key="program-basis",
            required=True,
            persist_state="session",
        )
    return month, basis


main()
