"""Runs that did not come, on the card of a finding that says so: from when to when, of which zones, in one step."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import streamlit as st

from core.accounts.findings import Finding
from core.book.kinds import Zone
from core.book.store import Book
from core.errors import RillbookError
from core.review.not_come import from_to, planned_not_come, said, write_not_come, zones_of
from core.review.stopping import programmed
from dashboard import data
from dashboard.parts.say import refuse, sentence, tell
from dashboard.words import plain


def not_come_form(book: Book, finding: Finding, key: str, place: str) -> None:
    """Choose, see what would be written, write it. ``place``: where it is told of, with its Undo."""
    tz = book.zone_info
    begun, ended = finding.since.astimezone(tz), (finding.until or data.present()).astimezone(tz)
    since, until = _edge("From", "from", begun, begun, key), _edge("To", "to", ended, begun, key)
    sentence("As far as the meter can tell; put right what you know better.", "small")
    names, meant = data.names(book, Zone), zones_of(finding)
    # those with a program, since any may have stood still with the rest
    offered = list(dict.fromkeys([*meant, *programmed(book, begun.date()), *programmed(book, ended.date())]))
    picked = st.pills(
        "Zones",
        offered,
        selection_mode="multi",
        default=list(meant),
        format_func=lambda z: names.get(z, z),
        key=f"gone-zones-{key}",
    )
    why = st.text_input("Why, in your own words (optional)", value=finding.note, key=f"gone-why-{key}")
    zones = {zone: names.get(zone, zone) for zone in picked}
    try:
        span = from_to(since, until, book)
        planned = planned_not_come(book, zones, *span, data.present(), why)
    except RillbookError as error:
        st.warning(plain(str(error)))
        return
    with st.container(border=True, key=f"gone-preview-{key}", gap="small"):
        st.markdown("**This will be written as runs that did not come**")
        st.markdown("\n".join(f"- {plain(each.words)}" for each in planned))
    count = sum(each.runs for each in planned)
    words = "Write it down: 1 run did not come" if count == 1 else f"Write it down: {count} runs did not come"
    shown, now = f"gone-shown-{key}", tuple(each.words for each in planned)
    seen, st.session_state[shown] = st.session_state.get(shown), now
    if not st.button(words, type="primary", key=f"gone-it-{key}"):
        return
    if seen != now:  # a day that was typed last is sent by the tap itself, and the book may have changed
        refuse("This has changed since it was shown. Look at it again. Nothing was stored.")
        return
    try:
        number, written = write_not_come(book, finding, zones, *span, data.present_moment(book), why)
    except RillbookError as error:
        refuse(str(error))
        return
    tell(f"Stored: {said(written)} did not come.", number, place)
    st.rerun()


def _edge(words: str, name: str, found: datetime, begun: datetime, key: str) -> str:
    """A day and a time as text, as found unless changed."""
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        day: date | None = st.date_input(
            words,
            value=found.date(),
            min_value=begun.date() - timedelta(days=60),
            max_value=max(data.present().astimezone(found.tzinfo).date(), found.date()),
            format="YYYY-MM-DD",
            key=f"gone-{name}-{key}",
            width=150,
        )
        clock = st.text_input("Time (may be empty)", value=f"{found:%H:%M}", key=f"gone-{name}-time-{key}", width=145)
    return f"{day} {clock.strip()}".strip()
