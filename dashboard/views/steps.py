"""First steps: from nothing to a first review. Each step can wait; what is stored is ticked off by itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import streamlit as st
from pydantic import ValidationError

from core.book.kinds import Measured, Meter, Normal, Supply, Zone
from core.book.store import Book
from core.errors import EntryError, RillbookError
from core.review.spoken import counted, listed
from core.units import parse_number
from dashboard import data
from dashboard.parts.fields import Setting
from dashboard.parts.first_done import LATER, first_done
from dashboard.parts.first_home import home_form
from dashboard.parts.first_price import UNITS, price_form
from dashboard.parts.first_zone import MORE, zone_form
from dashboard.parts.go import garden_link, link
from dashboard.parts.quick import reading_form
from dashboard.parts.say import next_turn, refuse, sentence, show_told, tell, turn
from dashboard.parts.setting import setting_of
from dashboard.words import choice, plain

ENOUGH = "You have what a first month needs."
NEED_ONLY = "A month can say what the plants need. Two readings of the meter, a week apart, say what was used."


@dataclass(frozen=True)
class FirstStep:
    """One step: its words, whether the book has it, and what draws it."""

    key: str
    words: str
    done: bool
    needed: bool
    draw: Callable[[Book, Setting], None]


def main() -> None:
    book = data.book()
    setting = setting_of(book)
    st.header("First steps")
    sentence("Six short steps to a first month. Any of them can wait; come back when you like.")
    show_told()
    steps = steps_of(book)
    done = sum(step.done for step in steps)
    st.progress(done / len(steps), text=f"{done} of {len(steps)} written down")
    later: set[str] = st.session_state.setdefault(LATER, set())
    following = next((s.key for s in steps if not s.done and s.key not in later), None)
    opened = "zones" if more_zones(book) else following  # a home has several; the next form stands ready
    for place, step in enumerate(steps, 1):
        state = "✓" if step.done else "○"
        put_off = " :gray[(later)]" if step.key in later and not step.done else ""
        with st.expander(f"{state}  {place}. {plain(step.words)}{put_off}", expanded=step.key == opened):
            step.draw(book, setting)
            if not step.done and step.key not in later and st.button("This can wait", key=f"later-{step.key}"):
                st.session_state[LATER] = later | {step.key}
                st.rerun()
    if following is None or all(s.done for s in steps if s.needed):
        read = data.names(book, Meter) and not next(s.done for s in steps if s.key == "reading")
        st.markdown(f"**{NEED_ONLY if read else ENOUGH}**")
    link("month", "Look at this month")


def steps_of(book: Book) -> list[FirstStep]:
    """The steps with what the book already has."""
    has = first_done(book)
    return [
        FirstStep("home", "Who lives there, and when frost comes", has["home"], False, home_form),
        FirstStep("water", "Where the water comes from, and its meter", has["water"], True, water_form),
        FirstStep("zones", "What the system waters, zone by zone", has["zones"], True, zones_step),
        FirstStep("weather", "What the weather is usually like", has["weather"], True, weather_form),
        FirstStep("reading", "A first meter reading", has["reading"], False, reading_step),
        FirstStep("price", "What water costs", has["price"], False, price_form),
    ]


def water_form(book: Book, setting: Setting) -> None:
    """Supply and meter in one."""
    if data.names(book, Supply):
        sentence(f"Written down: {listed(data.names(book, Supply).values())}.")
        garden_link("To the supply", "supply")
        return
    us = setting.system == "us"
    with st.form(turn("water"), border=False):
        source = st.radio("Source", ("main", "well", "barrel", "other"), format_func=choice, horizontal=True)
        metered = st.checkbox("It has a meter I can read", value=True)
        unit = st.selectbox(
            "Its register counts",
            UNITS,
            index=UNITS.index("gal" if us else "m3"),
            format_func=choice,
            help="Printed on its face. US and imperial gallons are not the same.",
        )
        step = st.text_input(
            f"Smallest step you can read (in that unit: {'1, 10, 0.1' if us else '1, 0.1, 0.001'})",
            value="1" if us else "0.001",
        )
        digits = st.text_input("Digits before the decimal mark (painted zeros included)", value="7" if us else "5")
        if not us:
            st.caption("A register of cubic metres mostly has five black digits and three red ones, which are litres.")
        sent = st.form_submit_button("Store the water", type="primary")
    if not sent:
        return
    try:
        supply = Supply.model_validate(
            {"code": "water", "name": choice(source).capitalize(), "source": source, "metered": metered}
        )
        meter = Meter.model_validate(
            {
                "code": "meter",
                "name": "Meter",
                "supply": "water",
                "unit": unit,
                "resolution": parse_number(step),
                "digits": int(parse_number(digits)),
            }
        )
        with book.change("wrote down supply and meter") as change:
            change.add(supply)
            if metered:
                change.add(meter)
    except RillbookError as error:
        refuse(f"{error} Nothing was stored.")
    except ValidationError:
        refuse("The step is more than 0, the digits from 3 to 12. Nothing was stored.")
    else:
        tell(f"Stored: {supply.name}{', with its meter' if metered else ''}.", change.number)
        next_turn("water")
        st.rerun()


def zones_step(book: Book, setting: Setting) -> None:
    """Zones one by one."""
    zones = data.names(book, Zone)
    if not data.names(book, Supply):
        sentence("A zone needs a supply: store the step above first.")
        return
    if zones:
        sentence(f"Written down: {listed(zones.values())}.")
        st.markdown("**The next zone**")
    zone_form(book, setting)
    show_told("zones")  # below the button that stored it, where the eyes are
    if more_zones(book):
        sentence(f"Written down: {listed(zones.values())}. Write the next zone above, or go on.")
        if st.button(f"That is all: {counted(len(zones), 'zone')}", key="zones-end"):
            st.session_state[MORE] = ""
            st.rerun()


def more_zones(book: Book) -> bool:
    """Whether a zone was just stored and nobody has said yet that it was the last."""
    return bool(st.session_state.get(MORE) == str(book.path) and data.names(book, Zone))


def weather_form(book: Book, setting: Setting) -> None:
    """Twelve months of normals, pasted as three rows of numbers, or a file."""
    normals = {s.record.month for s in book.records(Normal)}
    if len(normals) == 12:
        sentence("Usual weather of all twelve months is written down.")
        garden_link("To the usual weather", "normal")
        return
    sentence("Plants' need comes from the weather. The climate page of your weather service has these three rows.")
    warm, wet = ("°F", "inches") if setting.system == "us" else ("°C", "mm")
    form = turn("normals")
    rows = {
        "tmin": f"Usual lowest temperature, {warm}, January to December",
        "tmax": f"Usual highest temperature, {warm}, January to December",
        "rain": f"Usual rain in the month, {wet}, January to December",
    }
    with st.form(form, border=False):
        texts = {
            name: st.text_input(f"{words} (twelve numbers, space between)", key=f"{form}.{name}")
            for name, words in rows.items()
        }
        sent = st.form_submit_button("Store the twelve months", type="primary")
    link("files", "Or bring in a file of daily weather, which is better")
    if not sent:
        return
    try:
        values = {name: twelve(text, rows[name]) for name, text in texts.items()}
        heat, depth = ("f", "in") if setting.system == "us" else ("c", "mm")
        records = [
            Normal(
                month=month + 1,
                tmin=Measured(values["tmin"][month], heat, "temperature"),
                tmax=Measured(values["tmax"][month], heat, "temperature"),
                rain=Measured(values["rain"][month], depth, "depth"),
            )
            for month in range(12)
        ]
        with book.change("wrote down the usual weather") as change:
            for record in records:
                change.add(record)
    except RillbookError as error:
        refuse(f"{error} Nothing was stored.")
    else:
        tell("Stored: the usual weather of twelve months.", change.number)
        next_turn("normals")
        st.rerun()


def twelve(text: str, what: str) -> list[str]:
    """Twelve numbers from one line.

    Raises:
        EntryError: not twelve, or one that is no number.
    """
    words = text.replace(";", " ").split()
    if len(words) != 12:
        raise EntryError(f"{what}: {len(words)} numbers. Expected twelve, such as 21 25 33 40 48 56 62 61 52 41 30 22.")
    return [format(parse_number(word), "f") for word in words]


def reading_step(book: Book, setting: Setting) -> None:
    """The first reading."""
    reading_form(book, setting, setting.refs)


main()
