"""Storing one record from a form: once, however often it is sent, and said with its Undo."""

from __future__ import annotations

from typing import Any

import streamlit as st

from core.book.kinds import Record
from core.book.store import Book, Stored
from core.errors import RillbookError
from dashboard.parts.describe import Names, described
from dashboard.parts.say import next_turn, refuse, tell


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


def store(book: Book, record: Record, names: Names, form: str, extra: str = "") -> None:
    """Write a record down, say so, and begin its form afresh; a refusal is said and what was typed stays."""
    record = numbered(book, record)
    words = described(record, names)
    try:
        with book.change(f"wrote down {record.TITLE}: {words}") as change:
            change.add(record)
    except RillbookError as error:
        refuse(str(error))
        return
    said = f"Stored: {words}." if change.number else f"That is already in the book: {words}."
    tell(f"{said} {extra}".strip(), change.number)
    next_turn(form)
    st.rerun()


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
