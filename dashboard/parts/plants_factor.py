"""A plant factor of one's own for a month of the year: one small form, for the planting and month looked at."""

from __future__ import annotations

import calendar

import streamlit as st

from core.book.kinds import FactorMonth
from core.book.store import Book
from core.errors import EntryError
from core.review.plants import PlantsMonth
from core.units import parse_number
from dashboard.parts.row import row_button
from dashboard.parts.say import refuse, sentence, turn
from dashboard.parts.setting import setting_of
from dashboard.parts.store import remove, store
from dashboard.words import plain


def factor_form(book: Book, month: PlantsMonth) -> None:
    """Factors set by hand, and a form for another."""
    names = {(p.zone, p.planting): f"{p.zone_name}, {p.name}" for p in month.plantings}
    with st.expander("A plant factor of your own for this month", key="factor-month"):
        sentence(
            "When you know better than the tables: a shrub that leafs out late, a bed cut back after the harvest. It "
            "holds for this month of every year.",
            "small",
        )
        for stored in book.records(FactorMonth):
            record = stored.record
            name = names.get((record.zone, record.planting), f"{record.zone}, {record.planting}")
            with st.container(horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
                when = calendar.month_name[record.month]
                st.markdown(plain(f"{name}, {when}: {record.factor:g}. {record.reason}"))
                if row_button("Remove", f"{name}, {when}", f"factor-remove-{stored.id}"):
                    remove(book, stored, setting_of(book).refs)
        form = turn("factor-month")
        with st.form(form, border=False):
            planting = st.selectbox(
                "Planting", list(names), format_func=lambda p: names.get(p, ""), key=f"{form}.planting", width=420
            )
            factor = st.text_input("Plant factor  :gray[:small[need over reference ET, 0 to 2]]", key=f"{form}.factor")
            reason = st.text_input("Why", key=f"{form}.reason")
            sent = st.form_submit_button(f"Store for {month.first:%B}")
        if sent and planting:
            _store(book, month, planting, factor, reason)


def _store(book: Book, month: PlantsMonth, planting: tuple[str, str], factor: str, reason: str) -> None:
    try:
        if not factor.strip():
            raise EntryError("Enter the plant factor.")
        if not reason.strip():
            raise EntryError("Enter why: next year you will want to know.")
        record = FactorMonth(
            zone=planting[0], planting=planting[1], month=month.first.month, factor=float(parse_number(factor)),
            reason=reason,
        )  # fmt: skip
    except EntryError as error:
        refuse(f"{error} Nothing was stored.")
        return
    except ValueError:
        refuse("A plant factor is 0 to 2. Nothing was stored.")
        return
    store(book, record, setting_of(book).refs, "factor-month")
