"""The two entries made most often, written by hand for two taps and one number: a meter reading, and rain."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from decimal import Decimal

import pandas as pd
import streamlit as st

from core.book.kinds import Measured, Meter, MeterReading, Rain
from core.book.store import Book
from core.days import Moment, parse_moment
from core.errors import EntryError
from core.units import QUANTITIES, parse_number, register_text, show, volume_symbol
from dashboard import data
from dashboard.parts.describe import Names, when
from dashboard.parts.fields import FIRST_DAY, Setting, moment_texts
from dashboard.parts.go import garden_link
from dashboard.parts.say import refuse, sentence, turn
from dashboard.parts.store import offer, pending
from dashboard.words import choice, label, moment_words

_HOW = ("eye", "bill", "file", "estimated")
_GROUPED, THOUSANDS = re.compile(r"\d{1,3}(,\d{3})+"), 1000


def reading_form(book: Book, setting: Setting, names: Names) -> None:
    """A register as read, now or at a time; what looks wrong is asked about before it is stored."""
    meters = {s.record.code: s.record for s in book.records(Meter)}
    if not meters:
        sentence("A reading needs a meter. Write the meter down first.")
        garden_link("To the meters of the garden", "meter")
        return
    code = next(iter(meters))
    if len(meters) > 1:
        code = st.selectbox("Which meter", list(meters), format_func=lambda c: meters[c].name, key="reading-meter")
    meter = meters[code]
    last = last_reading(book, meter)
    sentence(last or f"No reading of {meter.name} is in the book yet: this will be the first.", "small")
    form = turn(f"reading-{code}")
    with st.form(form, border=False):
        text = st.text_input(
            label(f"{meter.name} shows, in {choice(meter.unit)} (every digit, painted zeros included)"),
            key=f"{form}.register",
            width=480,
        )
        moment = _moment_fields("Read on", form, setting)
        with st.expander("More about this reading"):
            how = st.selectbox("How it was read", _HOW, format_func=choice, key=f"{form}.how")
            step = st.text_input("Smallest step of this reading, where it differs from the meter's", key=f"{form}.step")
            first = st.checkbox("First reading after the register was changed", key=f"{form}.first")
            final = st.text_input("Last number of the old register, where you know it", key=f"{form}.final")
            note = st.text_input("Note", key=f"{form}.note")
        sent = st.form_submit_button("Store the reading", type="primary")
    if sent:
        try:
            record = MeterReading.model_validate(
                {
                    "meter": code,
                    "at": moment(),
                    "register_value": _needed(_register(text, book, meter), "what the register shows"),
                    "resolution": parse_number(step) if step.strip() else None,
                    "how": how,
                    "first_after_change": first,
                    "old_final": parse_number(final) if final.strip() else None,
                    "note": note,
                }
            )
        except EntryError as error:
            refuse(f"{error} Nothing was stored.")
            return
        except ValueError:
            refuse("A register never shows less than 0, and its step is more than 0. Nothing was stored.")
            return
        offer(book, record, names, f"reading-{code}", _since_last(book, record))
    pending(book, names, f"reading-{code}")


def _register(text: str, book: Book, meter: Meter) -> str:
    """What was typed, without a thousands comma such as this page shows itself: a register that counts whole units and
    stands in the thousands has no other comma. The question about odd readings still guards it.
    """
    own = _readings(book, meter.code)
    whole = meter.resolution >= 1 and len(own) > 0 and float(own["register_value"].iloc[-1]) >= THOUSANDS
    return text.replace(",", "") if whole and _GROUPED.fullmatch(text.strip()) else text


def _since_last(book: Book, record: MeterReading) -> str:
    earlier = _readings(book, record.meter)
    earlier = earlier[earlier["at"] < record.at.utc]
    if earlier.empty or record.first_after_change:
        return ""
    before = earlier.iloc[-1]
    meter = book.find(Meter, record.meter)
    used = float(record.register_value) - float(before["register_value"])
    if meter is None or used < 0:
        return ""
    litres = used * float(QUANTITIES["volume"].units[meter.record.unit].factor)
    days = (record.at.utc - before["at"]).total_seconds() / 86400
    system = data.system(book.home())
    return (
        f"That is {show(litres, 'volume', system)} since {moment_words(before['at'], book.zone_info)}, "
        f"{show(litres / days, 'volume', system)} a day."
        if days > 0
        else ""
    )


def _readings(book: Book, meter: str) -> pd.DataFrame:
    frame = data.frame(book, MeterReading)
    return frame[frame["meter"] == meter].sort_values("at")


def last_reading(book: Book, meter: Meter) -> str:
    """The latest reading of a meter in words, or ""."""
    own = _readings(book, meter.code)
    if own.empty:
        return ""
    latest = own.iloc[-1]
    value = f"{register_text(float(latest['register_value']), meter.resolution)} {volume_symbol(meter.unit)}"
    return f"Last: {value} on {moment_words(latest['at'], book.zone_info, latest['at_exact'])}."


def rain_form(book: Book, setting: Setting, names: Names) -> None:
    """Rain in the gauge since it was last emptied."""
    frame = data.frame(book, Rain).sort_values("end")
    gauges = list(dict.fromkeys(frame["gauge"])) or ["yard"]
    gauge = gauges[-1]
    if len(gauges) > 1:
        gauge = st.selectbox("Which gauge", gauges, index=len(gauges) - 1, key="rain-gauge")
    own = frame[frame["gauge"] == gauge]
    begin, words = _gauge_begin(own, setting)
    sentence(words, "small")
    form = turn(f"rain-{gauge}")
    q = QUANTITIES["depth"]
    units = [q.us, "mm", "cm"] if setting.system == "us" else ["mm", "cm", q.us]
    with st.form(form, border=False):
        with st.container(horizontal=True, vertical_alignment="bottom"):
            text = st.text_input("Rain in the gauge (0 when it is dry)", key=f"{form}.rain", width=210)
            unit = st.selectbox(
                "Unit of the rain",
                units,
                format_func=lambda u: q.units[u].symbol,
                key=f"{form}.unit",
                label_visibility="collapsed",
                width=110,
            )
        trace = st.checkbox("Only a trace", key=f"{form}.trace")
        end = _moment_fields("Read on", form, setting)
        with st.expander("Since when it gathered", expanded=own.empty):
            start = _moment_fields("Emptied on", f"{form}.start", setting, begin)
        sent = st.form_submit_button("Store the rain", type="primary")
    if not sent:
        pending(book, names, f"rain-{gauge}")
        return
    try:
        if not text.strip() and not trace:
            raise EntryError("Enter the rain in the gauge.")
        measured = Measured.read(text.strip() or "0", "depth", unit)
        record = Rain(gauge=gauge, start=start(), end=end(), rain=measured, trace=trace)
    except EntryError as error:
        refuse(f"{error} Nothing was stored.")
    except ValueError:
        refuse("Rain is 0 or more, and it is read after the gauge was emptied. Nothing was stored.")
    else:
        offer(book, record, names, f"rain-{gauge}")
        pending(book, names, f"rain-{gauge}")


def _gauge_begin(own: pd.DataFrame, setting: Setting) -> tuple[Moment, str]:
    """When the gauge was last emptied: at its last reading when that is not long ago, else yesterday at this hour."""
    if len(own):
        latest = own.iloc[-1]
        ended = latest["end"].to_pydatetime()
        if timedelta(0) < setting.now - ended <= timedelta(days=14):
            moment = Moment(ended, int(latest["end_offset_min"]), latest["end_exact"])
            return moment, f"The gauge was last read on {when(moment)}; the rain since then goes with that."
    local = datetime.combine(setting.now.date() - timedelta(days=1), time(7))
    return parse_moment(f"{local:%Y-%m-%d %H:%M}", setting.zone), "From the last emptying to the reading."


class _moment_fields:  # noqa: N801 - it is used as a function whose answer is read later
    """Day and time widgets; calling it gives the moment typed."""

    def __init__(self, words: str, key: str, setting: Setting, value: Moment | None = None) -> None:
        self.setting = setting
        self.start = value
        day, clock = moment_texts(value, setting.zone) if value else (setting.now.date(), f"{setting.now:%H:%M}")
        with st.container(horizontal=True, vertical_alignment="bottom"):
            self.day = st.date_input(
                words,
                value=day,
                min_value=FIRST_DAY,
                max_value=setting.now.date() + timedelta(days=1),
                key=f"{key}.day",
                format="YYYY-MM-DD",
                width=185,
            )
            self.clock = st.text_input("Time (may be empty)", value=clock, key=f"{key}.time", width=145)

    def __call__(self) -> Moment:
        if not isinstance(self.day, date):
            raise EntryError("Enter the day.")
        if self.start is not None and (self.day, self.clock.strip()) == moment_texts(self.start, self.setting.zone):
            return self.start
        return parse_moment(f"{self.day} {self.clock.strip()}".strip(), self.setting.zone)


def _needed(text: str, what: str) -> Decimal:
    if not text.strip():
        raise EntryError(f"Enter {what}.")
    return parse_number(text)
