"""The month chooser: the month before, the list, the month after; the page's address remembers it."""

from __future__ import annotations

import streamlit as st

from core.book.store import Book
from dashboard import data
from dashboard.words import month_words, plain

_LIST = "month-list"


def month_chooser(book: Book) -> str:
    """The month chosen, shown as the page's heading."""
    months = data.months(book)
    month = data.month_chosen(book)
    if month not in months:
        months = sorted({*months, month}, reverse=True)
    st.session_state["month"] = month
    st.session_state[_LIST] = month
    place = months.index(month)
    st.header(plain(month_words(month)))
    with st.container(horizontal=True, vertical_alignment="center", gap="small", key="month-chooser"):
        _step("Earlier", months[place + 1] if place + 1 < len(months) else None, "month-earlier")
        st.selectbox(
            "Month",
            months,
            key=_LIST,
            format_func=month_words,
            label_visibility="collapsed",
            on_change=_listed,
            width=190,
        )
        _step("Later", months[place - 1] if place > 0 else None, "month-later")
    return month


def _step(words: str, target: str | None, key: str) -> None:
    st.button(
        words,
        key=key,
        disabled=target is None,
        help=month_words(target) if target else None,
        on_click=_go,
        args=(target,),
    )


def _go(month: str | None) -> None:
    if month:
        st.session_state["month"] = month
        st.query_params["month"] = month


def _listed() -> None:
    _go(st.session_state[_LIST])
