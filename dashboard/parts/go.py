"""Links to the other pages."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboard.words import GARDEN, plain


def garden_link(words: str, kind: str) -> None:
    """A link to one part of the garden page, by record kind."""
    link("garden", words, part=GARDEN[kind])


def card_link(words: str, card: str) -> None:
    """A link to a card further down the same page, for the mouse and for the keyboard, which goes on from there."""
    st.markdown(f"[{plain(words)}](#{card})")


def card_place(*cards: str) -> None:
    """Where the links to a card lead: above it, or above the fold that it is in."""
    st.html(
        "".join(f'<span id="{escape(card, quote=True)}" class="rill-place" tabindex="-1"></span>' for card in cards)
    )


def link(name: str, words: str, **query: str) -> None:
    """A link to a page by its short name; plain words where that page is not on offer."""
    page = st.session_state.get("pages", {}).get(name)
    if page is None:
        st.markdown(plain(words))
    else:
        st.page_link(page, label=plain(words), query_params=query or None)
