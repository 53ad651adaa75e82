"""One field of a record as widgets, and what was typed as a value.

Numbers are typed as text and read by core, so that 12,5 and 12.5 are the same everywhere. A value that was not
touched comes out as it went in, to the digit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import streamlit as st

from core.book.kinds import FieldInfo, Measured
from core.days import Moment, parse_moment
from core.errors import EntryError
from core.units import System, parse_number, quantity, shown_unit
from dashboard.words import choice, label

FIRST_DAY, LAST_DAY = date(1950, 1, 1), date(2199, 12, 31)
NONE = "\u2014 none \u2014"


@dataclass(frozen=True)
class Setting:
    """What a form needs to know of the book it writes into.

    Attributes:
        zone: the home's time zone; ``now`` the local present.
        system: units to offer first.
        refs: for each kind that can be referred to, its codes and names; under ``home`` the sign of its ``currency``.
        options: for a field by name, the words to choose from instead of typing.
    """

    zone: ZoneInfo
    now: datetime
    system: System
    refs: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    options: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


def label_of(info: FieldInfo) -> str:
    """Label and hint as one accessible name, optional fields told as such."""
    told = [] if info.required or info.cell.form in ("yesno", "choice") else ["optional"]
    hint = info.hint.rstrip(".")
    told += [f"{hint[:1].lower()}{hint[1:]}" if hint[1:2].islower() else hint] if hint else []
    return label(f"{info.label} ({'; '.join(told)})" if told else info.label)


def draw(info: FieldInfo, key: str, value: Any, setting: Setting) -> None:
    """The widgets of one field; what they hold is read back with :func:`read`."""
    form, words = info.cell.form, label_of(info)
    if info.name in setting.options or form in ("ref", "choice"):
        _draw_choice(info, key, value, setting, words)
    elif form == "yesno":
        st.checkbox(words, value=bool(value), key=key)
    elif form == "day":
        st.date_input(
            words, value=value, min_value=FIRST_DAY, max_value=LAST_DAY, key=key, format="YYYY-MM-DD", width=185
        )
    elif form == "moment":
        _draw_moment(words, key, value, setting)
    elif form == "measured":
        _draw_measured(info, key, value, setting, words)
    else:
        st.text_input(words, value=typed(value), key=key, max_chars=2000)


def _draw_choice(info: FieldInfo, key: str, value: Any, setting: Setting, words: str) -> None:
    names = dict(
        setting.options.get(info.name) or setting.refs.get(info.cell.to) or {c: choice(c) for c in info.choices}
    )
    if value not in (None, "") and value not in names:
        names[str(value)] = str(value)
    always = info.required or info.cell.form == "choice" or info.default in names
    listed = list(names) if always else ["", *names]
    index = listed.index(value) if value in listed else (0 if listed else None)
    st.selectbox(words, listed, index=index, key=key, format_func=lambda code: names.get(code, NONE))


def _draw_moment(words: str, key: str, value: Moment | None, setting: Setting) -> None:
    day, clock = moment_texts(value, setting.zone)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.date_input(
            words, value=day, min_value=FIRST_DAY, max_value=LAST_DAY, key=f"{key}.day", format="YYYY-MM-DD", width=185
        )
        st.text_input("Time (may be empty)", value=clock, key=f"{key}.time", width=145)


def _draw_measured(info: FieldInfo, key: str, value: Measured | None, setting: Setting, words: str) -> None:
    q = quantity(info.cell.quantity)
    units = [q.us, *(u for u in q.units if u != q.us)] if setting.system == "us" else list(q.units)
    shown = shown_unit(info.cell.quantity, setting.system).code
    unasked = value is not None and value.base == 0 and value == info.default  # what nobody typed has no unit yet
    first = shown if value is None or unasked else value.unit
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.text_input(words, value=value.typed if value is not None else "", key=f"{key}.typed", width=210)
        st.selectbox(
            label(f"Unit of {info.label.lower()}"),
            units,
            index=units.index(first),
            key=f"{key}.unit",
            format_func=lambda u: q.units[u].symbol,
            label_visibility="collapsed",
            width=110,
        )


def moment_texts(value: Moment | None, zone: ZoneInfo) -> tuple[date | None, str]:
    """Day and time of a moment as typed; the offset is told where the home's clock alone would not give it back."""
    if value is None:
        return None, ""
    text = str(value)
    day, clock = date.fromisoformat(text[:10]), text[11:]
    home = value.utc.astimezone(zone).utcoffset()
    usual = home is not None and int(home.total_seconds() // 60) == value.offset_minutes
    if clock and usual:
        try:
            if parse_moment(f"{day} {clock[:-6]}", zone) == value:
                return day, clock[:-6]
        except EntryError:
            return day, clock
    return day, clock


def typed(value: Any) -> str:
    """A plain value as text that reads back to it."""
    if value is None:
        return ""
    if isinstance(value, float):
        text = format(Decimal(repr(value)), "f")
        return text.rstrip("0").rstrip(".") if "." in text else text
    return format(value, "f") if isinstance(value, Decimal) else str(value)


def read(info: FieldInfo, key: str, start: Any, setting: Setting) -> Any:
    """The value typed, None where nothing was.

    Args:
        start: the value the widgets began with; handed back when nothing was changed.

    Raises:
        EntryError: what was typed cannot be read.
    """
    form = info.cell.form
    if form == "moment":
        return _read_moment(key, start, setting)
    if form == "measured":
        text, unit = _text(f"{key}.typed"), st.session_state.get(f"{key}.unit")
        return Measured.read(text, info.cell.quantity, str(unit)) if text else None
    if form in ("yesno", "day"):
        return st.session_state.get(key)
    text = _text(key)
    if form in ("whole", "number", "decimal") and text:
        return _number(text, form)
    if form == "notation" and text and info.cell.parse:
        info.cell.parse(text)  # refuses here, where the complaint stands beside the field
    return text or ("" if info.default == "" or (form == "text" and info.default is not None) else None)


def _text(key: str) -> str:
    raw = st.session_state.get(key)
    return str(raw if raw is not None else "").strip()


def _read_moment(key: str, start: Moment | None, setting: Setting) -> Moment | None:
    day, clock = st.session_state.get(f"{key}.day"), _text(f"{key}.time")
    if start is not None and (day, clock) == moment_texts(start, setting.zone):
        return start
    if day is None:
        if clock:
            raise EntryError("A time without its day.")
        return None
    return parse_moment(f"{day} {clock}".strip(), setting.zone)


def _number(text: str, form: str) -> int | float | Decimal:
    number = parse_number(text)
    if form == "whole":
        if number != int(number):
            raise EntryError(f"“{text}” is not a whole number.")
        return int(number)
    return number if form == "decimal" else float(number)
