"""The meter: what it counted, how that splits, what nobody can explain, and what could hide."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import timedelta
from typing import Any

import pandas as pd
import streamlit as st

from core.book.kinds import Meter, MeterReading, Zone
from core.book.store import Book
from core.review.decide import SETTLED
from core.review.entry_register import with_unit
from core.review.month import MonthReview
from core.review.spoken import amount, listed
from core.review.zones import unwritten_words
from core.units import System
from dashboard import data
from dashboard.parts.drawing import show_table
from dashboard.parts.figure import figure_tile, show_working
from dashboard.parts.go import garden_link, link
from dashboard.parts.hunt_hidden import what_hides
from dashboard.parts.page import month_page
from dashboard.parts.recent import put_right_form
from dashboard.parts.right import put_asked_right
from dashboard.parts.say import sentence, show_told
from dashboard.parts.setting import setting_of
from dashboard.parts.store import remove
from dashboard.parts.tables import COSTS, parts_table
from dashboard.words import day_words, finding_words, likely, moment_words, plain, reach_words, settled_words

LEAST_HOUSE_L = 1.0  # a day; less is no house


def main() -> None:
    page = month_page()
    book, review, system = page.book, page.review, page.system
    show_told()
    if not data.names(book, Meter):
        sentence("No meter is in the book yet.", "large")
        sentence("With a meter Rillbook can say where the water went. Without one it can only say what was set.")
        garden_link("Write down the meter", "meter")
        return
    put_asked_right(book, page.month)
    if review.intervals.empty:
        sentence(review.used.note or "No meter reading covers this month.", "large")
        link("write", "Write down a reading")
        return
    whole = (review.last + timedelta(days=1)).month != review.last.month
    reach = f"The meter speaks of the {'whole month' if whole else 'month so far'}, to {day_words(review.last)}."
    sentence(reach_words(review) or reach, "large")
    with st.container(horizontal=True, gap="small", key="tiles"):
        figure_tile("Counted", review.used, system, review.currency)
        figure_tile(review.left_name, review.unexplained, system, review.currency, settled_words(review, system))
    page.draw("intervals")
    sides = data.meters(book)
    what_hides(sides, data.names(book, Meter), system)
    st.subheader("Where it went")
    show_table(parts_table(review, system))
    sentence(COSTS, "small")
    if words := unwritten_words(review.zones):
        sentence(words, "small")
    st.subheader("What is left over")
    page.draw("unexplained")
    if review.findings:
        for finding in review.findings:
            if finding.hunt and (finding.decision not in SETTLED or finding.contradicted):
                sentence(f"{finding_words(finding, review.zone_names)}: {finding.hunt}")
        link("month", "What it may have been", month=page.month)
    for code, side in sides.items():
        if side.baseline.value is None or side.baseline.value >= LEAST_HOUSE_L:  # a garden's meter has no house
            baseline(book, code, side, review, system)
        delivery(side, page.look.names, {s.record.code for s in book.records(Zone) if s.record.hand})
    readings(book, review, system)


def baseline(book: Book, code: str, side: data.MeterSide, review: MonthReview, system: System) -> None:
    """What the house takes on a usual day, as learned from the readings."""
    name = data.names(book, Meter).get(code, code)
    st.subheader(plain(f"What the house takes: {name}"))
    figure = side.baseline
    limits = likely(figure, system)
    sentence(f"Indoors about {amount(figure.value, figure.quantity, system)} a day{f', {limits}' if limits else ''}.")
    if figure.note:
        st.caption(plain(figure.note))
    if figure.working:
        with st.expander("How we know", key=f"baseline-{code}"):
            show_working("Indoors on a usual day", figure, system, review.currency)


def delivery(side: data.MeterSide, names: dict[str, str], hand: set[str]) -> None:
    """How much of the flow on paper each zone with a program really takes, where the readings can tell."""
    rows = [row for row in side.delivery.to_dict("records") if row["zone"] not in hand]
    if not rows:
        return
    st.subheader("What the zones really take")
    sentence(
        "1.00 is the flow that the emitters or a test promise. Less by more than the give or take: clogged, or low "
        "pressure. More: higher pressure than they are rated for, or a leak behind the valve."
    )
    table = pd.DataFrame(
        [
            {
                "Zone": names.get(row["zone"], row["zone"]),
                "Of the flow on paper": f"{row['factor']:.2f}",
                "Give or take": f"{row['ninety']:.2f}",
                "Told by the meter": "yes" if row["told_apart"] else "no",
            }
            for row in rows
        ]
    )
    show_table(table)
    told: dict[str, list[dict[Hashable, Any]]] = {}
    for row in rows:
        if row["note"]:  # of zones that run together once, else once for all zones it is true of
            told.setdefault(row["group"] if " " in row["group"] else row["note"], []).append(row)
    for alike in told.values():
        note = alike[0]["note"]
        zones = alike[:1] if " " in alike[0]["group"] else alike
        named = listed(names.get(row["zone"], row["zone"]) for row in zones)
        sentence(f"{named}: {note[:1].lower()}{note[1:]}", "small")


def readings(book: Book, review: MonthReview, system: System) -> None:
    """The registers as read."""
    frame = data.frame(book, MeterReading)
    zone = book.zone_info
    local = frame["at"].dt.tz_convert(zone).dt.tz_localize(None)
    own = frame[(local >= pd.Timestamp(review.first)) & (local < pd.Timestamp(review.last) + pd.Timedelta(days=1))]
    if own.empty:
        return
    names = data.names(book, Meter)
    meters = {stored.record.code: stored.record for stored in book.records(Meter)}
    shown = [with_unit(value, meters[code]) for code, value in zip(own["meter"], own["register_value"], strict=True)]
    with st.expander(f"Registers as read ({len(own)})", key="registers"):
        table = pd.DataFrame(
            {
                "Meter": own["meter"].map(lambda code: names.get(code, code)),
                "Read on": [moment_words(t, zone, e) for t, e in zip(own["at"], own["at_exact"], strict=True)],
                "Register": shown,
                "How": own["how"],
                "Note": own["note"],
            }
        )
        show_table(table)
        put_one_right(book, own, shown)


def put_one_right(book: Book, own: pd.DataFrame, shown: list[str]) -> None:
    """Choose one of the month's readings and put it right; the choice begins afresh with every change of the book."""
    said = dict(zip(own["id"], shown, strict=True))
    when = dict(zip(own["id"], own["at"].map(lambda t: moment_words(t, book.zone_info)), strict=True))
    chosen = st.selectbox(
        "Put one of them right",
        [None, *own["id"]],
        format_func=lambda n: "choose a reading" if n is None else f"{said[n]} on {when[n]}",
        key=f"right-which-{book.number()}",
        width=420,
    )
    if chosen is not None:
        setting = setting_of(book)
        stored = book.get(MeterReading, chosen)
        put_right_form(book, stored, setting, setting.refs, f"{MeterReading.KIND}-{chosen}")
        if st.button("Remove this reading", key="remove-reading"):
            remove(book, stored, setting.refs)


main()
