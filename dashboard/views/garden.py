"""The garden: everything the home is made of, as it stands, with plain forms to add, change and remove."""

from __future__ import annotations

import streamlit as st

from core.book.kinds import KINDS, Home, Pause, Record
from core.book.store import Book, Stored
from core.review.days_apart import PARTS, before_their_zone
from dashboard import data
from dashboard.parts.describe import described
from dashboard.parts.fields import Setting
from dashboard.parts.garden_form import add_form, change_form
from dashboard.parts.row import row_button
from dashboard.parts.say import sentence, show_told
from dashboard.parts.setting import setting_of
from dashboard.parts.store import remove
from dashboard.words import GARDEN, article, day_words, plain

_OPEN = "garden-open"


def main() -> None:
    book = data.book()
    setting = setting_of(book)
    st.header("Garden")
    part = st.pills(
        "Part of the garden",
        list(GARDEN),
        default="zone",
        format_func=lambda p: GARDEN[p],
        key="part",
        required=True,
        bind="query-params",
        label_visibility="collapsed",
    )
    kind = KINDS[part]
    show_told()
    st.subheader(GARDEN[part])
    if kind.HELP:
        st.caption(plain(kind.HELP))
    if part in ("zone", *PARTS):
        for words in before_their_zone(book.frames()):
            st.warning(plain(words))
    stored = book.records(kind)
    if kind is Pause:  # a book of an older program may hold a code that no zone has
        for code in {s.record.scope for s in book.records(Pause)} - {"all", *setting.refs["zone"]}:
            st.warning(plain(f"“{code}” is no zone, so its pause pauses nothing. Choose the zone that is meant."))
    today = data.today(book)
    now = [s for s in stored if not kind.SLOT or getattr(s.record, "until", None) is None or s.record.until > today]  # type: ignore[attr-defined]
    before = [s for s in stored if s not in now]
    if not now and not before:
        sentence(f"Nothing here yet: no {kind.TITLE} is in the book.")
    for item in now:
        entry(book, item, setting)
    if before:
        with st.expander(f"Earlier ({len(before)})", key=f"earlier-{part}"):
            for item in before:
                entry(book, item, setting)
    if kind is Home:
        return
    with st.expander(
        f"Write down another {kind.TITLE}" if stored else f"Write down {article(kind.TITLE)}", expanded=not stored
    ):
        add_form(book, kind, setting)


def entry(book: Book, stored: Stored[Record], setting: Setting) -> None:
    """One record with its days, its buttons, and its form when it is opened."""
    record, name = stored.record, f"{stored.record.KIND}-{stored.id}"
    line = described(record, setting.refs)
    with st.container(key=f"entry-{name}", border=True, gap="small"):
        with st.container(horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
            days = ""
            if type(record).SLOT and record.KIND != "pause":
                since, until = record.since, record.until  # type: ignore[attr-defined]
                days = f"since {day_words(since)}" + (f", until {day_words(until)}" if until else "")
            st.markdown(plain(line[:1].upper() + line[1:]) + (f"  \n:small[{plain(days)}]" if days else ""))
            with st.container(horizontal=True, gap="medium", width="content"):
                if row_button("Change", line, f"change-{name}"):
                    st.session_state[_OPEN] = None if st.session_state.get(_OPEN) == name else name
                    st.rerun()
                if not isinstance(record, Home) and row_button("Remove", line, f"remove-{name}"):
                    remove(book, stored, setting.refs)
        if st.session_state.get(_OPEN) == name:
            change_form(book, stored, setting, lambda: st.session_state.update({_OPEN: None}))


main()
