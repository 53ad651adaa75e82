"""What was written down lately, each with its own way to be put right or removed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st

from core.book.kinds import Record
from core.book.store import Book, Stored
from dashboard.parts.describe import Names, described
from dashboard.parts.fields import Setting
from dashboard.parts.forms import RecordForm
from dashboard.parts.row import row_button
from dashboard.parts.say import next_turn, turn
from dashboard.parts.store import pending, put_right, remove
from dashboard.words import plain

_OPEN = "recent-open"


def recent_list(book: Book, entries: Sequence[Stored[Record]], setting: Setting, names: Names) -> None:
    """The entries, newest first, one of them opened for putting right."""
    for stored in entries:
        name = f"{stored.record.KIND}-{stored.id}"
        with st.container(key=f"entry-{name}", gap="small"):
            line = described(stored.record, names)
            with st.container(horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
                st.markdown(plain(line[:1].upper() + line[1:]), width="stretch")
                with st.container(horizontal=True, width="content", gap="medium"):
                    if row_button("Put right", line, f"right-{name}"):
                        st.session_state[_OPEN] = None if st.session_state.get(_OPEN) == name else name
                        st.rerun()
                    if row_button("Remove", line, f"remove-{name}"):
                        remove(book, stored, names)
            if st.session_state.get(_OPEN) == name:
                put_right_form(book, stored, setting, names, name)


def put_right_form(book: Book, stored: Stored[Any], setting: Setting, names: Names, name: str) -> None:
    """A form with what the record says now."""
    kind = type(stored.record)
    form = turn(f"right-{name}.{stored.change_set}")
    fields: RecordForm[Record] = RecordForm(kind, form, setting, dict(stored.record))
    with st.form(form):
        fields.draw_all(leave=("nth",))
        sent = st.form_submit_button("Store it put right", type="primary")
    record = fields.read() if sent else None
    if (record is not None and put_right(book, stored, record, names, name)) or pending(book, names, name):
        st.session_state[_OPEN] = None
        next_turn(f"right-{name}.{stored.change_set}")
        st.rerun()
