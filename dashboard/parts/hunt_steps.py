"""The steps of a leak hunt: each with its words, its two readings and what it showed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

import streamlit as st

from core.book.kinds import Meter, MeterReading
from core.book.store import Book
from core.care.leak_hunt import STEPS, Code
from core.days import Moment, parse_moment
from core.errors import EntryError, RillbookError
from core.review.decide import moment_at
from core.review.entry import questions_about
from core.review.hunt import Hunt, Setting, Trial
from core.review.hunt_step import leak_test, starts_within, store_test
from core.review.hunt_words import hours_words, result, title, wait_words
from core.review.spoken import listed
from core.units import System, parse_number
from dashboard import data
from dashboard.parts.fields import FIRST_DAY
from dashboard.parts.hunt_wait import Waiting, give_up, wait_for, waiting
from dashboard.parts.say import next_turn, refuse, sentence, tell, turn
from dashboard.words import choice, day_words, label, moment_words, plain

SIGNS = {"open": "○", "done": "✓", "again": "↻"}


@dataclass(frozen=True)
class Ground:
    """What all steps share."""

    book: Book
    meter: Meter
    setting: Setting
    hunt: Hunt
    system: System
    first_wait_h: float


def walk(ground: Ground) -> None:
    """All steps in their order; the next one is open. Zones stand in folds of their own until they are due."""
    hunt, setting = ground.hunt, ground.setting
    main: list[Code] = ["off", "house", *(["manifold"] if setting.valves else [])]  # type: ignore[list-item]
    for place, code in enumerate(main, 1):
        _step(ground, code, None, f"{place}. ")
    if not setting.valves:
        return
    _fold(ground, "zone", "Zone by zone, when the drip line's shut-off stops it", hunt.place in ("garden", "zone"))
    _fold(ground, "run", "Zone by zone while it runs, for a break behind a valve", hunt.place in ("nothing", "line"))


def _fold(ground: Ground, code: Code, words: str, due: bool) -> None:
    running = waiting(ground.book, ground.meter.code)
    asked = running is not None and running.code == code
    begun = any(t.code == code for t in ground.hunt.tests)
    if not st.toggle(plain(words), value=due or begun or asked, key=f"show-{code}-{due or begun or asked}"):
        return
    for zone, _ in ground.setting.valves:
        _step(ground, code, zone, "")


def _step(ground: Ground, code: Code, zone: str | None, number: str) -> None:
    step, hunt = STEPS[code], ground.hunt
    done, following = hunt.latest(code, zone), hunt.next
    due = following is not None and (following.code, following.zone) == (code, zone)
    running = waiting(ground.book, ground.meter.code)
    here = running if running is not None and (running.code, running.zone) == (code, zone) else None
    sign = SIGNS["open" if done is None else "again" if due or done.verdict in ("unsure", "void", "more") else "done"]
    title_line = f"{sign}  {number}{plain(title(code, zone, ground.setting.names))}"
    if done:
        title_line += f" :gray[({plain(_short(done))})]"
    open_now = here is not None if running is not None else due
    # a fold remembers what the reader did with it; one that becomes due, or is done, is a new one
    with st.expander(title_line, expanded=open_now, key=f"step-{code}-{zone or ''}-{'due' if open_now else 'rest'}"):
        if done:
            when = moment_words(done.at, ground.book.zone_info)
            st.markdown(plain(f"{when}, {result(done, ground.system)}"))
        sentence(step.words)
        st.markdown(f"**Mind:** {plain(data.mind(ground.book, step.caution))}")
        if here is not None:
            _second(ground, here)
        else:
            _first(ground, code, zone, due)
        st.caption(plain(f"{step.means} (Source: {step.source})"))


def _short(test: Trial) -> str:
    if test.code != "off":
        return {
            "stopped": "it stopped",
            "less": "it became less",
            "same": "as the book says" if test.code == "run" else "it went on",
            "more": "more than the book says" if test.code == "run" else "to be made again",
            "": "done",
        }.get(test.verdict, "to be made again")
    return "to be made again" if test.void else "it moved" if test.volume_l else "it stood still"


def _first(ground: Ground, code: Code, zone: str | None, due: bool) -> None:
    key = f"first-{code}-{zone or ''}"
    wait = ground.hunt.next.hours if due and ground.hunt.next else None
    if code == "off" and ground.hunt.base is None:
        wait = ground.first_wait_h
    if code == "off" and ground.hunt.base is not None and not due:
        sentence("To hunt anew, test with everything off again; what was found stays under earlier hunts.")
    if wait is not None:
        sentence(f"Wait {hours_words(wait)} for this step. {wait_words(ground.setting, wait, ground.system)}")
    form = turn(key)
    with st.form(form, border=False):
        number, moment = _reading_fields(ground, form)
        sent = st.form_submit_button("Begin the wait", type="primary" if due else "secondary")
    if not sent:
        return
    try:
        before, since = parse_number(number()), moment()
        if before < 0 or before >= Decimal(10) ** ground.meter.digits:
            raise EntryError(f"{before:,} does not fit the {ground.meter.digits} digits of the register.")
    except RillbookError as error:
        refuse(str(error))
        return
    wait_for(ground.book, ground.meter.code, Waiting(code, zone, before, since))
    next_turn(key)
    st.rerun()


def _second(ground: Ground, one: Waiting) -> None:
    zone = ground.book.zone_info
    wait = _wait_hours(ground, one.code, one.zone)
    until = one.since.utc + timedelta(hours=wait)
    sentence(f"First reading: {one.before:,} on {moment_words(one.since.utc, zone)}.")
    for question in _odd(ground, one):
        st.warning(plain(question))
    left = (until - data.present()).total_seconds() / 3600
    rest = f"{hours_words(left)} to go" if left > 0 else "that time is over"
    st.markdown(
        f"**Wait {plain(hours_words(wait))}, until {plain(_clock(until, ground))}** ({plain(rest)}). "
        + plain(wait_words(ground.setting, wait, ground.system))
    )
    _starts(ground, one, until)
    form = turn(f"second-{one.code}-{one.zone or ''}")
    with st.form(form, border=False):
        number, moment = _reading_fields(ground, form)
        with st.container(horizontal=True):
            stored = st.form_submit_button("Store this test", type="primary")
            again = st.form_submit_button("Begin this step again")
    if again:
        give_up(ground.book, ground.meter.code)
        st.rerun()
    if stored:
        _store(ground, one, number, moment, form)


def _store(ground: Ground, one: Waiting, number: Callable[[], str], moment: Callable[[], Moment], form: str) -> None:
    try:
        record = leak_test(ground.meter, one.code, one.zone, one.since, moment(), one.before, parse_number(number()))
        words = title(one.code, one.zone, ground.setting.names)
        number_stored = store_test(ground.book, record, words)
    except RillbookError as error:
        refuse(str(error))
        return
    give_up(ground.book, ground.meter.code)
    next_turn(form.rpartition(".")[0])
    tell(f"Stored: {words}, {record.before:,} to {record.after:,}.", number_stored)
    st.rerun()


def _reading_fields(ground: Ground, form: str) -> tuple[Callable[[], str], Callable[[], Moment]]:
    """A register and when it was read, now unless changed."""
    now = data.present().astimezone(ground.book.zone_info)
    text = st.text_input(
        label(f"The register now, in {choice(ground.meter.unit)} (every digit, painted zeros included)"),
        key=f"{form}.register",
        width=480,
    )
    with st.container(horizontal=True, vertical_alignment="bottom"):
        day = st.date_input(
            "Read on",
            value=now.date(),
            min_value=FIRST_DAY,
            max_value=now.date(),
            key=f"{form}.day",
            format="YYYY-MM-DD",
            width=185,
        )
        clock = st.text_input("Time (empty: now)", placeholder="now", key=f"{form}.time", width=145)

    def moment() -> Moment:
        if day == now.date() and not clock.strip():
            return moment_at(data.present(), ground.book.zone_info)
        if not isinstance(day, date) or not clock.strip():
            raise EntryError("Enter the day and the time of the reading.")
        return parse_moment(f"{day} {clock.strip()}", ground.book.zone_info)

    def number() -> str:
        if not text.strip():
            raise EntryError("Enter what the register shows.")
        return text

    return number, moment


def _wait_hours(ground: Ground, code: Code, zone: str | None) -> float:
    following = ground.hunt.next
    if code == "off" and ground.hunt.base is None:
        return ground.first_wait_h
    return following.hours if following and (following.code, following.zone) == (code, zone) else ground.first_wait_h


def _odd(ground: Ground, one: Waiting) -> list[str]:
    reading = MeterReading(meter=ground.meter.code, at=one.since, register_value=one.before)
    return questions_about(ground.book, reading, data.present())


def _starts(ground: Ground, one: Waiting, until: datetime) -> None:
    if one.code == "run":
        return
    frames = ground.book.frames()
    hits = starts_within(frames, ground.setting, ground.book.zone_info, one.since.utc, until)
    if hits:
        named = listed(dict.fromkeys(f"{name} at {_clock(at, ground)}" for name, at in hits[:4]))
        st.warning(plain(f"By the program these run within the wait: {named}. Set the controller to off first."))


def _clock(at: datetime, ground: Ground) -> str:
    local = at.astimezone(ground.book.zone_info)
    today = data.today(ground.book)
    return f"{local:%H:%M}" if local.date() == today else f"{local:%H:%M} on {day_words(local, False)}"
