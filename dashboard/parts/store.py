"""Storing one record from a form: once, however often it is sent, and said with its Undo."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import streamlit as st

from core.book.kinds import MeterReading, Rain, Record
from core.book.store import Book, Stored
from core.errors import ConflictError, RillbookError
from core.review.entry import questions_about
from dashboard import data
from dashboard.parts.describe import Names, described
from dashboard.parts.say import next_turn, refuse, tell
from dashboard.words import plain

_ASKED = "asked"


def numbered(book: Book, record: Record) -> Record:
    """A record whose kind counts several of one time, with the first free place; an equal one keeps its place."""
    if "nth" not in type(record).KEY:
        return record
    for nth in range(1, 100):
        candidate = record.model_copy(update={"nth": nth})
        there = book.find(type(record), *candidate.key())
        if there is None or not there.record.differs_from(candidate):
            return candidate
    return record


@dataclass(frozen=True, slots=True)
class Asked:
    """An entry that looks odd and waits for a yes: its form, the record, what was asked, and what it puts right.

    ``since``: the day from which it holds instead, where what it follows was right until then.
    """

    form: str
    record: Record
    questions: tuple[str, ...]
    extra: str = ""
    instead: Stored[Any] | None = None
    since: date | None = None


def offer(book: Book, record: Record, names: Names, form: str, extra: str = "") -> None:
    """Store a record, or first ask about what looks odd in it; :func:`pending` shows the question."""
    st.session_state.pop(_ASKED, None)
    questions = questions_about(book, record, data.present())
    if questions:
        st.session_state[_ASKED] = Asked(form, record, tuple(questions), extra)
    else:
        store(book, record, names, form, extra)


def pending(book: Book, names: Names, form: str) -> bool:
    """The questions an odd entry of this form raised; it is stored only on a yes. Whether one was put right."""
    asked: Asked | None = st.session_state.get(_ASKED)
    if asked is None or asked.form != form:
        return False
    with st.container(border=True, key="asked"):
        for question in asked.questions:
            st.warning(plain(question))
        with st.container(horizontal=True):
            if st.button("It is right, store it", key="asked-yes", type="primary"):
                del st.session_state[_ASKED]
                if asked.instead is not None and asked.since is not None:
                    return change_from(book, asked.instead, asked.since, asked.record, names)
                if asked.instead is not None:
                    return correct(book, asked.instead, asked.record, names)
                store(book, asked.record, names, form, asked.extra)
            if st.button("Let me change it", key="asked-no"):
                del st.session_state[_ASKED]
                st.rerun()
    return False


def store(book: Book, record: Record, names: Names, form: str, extra: str = "") -> None:
    """Write a record down, say so, and begin its form afresh; a refusal is said and what was typed stays."""
    record = numbered(book, record)
    words = described(record, names)
    try:
        with book.change(f"wrote down {record.TITLE}: {words}") as change:
            change.add(record)
    except ConflictError as error:
        refuse(_other(book, error, names) or str(error))
        return
    except RillbookError as error:
        refuse(str(error))
        return
    said = f"Stored: {words}." if change.number else f"That is already in the book: {words}."
    tell(said, change.number, more=extra)
    next_turn(form)
    st.rerun()


def _other(book: Book, error: ConflictError, names: Names) -> str:
    """A second reading of one moment refused in the words of the list below its form; "" for other kinds."""
    kinds = [k for k in (MeterReading, Rain) if error.kind == k.KIND]
    there = next((s.record for kind in kinds for s in book.records(kind) if s.id == error.there), None)
    if there is None:
        return ""
    said = f"There is one of that time already: {described(there, names)}."
    return f"{said} Put that one right, or give another time. Nothing was stored."


def put_right(
    book: Book, stored: Stored[Any], record: Record, names: Names, form: str, since: date | None = None
) -> bool:
    """Put a record right, or first ask what a new one would be asked; whether it was. :func:`pending` shows it.

    With ``since`` it was right until that day and changed then.
    """
    st.session_state.pop(_ASKED, None)
    then = record.model_copy(update={"since": since}) if since else record
    questions = questions_about(book, then, data.present(), stored)
    if questions:
        st.session_state[_ASKED] = Asked(form, record, tuple(questions), instead=stored, since=since)
        return False
    return change_from(book, stored, since, record, names) if since else correct(book, stored, record, names)


def change_from(book: Book, stored: Stored[Any], day: date, record: Record, names: Names) -> bool:
    """Say that a record changed on a day; whether it was written."""
    words = described(record, names)
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


def correct(book: Book, stored: Stored[Any], record: Record, names: Names) -> bool:
    """Put a record right; whether it was."""
    words = described(record, names)
    try:
        with book.change(f"put right {record.TITLE}: {words}") as change:
            change.correct(stored.id, record, stored.change_set)
    except RillbookError as error:
        refuse(str(error))
        return False
    tell(f"Put right: {words}." if change.number else "Nothing was different; nothing was stored.", change.number)
    return True


def remove(book: Book, stored: Stored[Any], names: Names) -> None:
    """Take a record out, with an Undo in place of a question."""
    words = described(stored.record, names)
    try:
        with book.change(f"removed {stored.record.TITLE}: {words}") as change:
            change.remove(stored.id, type(stored.record), stored.change_set)
    except RillbookError as error:
        refuse(str(error))
        return
    tell(f"Removed: {words}.", change.number)
    st.rerun()
