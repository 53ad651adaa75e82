"""From a finding to the reading it says is wrong: the link, and the form at the top of the meter page."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from core.accounts.findings import Finding
from core.book.kinds import Meter, MeterReading
from core.book.store import Book, Stored
from core.review.wrong_readings import readings_of
from core.units import register_text
from dashboard import data
from dashboard.parts.describe import described
from dashboard.parts.go import link
from dashboard.parts.recent import put_right_form
from dashboard.parts.setting import setting_of
from dashboard.parts.store import remove
from dashboard.words import moment_words, month_words, plain

ASKED = "right"  # in the page's address: the id of a reading to put right


def right_links(book: Book, finding: Finding) -> None:
    """A link for each reading a finding is about."""
    meters = data.frame(book, Meter)
    steps = dict(zip(meters["code"], meters["resolution"], strict=True))
    for row in readings_of(finding, data.frame(book, MeterReading), meters).to_dict("records"):
        when = moment_words(row["at"], book.zone_info, str(row["at_exact"]))
        shown = register_text(row["register_value"], float(steps[row["meter"]]))
        right_link(book, f"Put right or remove: {shown}, read on {when}", int(row["id"]))


def right_link(book: Book, words: str, reading: int) -> None:
    """A link to the form that puts one reading right; plain words where it is no more."""
    stored = _stored(book, reading)
    if stored is None:
        st.markdown(plain(words))
        return
    link("meter", words, month=f"{stored.record.at.local:%Y-%m}", **{ASKED: str(reading)})


def put_asked_right(book: Book, month: str) -> None:
    """The reading the page's address asks for, with its form and the way back; nothing once it was put right."""
    asked = st.query_params.get(ASKED, "")
    stored = _stored(book, int(asked)) if asked.isdecimal() else None
    if stored is None:
        return
    seen = f"{ASKED}-{stored.id}-{book.path}"
    if st.session_state.setdefault(seen, stored.change_set) != stored.change_set:
        del st.query_params[ASKED], st.session_state[seen]  # a later link to the same reading asks anew
        return
    setting = setting_of(book)
    line = described(stored.record, setting.refs)
    with st.container(border=True, key="right-asked"):
        st.markdown(f"**Put this reading right:** {plain(line)}")
        put_right_form(book, stored, setting, setting.refs, f"{MeterReading.KIND}-{stored.id}-asked")
        if st.button("Remove this reading", key="remove-asked"):
            remove(book, stored, setting.refs)
        link("month", f"Back to {month_words(month)}", month=month)


def _stored(book: Book, reading: int) -> Stored[MeterReading] | None:
    known = data.frame(book, MeterReading)["id"]
    return book.get(MeterReading, reading) if (pd.Index(known) == reading).any() else None
