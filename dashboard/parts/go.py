"""Links to the other pages."""

from __future__ import annotations

import streamlit as st

from dashboard.words import GARDEN, plain


def garden_link(words: str, kind: str) -> None:
    """A link to one part of the garden page, by record kind."""
    link("garden", words, part=GARDEN[kind])


def link(name: str, words: str, **query: str) -> None:
    """A link to a page by its short name; plain words where that page is not on offer."""
    page = st.session_state.get("pages", {}).get(name)
    if page is None:
        st.markdown(plain(words))
    else:
        st.page_link(page, label=plain(words), query_params=query or None)
