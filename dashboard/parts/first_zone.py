"""The few questions that make a whole zone: plants, emitters and how the controller is set for it."""

from __future__ import annotations

from datetime import date
from typing import Any

import streamlit as st
from pydantic import ValidationError

from core.book.kinds import Controller, EmitterGroup, Measured, Planting, Program, Record, Supply, Zone
from core.book.store import Book
from core.care.due import latest
from core.errors import EntryError, RillbookError
from core.review.entry import about_garden
from core.review.spoken import listed
from core.units import parse_number
from dashboard import data
from dashboard.parts.fields import FIRST_DAY, Setting
from dashboard.parts.garden_form import free_code
from dashboard.parts.say import next_turn, refuse, tell, turn
from dashboard.words import choice, plain

WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_ASKED = "first-zone-asked"
MORE = "zones-more"  # the book to whose first zone another may follow
DEVICES = ("button", "inline", "soaker", "mister", "bubbler", "sprayer", "other")
TUBING = ("soaker", "inline")  # what is measured by its length
NEW, HAND = "a new one", "none: a hand valve"


def zone_form(book: Book, setting: Setting) -> None:
    """One zone in one form; stored as one change set, so that one Undo takes all of it back."""
    us = setting.system == "us"
    far, flow = ("ft", "gph") if us else ("m", "lph")
    form = turn("first-zone")
    controllers = data.names(book, Controller)
    types = setting.options["plant_type"]
    with st.form(form, border=False):
        name = st.text_input("Name of the zone (such as Front hedge)", key=f"{form}.name")
        since = _since_field(book, form)
        st.markdown("**What grows there**")
        plant = st.selectbox("Plants", list(types), format_func=lambda c: types[c], key=f"{form}.plant", index=None)
        with st.container(horizontal=True, vertical_alignment="bottom"):
            count = st.text_input("How many plants", value="1", key=f"{form}.count", width=150)
            width = st.text_input(f"Width across one, {'feet' if us else 'metres'}", key=f"{form}.width", width=210)
            bed = st.text_input(
                f"or area of the bed, {'square feet' if us else 'square metres'}", key=f"{form}.bed", width=250
            )
        soils = setting.options["soil"]
        soil = st.selectbox(
            "Soil", list(soils), index=list(soils).index("loam"), format_func=lambda c: soils[c], key=f"{form}.soil"
        )
        with st.container(horizontal=True, vertical_alignment="bottom"):
            pots = st.checkbox("Growing in pots", key=f"{form}.pots")
            pot = st.text_input(f"soil in one pot, {'gallons' if us else 'litres'}", key=f"{form}.pot", width=210)
            across = st.text_input(f"width of one pot, {'inches' if us else 'cm'}", key=f"{form}.across", width=180)
        st.markdown("**What waters them**")
        device = st.selectbox("They are", DEVICES, format_func=choice, key=f"{form}.device", width=320)
        with st.container(horizontal=True, vertical_alignment="bottom"):
            emitters = st.text_input("How many emitters", key=f"{form}.emitters", width=180)
            each = st.text_input(
                f"Flow of one, {'gallons' if us else 'litres'} per hour", key=f"{form}.each", width=250
            )
        with st.container(horizontal=True, vertical_alignment="bottom"):
            length = st.text_input(
                f"or length of the tubing, {'feet' if us else 'metres'}", key=f"{form}.length", width=250
            )
            along = st.text_input(
                f"Flow of one {'foot' if us else 'metre'} of it, {'gallons' if us else 'litres'} per hour",
                key=f"{form}.along",
                width=290,
            )
        per = (
            "100 feet is a hundred times that of one foot" if us else "100 metres is a hundred times that of one metre"
        )
        st.caption(f"Count single emitters, or measure a soaker hose or drip tubing. Flow told for {per}.")
        st.markdown("**How the controller is set**")
        where = st.selectbox(
            "Controller",
            [*controllers, NEW, HAND],
            format_func=lambda c: controllers.get(c, c),
            key=f"{form}.controller",
        )
        with st.expander("Only for a new controller") if controllers else st.container():
            power = st.radio(
                "A new one runs on",
                ("battery", "mains", "solar"),
                format_func=choice,
                horizontal=True,
                key=f"{form}.power",
            )
            summer = st.checkbox(
                "A new one is set to summer time, by itself or by somebody, each spring and autumn",
                value=True,
                key=f"{form}.summer",
            )
        days = st.pills("Days it waters", WEEK, selection_mode="multi", key=f"{form}.days", format_func=str.capitalize)
        with st.container(horizontal=True, vertical_alignment="bottom"):
            start = st.text_input("Start times (05:00 20:30)", key=f"{form}.start", width=200)
            minutes = st.text_input("Minutes each start", key=f"{form}.minutes", width=180)
        sent = st.form_submit_button("Store the zone", type="primary")
    if not sent:
        _answered(book)
        return
    typed = {
        "name": name, "plant": plant, "count": count, "width": width, "bed": bed, "soil": soil, "pots": pots,
        "pot": pot, "across": across, "emitters": emitters, "each": each, "device": device, "length": length,
        "along": along, "controller": where, "power": power, "summer": summer, "days": days, "start": start,
        "minutes": minutes, "since": since, "far": far, "near": "in" if us else "cm", "flow": flow,
        "per_length": "gph_ft" if us else "lph_m", "area": "ft2" if us else "m2", "volume": "gal" if us else "l",
    }  # fmt: skip
    _store(book, typed)


def _since_field(book: Book, form: str) -> date | None:
    st.markdown("**Since when**")
    since = st.date_input(
        "It has been set and planted as written here since",
        value=_usual_first_day(book),
        min_value=FIRST_DAY,
        max_value=data.today(book),
        format="YYYY-MM-DD",
        key=f"{form}.since",
        width=320,
    )
    st.caption(
        "The zone counts from this day on, with its plants, emitters and program; of the days before, the book "
        "says nothing. What is changed later is written down on the garden page."
    )
    return since


def _store(book: Book, typed: dict[str, Any]) -> None:
    try:
        records = zone_records(book, typed)
    except EntryError as error:
        refuse(f"{error} Nothing was stored.")
        return
    except ValidationError as error:
        words = "; ".join(str(e.get("ctx", {}).get("error", e["msg"])) for e in error.errors())
        refuse(f"These do not fit together: {words}. Nothing was stored.")
        return
    questions = [question for record in records for question in about_garden(record)]
    st.session_state[_ASKED] = (str(book.path), records, questions) if questions else None
    if questions:
        _answered(book)
    else:
        _write(book, records)


def _answered(book: Book) -> None:
    """What looks odd in the zone that was sent, which is stored on a yes only."""
    path, records, questions = st.session_state.get(_ASKED) or ("", [], [])
    if path != str(book.path):
        return
    with st.container(border=True, key="asked-zone"):
        for question in questions:
            st.warning(plain(question))
        with st.container(horizontal=True):
            if st.button("It is right, store it", key="asked-zone-yes", type="primary"):
                st.session_state[_ASKED] = None
                _write(book, records)
            if st.button("Let me change it", key="asked-zone-no"):
                st.session_state[_ASKED] = None
                st.rerun()


def _write(book: Book, records: list[Record]) -> None:
    name = next(r.name for r in records if isinstance(r, Zone))
    try:
        with book.change(f"wrote down zone: {name}") as change:
            for record in records:
                change.add(record)
    except RillbookError as error:
        refuse(str(error))
        return
    tell(f"Stored: the zone {name} with its {_parts(records)}.", change.number, "zones")
    st.session_state[MORE] = str(book.path)
    next_turn("first-zone")
    st.rerun()


def _usual_first_day(book: Book) -> date:
    """The day of the zone written down last, else the usual first day of watering, else the first of the month."""
    today = data.today(book)
    before = [s.record.since for s in book.latest(Zone, 1) if s.record.since is not None]
    return min(before[0] if before else latest(book.home().startup_due, today) or today.replace(day=1), today)


def _parts(records: list[Record]) -> str:
    return listed(dict.fromkeys(r.TITLE for r in records if not isinstance(r, Zone)))


def zone_records(book: Book, typed: dict[str, Any]) -> list[Record]:
    """The records one form makes.

    Raises:
        EntryError: something needed is missing or cannot be read.
    """
    supply = next(iter(data.names(book, Supply)), None)
    if supply is None:
        raise EntryError("Write down the water supply first.")
    for key, words in (("name", "the name of the zone"), ("plant", "what grows there"), ("since", "since when")):
        if not typed[key] or (isinstance(typed[key], str) and not typed[key].strip()):
            raise EntryError(f"Enter {words}.")
    records: list[Record] = []
    controller: str | None = typed["controller"]
    if controller == HAND:
        controller = None
    elif controller == NEW:
        controller = free_code("timer", set(data.names(book, Controller)))
        # the times are typed as its display shows them: taken for winter time all the year, every run of a summer
        # would be looked for an hour late, and an hourly file would say that nothing came
        records.append(
            Controller(code=controller, name="Controller", power=typed["power"], follows_dst=typed["summer"])
        )
    code = free_code(typed["name"], set(data.names(book, Zone)))
    since: date = typed["since"]
    records.append(
        Zone(code=code, name=typed["name"], supply=supply, controller=controller, hand=controller is None, since=since)
    )
    pot = _measured(typed["pot"], typed["volume"], "volume")
    if typed["pots"] and pot is None:
        raise EntryError("Enter the soil in one pot.")
    across = _measured(typed["across"], typed["near"], "length")
    if typed["pots"] and across is None:
        raise EntryError("Enter the width of one pot: rain reaches the roots through its opening.")
    width = _measured(typed["width"], typed["far"], "length")
    records.append(
        Planting(
            zone=code,
            code="plants",
            since=since,
            name=typed["name"],
            plant_type=typed["plant"],
            count=_whole(typed["count"], "how many plants"),
            canopy=width,
            bed=_measured(typed["bed"], typed["area"], "area"),
            in_pots=typed["pots"],
            pot=pot if typed["pots"] else None,
            pot_width=across if typed["pots"] else None,
            soil="potting-mix" if typed["pots"] and typed["soil"] == "loam" else typed["soil"],
        )
    )
    if any(typed[name].strip() for name in ("emitters", "each", "length", "along")):
        records.append(_emitters(code, since, typed))
    if typed["minutes"].strip() or typed["start"].strip() or typed["days"]:
        records.append(_program(code, since, typed))
    return records


def _emitters(zone: str, since: date, typed: dict[str, Any]) -> EmitterGroup:
    """Emitters by their count, or a soaker hose or tubing by its length."""
    how = _tubing(typed) if typed["length"].strip() or typed["along"].strip() else _counted(typed)
    return EmitterGroup(zone=zone, code="emitters", since=since, device=typed["device"], waters="plants", **how)


def _counted(typed: dict[str, Any]) -> dict[str, Any]:
    count = _whole(typed["emitters"], "how many emitters")
    return {"count": count, "flow_each": _measured(typed["each"], typed["flow"], "flow")}


def _tubing(typed: dict[str, Any]) -> dict[str, Any]:
    if typed["emitters"].strip() or typed["each"].strip():
        raise EntryError("Enter either how many emitters or a length of tubing, not both.")
    if typed["device"] not in TUBING:
        raise EntryError(f"A length goes with tubing: choose {' or '.join(choice(d) for d in TUBING)}.")
    length = _measured(typed["length"], typed["far"], "length")
    along = _measured(typed["along"], typed["per_length"], "line_flow")
    if length is None or along is None:
        raise EntryError("Enter the length of the tubing and its flow.")
    return {"length": length, "flow_along": along}


def _program(zone: str, since: date, typed: dict[str, Any]) -> Program:
    if not typed["days"]:
        raise EntryError("Choose the days it waters.")
    if not typed["start"].strip():
        raise EntryError("Enter the start times.")
    if not typed["minutes"].strip():
        raise EntryError("Enter the minutes of each start.")
    return Program(
        zone=zone,
        since=since,
        days=" ".join(d for d in WEEK if d in typed["days"]),
        starts=typed["start"],
        minutes=float(parse_number(typed["minutes"])),
    )


def _measured(text: str, unit: str, quantity: str) -> Measured | None:
    return Measured.read(text, quantity, unit) if text.strip() else None


def _whole(text: str, what: str) -> int:
    if not text.strip():
        raise EntryError(f"Enter {what}.")
    number = parse_number(text)
    if number != int(number):
        raise EntryError(f"“{text}” is not a whole number.")
    return int(number)
