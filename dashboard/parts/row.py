"""A button or field of one record in a list of them."""

from __future__ import annotations

from typing import Literal

import streamlit as st

from dashboard.words import label, plain


def row_label(word: str, what: str) -> str:
    """A button's label that shows ``word`` alone and is called "word what" by those who hear the page.

    The list shows what each row is; a button's own name is all that a screen reader says of it. style.css takes the
    second part out of sight where the button's key begins with ``row-``.
    """
    return f"{word}:small[ {label(what)}]"


def row_field(word: str, what: str) -> str:
    """A field's label of which ``word`` is seen and "word what" is heard.

    A field's name is its label as written, so the second part is a paragraph of its own, which style.css takes out of
    sight in every label.
    """
    return f"{label(word)}\n\n{label(what)}"


def row_button(word: str, what: str, key: str, kind: Literal["tertiary", "secondary"] = "tertiary") -> bool:
    """A button of one row, with the row's words in its name."""
    return st.button(row_label(word, what), key=f"row-{key}", help=f"{word}: {plain(what)}", type=kind)
