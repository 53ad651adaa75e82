"""Sentences on the screen, and what was just stored with its Undo."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from core.errors import RillbookError, first_up
from dashboard import data
from dashboard.words import plain

_TOLD, _SLOT = "told", "told-slot"


@dataclass(frozen=True, slots=True)
class Told:
    """What the last step did: words, the page and place it is told at, and the change set that Undo takes back.

    ``more`` is told beside and holds no more once it is undone.
    """

    words: str
    more: str
    page: str
    place: str
    number: int | None
    path: str


def begin_run() -> None:
    """Forget where an earlier run of the script told something: that place may hold something else now."""
    st.session_state.pop(_SLOT, None)


def sentence(text: str, size: str = "") -> None:
    """A sentence as it stands, never read as markdown; ``size`` "small" or "large"."""
    words = plain(text)
    if size == "small":
        st.caption(words)
    elif size == "large":
        st.markdown(f"### {words}")
    else:
        st.markdown(words)


def tell(words: str, number: int | None, place: str = "", more: str = "") -> None:
    """Keep what was stored for the next run, which shows it at the page's top or at a place further down."""
    path = data.book_path()
    st.session_state[_TOLD] = Told(words, more, st.session_state.get("page", ""), place, number, str(path))


def show_told(place: str = "") -> None:
    """What the last step on this page stored, with Undo; gone once another page is opened."""
    told: Told | None = st.session_state.get(_TOLD)
    if told is None:
        return
    if told.page != st.session_state.get("page", "") or told.path != str(data.book_path()):
        del st.session_state[_TOLD]
        return
    if told.place != place:
        return
    st.session_state[_SLOT] = slot = st.empty()
    with slot.container(key="told"):
        st.success(plain(f"{told.words} {told.more}".strip()))
        if told.number is not None and st.button("Undo", key=f"undo-{told.number}"):
            take_back(told.number, told.words, place)


def take_back(number: int, words: str, place: str = "") -> None:
    """Undo a change set and say so, or say what rests on it."""
    try:
        undone = data.book().undo(number)
    except RillbookError as error:
        refuse(str(error))
        return
    tell(undone_words(words), undone, place)
    st.rerun()


# What was told begins like this, and once it is undone like that; an undo can be undone as well.
_UNDONE = {
    "Stored: ": "Taken back: ",
    "Taken back: ": "Stored again: ",
    "Stored again: ": "Taken back: ",
    "Removed: ": "Back in the book: ",
    "Back in the book: ": "Removed again: ",
    "Removed again: ": "Back in the book: ",
}


def undone_words(words: str) -> str:
    """What is told once what was told is undone; a sentence of its own, or an action in words, is quoted."""
    for lead, undone in _UNDONE.items():
        if words.startswith(lead):
            return f"{undone}{words.removeprefix(lead)}"
    first = "Stored again" if words.startswith("undid: ") else "Taken back"
    action = words.removeprefix("undid: ").removeprefix("did again: ")
    return f"{first}: “{first_up(action).removesuffix('.')}”."


def refuse(words: str) -> None:
    """Say what was wrong; nothing was stored, so what an earlier step stored is not told above it any more."""
    st.session_state.pop(_TOLD, None)
    slot = st.session_state.pop(_SLOT, None)
    if slot is not None:
        slot.empty()
    st.error(plain(words))


def turn(form: str) -> str:
    """The present key of a form. It changes when the form has stored, so a form sent twice is one form."""
    return f"{form}.{st.session_state.get(f'turn.{form}', 0)}"


def next_turn(form: str) -> None:
    """Begin the form afresh."""
    st.session_state[f"turn.{form}"] = st.session_state.get(f"turn.{form}", 0) + 1
