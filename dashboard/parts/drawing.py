"""A drawing on the page: its finding, its key, the chart, and the same as a table."""

from __future__ import annotations

from contextlib import nullcontext
from html import escape

import pandas as pd
import streamlit as st

from dashboard.charts import Drawing
from dashboard.words import plain

_LONG = 40  # rows beyond which the plain table scrolls in a box of its own


def show_drawing(drawing: Drawing, key: str, note: str = "", with_key: bool = True) -> None:
    """Title, chart and table. The chart carries its text alternative; the table says the same in numbers."""
    st.markdown(f"##### {plain(drawing.title)}")
    if drawing.spec is None:
        st.caption(plain(drawing.text))
        return
    if drawing.key and with_key:
        st.html(key_html(drawing.key))
    st.vega_lite_chart(drawing.spec, width="stretch", key=f"chart-{key}")
    if note:
        st.caption(plain(note))
    with st.expander("The same in words and as a table", key=f"table-{key}"):
        st.markdown(plain(drawing.text))
        show_table(drawing.table)


def show_table(table: pd.DataFrame, key: str = "") -> None:
    """A table a screen reader can read, its text shown as it stands.

    Args:
        key: of a table too wide for a phone, where its rows stand one below the other; style.css shows one of both.
    """
    safe = table.map(plain).rename(columns=plain)
    with st.container(key=f"wide-{key}") if key else nullcontext():
        st.table(safe, hide_index=True, border="horizontal", height=420 if len(safe) > _LONG else "content")
    if key:
        with st.container(key=f"narrow-{key}"):
            st.html(rows_html(table))


def rows_html(table: pd.DataFrame) -> str:
    """Each row as its first cell and a list of the others with their columns' names; empty cells are left out."""
    rows = []
    for first, *others in table.itertuples(index=False):
        told = [(str(c), str(v)) for c, v in zip(table.columns[1:], others, strict=True) if str(v)]
        facts = "".join(f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in told)
        rows.append(f"<p><strong>{escape(str(first))}</strong></p><dl>{facts}</dl>")
    return f'<div class="rill-rows">{"".join(rows)}</div>'


def key_html(entries: tuple[tuple[str, str, str], ...]) -> str:
    """The key as wrapping words, each with its sign. Names are escaped: they are what a person typed."""
    items = []
    for words, colour, manner in entries:
        shade = escape(colour, quote=True)
        if manner == "fill":
            sign = f'<span class="rill-box" style="background:{shade}"></span>'
        elif manner.startswith(("edged ", "drop ")):
            shape, _, edge = manner.partition(" ")
            css = f"background:{shade};border:1.5px solid {escape(edge, quote=True)}"
            sign = f'<span class="rill-box rill-{shape}" style="{css}"></span>'
        elif manner == "stripes":
            bands = f"repeating-linear-gradient(45deg,{shade} 0 3px,transparent 3px 6px)"
            sign = f'<span class="rill-box" style="background:{bands};border:1.5px solid {shade}"></span>'
        elif manner == "wash":
            sign = f'<span class="rill-box" style="background:{shade};opacity:.3"></span>'
        elif manner in ("line", "dashes"):
            style = "dashed" if manner == "dashes" else "solid"
            sign = f'<span class="rill-line" style="border-top:3px {style} {shade}"></span>'
        else:
            sign = f'<span class="rill-sign" style="color:{shade}">{escape(manner)}</span>'
        items.append(f"<li>{sign}{escape(words)}</li>")
    return f'<ul class="rill-key">{"".join(items)}</ul>'
