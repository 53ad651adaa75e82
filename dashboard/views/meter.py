"""The meter: what it counted, how that splits, what nobody can explain, and what could hide."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pandas as pd
import streamlit as st

from core.book.kinds import Meter, MeterReading
from core.book.store import Book
from core.review.month import MonthReview
from core.units import System
from dashboard import data
from dashboard.parts.drawing import show_table
from dashboard.parts.figure import figure_tile
from dashboard.parts.go import link
from dashboard.parts.page import month_page
from dashboard.parts.say import sentence, show_told
from dashboard.parts.tables import parts_table
from dashboard.words import day_words, moment_words, plain


def main() -> None:
    page = month_page()
    book, review, system = page.book, page.review, page.system
    show_told()
    if not data.names(book, Meter):
        sentence("No meter is in the book yet.", "large")
        sentence("With a meter Rillbook can say where the water went. Without one it can only say what was set.")
        link("garden", "Write down the meter", part="meter")
        return
    if review.intervals.empty:
        sentence("No meter reading touches this month.", "large")
        link("write", "Write down a reading")
        return
    sentence(_reach(review), "large")
    with st.container(horizontal=True, gap="medium", key="tiles"):
        figure_tile("Counted", review.used, system, review.currency)
        figure_tile("Unexplained", review.unexplained, system, review.currency)
    page.draw("intervals")
    st.subheader("Where it went")
    show_table(parts_table(review, system))
    st.subheader("What is left over")
    page.draw("unexplained")
    if review.findings:
        link("month", "What it may have been", month=page.month)
    hidden(review)
    readings(book, review, system)


def _reach(review: MonthReview) -> str:
    if review.metered_through is None:
        return "No reading reaches into this month."
    zone = ZoneInfo(review.time_zone)
    through = moment_words(review.metered_through, zone)
    if review.metered_through.astimezone(zone).date() >= review.last:
        return f"The meter speaks of the whole month, to {day_words(review.last)}."
    return f"Metered through {through}; the days after it are not told yet."


def hidden(review: MonthReview) -> None:
    """What could hide at this pace of reading."""
    if not review.cannot_know:
        return
    st.subheader("What could hide")
    for words in review.cannot_know:
        st.markdown(f"- {plain(words)}")


def readings(book: Book, review: MonthReview, system: System) -> None:
    """The registers as read."""
    frame = data.frame(book, MeterReading)
    zone = book.zone_info
    local = frame["at"].dt.tz_convert(zone).dt.tz_localize(None)
    own = frame[(local >= pd.Timestamp(review.first)) & (local < pd.Timestamp(review.last) + pd.Timedelta(days=1))]
    if own.empty:
        return
    names = data.names(book, Meter)
    with st.expander(f"Registers as read ({len(own)})", key="registers"):
        table = pd.DataFrame(
            {
                "Meter": own["meter"].map(lambda code: names.get(code, code)),
                "Read on": [moment_words(t, zone, e) for t, e in zip(own["at"], own["at_exact"], strict=True)],
                "Register": own["register_value"].map(lambda v: f"{v:,.10g}"),
                "How": own["how"],
                "Note": own["note"],
            }
        )
        show_table(table)


main()
