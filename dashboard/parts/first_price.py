"""What water costs in its simplest form, and in which money."""

from __future__ import annotations

from datetime import date

import streamlit as st
from pydantic import ValidationError

from core.book.kinds import Home, Meter, Supply, Tariff
from core.book.store import Book
from core.errors import EntryError, RillbookError
from core.notation import parse_tiers
from core.units import parse_number, volume_symbol
from dashboard import data
from dashboard.parts.fields import FIRST_DAY, LAST_DAY, Setting
from dashboard.parts.go import garden_link
from dashboard.parts.say import next_turn, refuse, sentence, tell, turn
from dashboard.words import choice, day_words

UNITS = ("gal", "ft3", "kgal", "ccf", "m3", "l", "imp_gal")
_BILLED = {"gal": "kgal", "ft3": "ccf", "l": "m3"}  # what is usually billed by, where a register counts finer


def price_form(book: Book, setting: Setting) -> None:
    """Base charge, price of one unit, and the sign of the money, which the whole book shows from then on."""
    supply = next(iter(data.names(book, Supply)), None)
    if supply is None:
        sentence("A price needs a supply: store the first step before.")
        return
    if book.latest(Tariff, 1):
        sentence("A price is written down.")
        garden_link("To the water price", "tariff")
        return
    form = turn("price")
    sentence("On your bill. Price steps, sewer and other charges can follow on the garden page.", "small")
    with st.form(form, border=False):
        with st.container(horizontal=True, vertical_alignment="bottom"):
            unit = st.selectbox(
                "Billing unit",
                UNITS,
                index=UNITS.index(_usual_unit(book, supply, setting)),
                format_func=choice,
                key=f"{form}.unit",
                width=260,
            )
            sign = st.text_input(
                "Currency sign", value=book.home().currency, key=f"{form}.sign", width=140, max_chars=8
            )
        base = st.text_input("Base charge each month", value="0", key=f"{form}.base", width=260)
        prices = st.text_input(
            "Price of one unit (3.65, or to 4: 3.65 / to 10: 5.10 / rest: 6.17)", key=f"{form}.prices"
        )
        since = st.date_input(
            "It holds since",
            value=data.today(book).replace(month=1, day=1),
            min_value=FIRST_DAY,
            max_value=LAST_DAY,
            format="YYYY-MM-DD",
            key=f"{form}.since",
            width=260,
        )
        st.caption(
            "Taken as 1 January of this year unless you know the day. Water used before it shows no cost until the "
            "price of that time is written down too, on the garden page."
        )
        sent = st.form_submit_button("Store the price", type="primary")
    if not sent:
        return
    try:
        if not prices.strip():
            raise EntryError("Enter the price of one unit.")
        if not isinstance(since, date):
            raise EntryError("Enter the day since which it holds.")
        tariff = Tariff.model_validate(
            {
                "supply": supply,
                "since": since,
                "unit": unit,
                "base": float(parse_number(base)),
                "prices": str(parse_tiers(prices)),
            }
        )
        sign = sign.strip()
        prices_told = str(tariff.prices).replace(": ", f": {sign}").removeprefix("rest: ")
        words = f"{prices_told} for each {volume_symbol(tariff.unit)}"
        stored = book.records(Home)[0]
        with book.change(f"wrote down the price of water: {words}") as change:
            if sign != stored.record.currency:
                change.correct(stored.id, stored.record.model_copy(update={"currency": sign}), stored.change_set)
            change.add(tariff)
    except RillbookError as error:
        refuse(f"{error} Nothing was stored.")
    except ValidationError:
        refuse("The base charge is 0 or more. Nothing was stored.")
    else:
        tell(f"Stored: {words}, from {day_words(since)} on.", change.number)
        next_turn("price")
        st.rerun()


def _usual_unit(book: Book, supply: str, setting: Setting) -> str:
    """The unit a bill most likely counts in: that of the meter or the one above it, else as the reader looks."""
    meters = [stored.record.unit for stored in book.records(Meter, supply=supply)]
    if meters:
        return _BILLED.get(meters[0], meters[0])
    return "kgal" if setting.system == "us" else "m3"
