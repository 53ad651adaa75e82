"""A figure on the page: the number, its range, and its working on request."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from core.figures import Figure, Line
from core.review.spoken import amount, line_value
from core.units import System
from dashboard.words import likely, plain


def figure_tile(label: str, figure: Figure, system: System, currency: str, extra: str = "") -> None:
    """A figure as a tile: number, range, then what opens its working; two stand beside each other on a phone."""
    with st.container(width=150, gap="xsmall", key=f"tile-{label.lower().replace(' ', '-')}"):
        st.metric(plain(label), amount(figure.value, figure.quantity, system, currency))
        limits = [t.rstrip(".") for t in (likely(figure, system, currency), extra, figure.note) if t]
        if limits:
            st.caption("  \n".join(map(plain, limits)))
        if figure.working:
            with st.popover("How we know", help=f"The working of: {label.lower()}", type="tertiary", width="content"):
                show_working(label, figure, system, currency)


def _whole(line: Line, said: str) -> str:
    """A number that stays on one line with its unit; words may break."""
    return said if isinstance(line.value, str) else said.replace(" ", "\u00a0")


def show_working(label: str, figure: Figure, system: System, currency: str) -> None:
    """The lines from inputs to result."""
    said = amount(figure.value, figure.quantity, system, currency)
    limits = likely(figure, system, currency)
    st.markdown(f"**{plain(label)}: {plain(said)}**" + (f"  \n{plain(limits)}, 9 times in 10" if limits else ""))
    table = pd.DataFrame(
        [
            {
                "What": plain(line.what),
                "Value": _whole(line, plain(line_value(line, system, currency))),
                "From": plain(line.source),
            }
            for line in figure.working
        ]
    )
    st.table(table, hide_index=True, border="horizontal")
    if figure.note:
        st.caption(plain(figure.note))
