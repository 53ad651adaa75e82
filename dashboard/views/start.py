"""The first screen while there is no book: begin one's own, or look at the sample household."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import available_timezones

import streamlit as st

from core.book.kinds import Home, Measured
from core.book.store import Book
from core.errors import EntryError, RillbookError
from core.units import from_base, parse_number
from core.usual import usual_currency, usual_units
from dashboard import data
from dashboard.parts.places import PLACES
from dashboard.parts.say import refuse, sentence
from dashboard.words import UNITS

OWN = "own place, typed below"


def main() -> None:
    st.title("Rillbook")
    sentence(
        "The water book of your garden: what the drip system gave, what the plants needed, what nobody can explain."
    )
    sentence("Write down meter readings, rain and what the controller is set to. Rillbook works out the rest.")
    with st.container(border=True, key="sample"):
        st.subheader("Look around first")
        sentence("An invented household with two years of readings. It is a copy: change it as you like.")
        if st.button("Open the sample household"):
            open_sample()
    with st.container(border=True, key="there"):
        st.subheader("Open a book that is there")
        open_book()
    with st.container(border=True, key="own"):
        st.subheader("Begin my own book")
        own_book()


def open_sample() -> None:
    """Make the sample book if it is not there, and show it."""
    with st.spinner("Making the sample book"):
        try:
            path = data.sample_book()
        except RillbookError as error:
            refuse(str(error))
            return
    data.choose(path)
    st.session_state["month"] = data.SAMPLE_MONTH
    st.rerun()


def open_book() -> None:
    """A book made earlier, by its path."""
    with st.form("open-book", border=False):
        path = st.text_input("Where it lies on this computer", value=str(data.own_path()), key="open-path")
        if not st.form_submit_button("Open the book"):
            return
    try:
        found = Book.open(Path(path))
    except RillbookError as error:
        refuse(str(error))
        return
    data.choose(found.path)
    st.rerun()


def own_book() -> None:
    """The few questions a book begins with: who, where, which units, and where the file lies."""
    zones = sorted(z for z in available_timezones() if "/" in z and not z.startswith(("Etc/", "posix", "right")))
    _begin_with_this_clock(zones)
    st.selectbox(
        "Nearest of these places",
        [OWN, *PLACES],
        key="near",
        on_change=_fill,
        help="It fills in the fields below; change them where you know better.",
    )
    zone = st.selectbox(
        "Time zone of the home",
        zones,
        key="own-zone",
        placeholder="Choose or type",
        on_change=_fill_usual,
        help="The units and the currency below follow from it until you change them.",
    )
    with st.form("own-book", border=False):
        name = st.text_input("Name of the household", value="Home", key="own-name", max_chars=120)
        with st.container(horizontal=True, vertical_alignment="bottom"):
            latitude = st.text_input("Latitude in degrees (south is negative)", key="own-lat", width=220)
            longitude = st.text_input("Longitude in degrees (west is negative)", key="own-lon", width=220)
            with st.container(horizontal=True, vertical_alignment="bottom", width=310):
                height = st.text_input("Height above the sea (about)", key="own-height", width=204)
                unit = st.selectbox(
                    "Unit of the height", ("ft", "m"), key="own-height-unit", label_visibility="collapsed", width=90
                )
        units = st.radio("Show units as", list(UNITS), format_func=lambda u: UNITS[u], horizontal=True, key="own-units")
        with st.container(horizontal=True, vertical_alignment="bottom"):
            people = st.text_input("People usually at home", value="2", key="own-people", width=220)
            sign = st.text_input("Currency sign", key="own-currency", width=160, max_chars=8)
        path = st.text_input("Where the book lies on this computer", value=str(data.own_path()), key="own-path")
        sent = st.form_submit_button("Make the book", type="primary")
    if not sent:
        return
    try:
        home = Home(
            name=name.strip() or "Home",
            latitude=_number(latitude, "the latitude"),
            longitude=_number(longitude, "the longitude") if longitude.strip() else None,
            elevation=Measured.read(height.strip() or "0", "length", unit),
            timezone=_chosen(zone),
            display=units,
            people=int(_number(people, "how many people live there")),
            currency=sign.strip(),
        )
        where = Path(path).expanduser()
        where.parent.mkdir(parents=True, exist_ok=True)
        Book.create(where, home)
    except RillbookError as error:
        refuse(f"{error} No book was made.")
    except OSError as error:
        refuse(f"{path} cannot be written: {error.strerror or error}. No book was made.")
    except ValueError:
        refuse("Latitude lies from -90 to 90, longitude from -180 to 180, people from 0 to 50. No book was made.")
    else:
        data.choose(where)
        st.rerun()


def _number(text: str, what: str) -> float:
    if not text.strip():
        raise EntryError(f"Enter {what}.")
    return float(parse_number(text))


def _chosen(zone: str | None) -> str:
    if not zone:
        raise EntryError("Choose the time zone.")
    return zone


def _fill() -> None:
    place = PLACES.get(st.session_state["near"])
    if place:
        latitude, longitude, height, zone = place
        st.session_state["own-lat"], st.session_state["own-lon"] = str(latitude), str(longitude)
        st.session_state["own-zone"] = zone
        _fill_usual()
        feet = usual_units(zone) == "us"
        rounded = round(from_base(height, "ft", "length"), -1) if feet else height  # known to about ten metres
        st.session_state["own-height"] = f"{rounded:.0f}"
        st.session_state["own-height-unit"] = "ft" if feet else "m"


def _fill_usual() -> None:
    """Units and currency as they are usual in the time zone; both stand in sight and can be changed."""
    zone = st.session_state["own-zone"]
    if zone:
        st.session_state["own-units"], st.session_state["own-currency"] = usual_units(zone), usual_currency(zone)
        if not st.session_state.get("own-height"):
            st.session_state["own-height-unit"] = "ft" if usual_units(zone) == "us" else "m"


def _begin_with_this_clock(zones: list[str]) -> None:
    """The first guess is the time zone of the computer or phone in front of the reader."""
    if "own-zone" not in st.session_state:
        here = st.context.timezone
        st.session_state["own-zone"] = here if here in zones else None
        _fill_usual()


main()
