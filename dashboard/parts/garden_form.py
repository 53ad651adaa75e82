"""Adding and changing what the garden is made of, with the two verbs: changed on a day, or wrong all along."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Any

import streamlit as st

from core.book.kinds import Record
from core.book.kinds.garden import Dated
from core.book.store import Book, Stored
from core.errors import RillbookError
from dashboard import data
from dashboard.parts.describe import described
from dashboard.parts.fields import FIRST_DAY, LAST_DAY, Setting
from dashboard.parts.forms import RecordForm
from dashboard.parts.say import next_turn, refuse, tell, turn
from dashboard.parts.store import correct, store

CHANGED, WRONG = "It changed on a day", "It was written wrong all along"


def add_form(book: Book, kind: type[Record], setting: Setting, start: dict[str, Any] | None = None) -> None:
    """A form for a new record of a kind."""
    name = f"add-{kind.KIND}"
    form = turn(name)
    begin: dict[str, Any] = dict(start or {})
    if "since" in kind.model_fields and kind.SLOT:
        begin.setdefault("since", data.today(book))
    if "at" in kind.model_fields:
        begin.setdefault("at", data.present_moment(book))
    fields: RecordForm[Record] = RecordForm(kind, form, setting, begin)
    made = _code_made(kind, setting)
    with st.form(form):
        fields.draw_all(leave=("nth", "until") if kind.SLOT and kind.KIND != "pause" else ("nth",))
        sent = st.form_submit_button("Store", type="primary")
    if sent:
        record = fields.read(make=made)
        if record is not None:
            store(book, record, setting.refs, name)


def change_form(book: Book, stored: Stored[Record], setting: Setting, done: Callable[[], None]) -> None:
    """A form with what the record says now."""
    kind, record = type(stored.record), stored.record
    name = f"change-{kind.KIND}-{stored.id}.{stored.change_set}"
    form = turn(name)
    fields: RecordForm[Record] = RecordForm(kind, form, setting, dict(record))
    dated = isinstance(record, Dated)
    verb, day = WRONG, None
    with st.container(border=True, key=f"box-{name.replace('.', '-')}"):
        if dated:
            verb = st.radio("What happened?", (CHANGED, WRONG), key=f"{form}.verb")
            if verb == CHANGED:
                st.caption("What was true before that day stays in the book as it was.")
        with st.form(form, border=False):
            if verb == CHANGED and dated:
                day = st.date_input(
                    "Changed on",
                    value=data.today(book),
                    min_value=FIRST_DAY,
                    max_value=LAST_DAY,
                    format="YYYY-MM-DD",
                    key=f"{form}.day",
                    width=220,
                )
            leave = {"nth"} | ({"since", "until", *kind.SLOT} if verb == CHANGED and dated else set())
            if kind.KEY == ("code",):
                leave.add("code")
            fields.draw_all(leave=leave)
            sent = st.form_submit_button("Store the change", type="primary")
        if not sent:
            return
        changed = fields.read()
        if changed is None:
            return
        if verb == CHANGED and dated:
            if not isinstance(day, date):
                refuse("Enter the day it changed.")
                return
            stored_it = _change_from(book, stored, day, changed, setting)
        else:
            stored_it = correct(book, stored, changed, setting.refs)
        if stored_it:
            next_turn(name)
            done()
            st.rerun()


def _change_from(book: Book, stored: Stored[Record], day: date, record: Record, setting: Setting) -> bool:
    words = described(record, setting.refs)
    try:
        with book.change(f"changed {record.TITLE} on {day}: {words}") as change:
            change.change_from(stored.id, day, record, stored.change_set)
    except RillbookError as error:
        refuse(str(error))
        return False
    tell(
        f"Changed from {day:%Y-%m-%d} on: {words}." if change.number else "Nothing was different; nothing was stored.",
        change.number,
    )
    return True


def _code_made(kind: type[Record], setting: Setting) -> Callable[[dict[str, Any]], dict[str, Any]]:
    """Fills an empty code from the name, so that nobody needs to think of one."""

    def make(values: dict[str, Any]) -> dict[str, Any]:
        if "code" in kind.model_fields and not values.get("code"):
            known = set(setting.refs.get(kind.KIND, {}))
            values["code"] = free_code(str(values.get("name") or values.get("device") or kind.KIND), known)
        return values

    return make


def free_code(name: str, known: set[str]) -> str:
    """A short code from a name that is not among the known ones."""
    base = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:32] or "x"
    code, count = base, 2
    while code in known:
        code, count = f"{base}-{count}", count + 1
    return code
