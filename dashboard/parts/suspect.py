"""A finding as a card: what, where, since when, how much, the evidence, what to check first, and the decision."""

from __future__ import annotations

from datetime import date, timedelta

import streamlit as st

from core.accounts.findings import Finding
from core.book.kinds import Decision, Measured, OtherUse
from core.book.store import Book
from core.days import Moment
from core.errors import EntryError
from core.review.month import MonthReview
from core.units import System, from_base, parse_number, shown_unit
from dashboard import data
from dashboard.parts.fields import FIRST_DAY
from dashboard.parts.figure import show_working
from dashboard.parts.say import next_turn, refuse, tell, turn
from dashboard.words import STRENGTHS, VERDICTS, amount, day_words, finding_words, moment_words, plain, span


def show_suspect(book: Book, review: MonthReview, finding: Finding, place: int, system: System) -> None:
    """One card; ``place`` is its rank, 0 for one that is settled."""
    zones = {z.zone: z.name for z in review.zones}
    key = finding.key.replace(".", "-") + f"-{finding.since:%d%H}"
    title = finding_words(finding, zones)
    with st.container(border=True, key=f"suspect-{key}"):
        rank = f"{place}. " if place else ""
        told = [_when(book, finding), _how_much(finding, review, system)]
        told += [] if finding.kind == "one_off" else finding.evidence[:1]
        st.markdown(f"**{rank}{plain(title)}**, {STRENGTHS[finding.strength]}  \n" + "  \n".join(map(plain, told)))
        if finding.check_first:
            st.markdown(f"**Check first:** {plain(finding.check_first)}")
        if finding.caution:
            st.markdown(f"**Mind:** {plain(finding.caution)}")
        with st.expander("The evidence", key=f"evidence-{key}"):
            _evidence(finding, review, system)
        if finding.decision:
            st.markdown(f"You decided: **{plain(VERDICTS.get(finding.decision, finding.decision).lower())}**.")
        if finding.after:
            st.markdown(plain(finding.after))
        _decide(book, finding, title, key, system)


def _when(book: Book, finding: Finding) -> str:
    since = moment_words(finding.since, book.zone_info)
    if finding.until is None:
        return f"Since {since}, and it goes on."
    return f"From {since} to {moment_words(finding.until, book.zone_info)}."


def _how_much(finding: Finding, review: MonthReview, system: System) -> str:
    if finding.volume.value is None:
        return "How much cannot be said."
    less = finding.volume.value < 0
    words = amount(abs(finding.volume.value), "volume", system)
    limits = span(finding.volume, system) if not less else ""
    told = [f"About {words} {'less than expected' if less else 'more than expected'}"]
    if limits:
        told.append(limits)
    if finding.cost is not None and finding.cost.value is not None:
        told.append(amount(finding.cost.value, "money", system, review.currency))
    if finding.rate_lph is not None:
        told.append(f"{amount(abs(finding.rate_lph), 'flow', system)} while it lasts")
    return ", ".join(told) + "."


def _evidence(finding: Finding, review: MonthReview, system: System) -> None:
    for line in finding.evidence:
        st.markdown(f"- {plain(line)}")
    st.caption(plain(f"{abs(finding.score):.1f} standard deviations from nothing being wrong."))
    if finding.rivals:
        st.markdown("It could also be:")
        for rival in finding.rivals:
            st.markdown(f"- {plain(rival.sentence)}")
    if finding.volume.working:
        show_working("How much", finding.volume, system, review.currency)


def _decide(book: Book, finding: Finding, title: str, key: str, system: System) -> None:
    with st.container(horizontal=True, gap="small", key=f"decide-{key}"):
        if finding.kind == "one_off" and not finding.decision:
            with st.popover("Log it as other use", type="primary"):
                _log_form(book, finding, key, system)
        for verdict in ("explained", "harmless"):
            if st.button(VERDICTS[verdict], key=f"{verdict}-{key}"):
                _store(book, finding, verdict, title)
        with st.popover("Repaired on"), st.form(turn(f"repair-{key}"), border=False):
            today = data.today(book)
            day = st.date_input(
                "Day of the repair", value=today, min_value=FIRST_DAY, max_value=today, format="YYYY-MM-DD"
            )
            if st.form_submit_button("Write down the repair", type="primary"):
                _store(book, finding, "repaired", title, day)
        if finding.decision and st.button(VERDICTS["ask_again"], key=f"ask-{key}"):
            _store(book, finding, "ask_again", title)


def decision_of(book: Book, finding: Finding, verdict: str, repaired_on: date | None = None) -> Decision:
    """The record of a verdict on a finding; it holds for the finding's days."""
    zone = book.zone_info
    until = finding.until.astimezone(zone).date() + timedelta(days=1) if finding.until else None
    return Decision.model_validate(
        {
            "finding": finding.kind,
            "meter": finding.meter,
            "zone": finding.zone,
            "since": finding.since.astimezone(zone).date(),
            "until": until,
            "verdict": verdict,
            "repaired_on": repaired_on,
            "decided_at": data.present_moment(book),
        }
    )


def _store(book: Book, finding: Finding, verdict: str, title: str, repaired_on: date | None = None) -> None:
    words = f"{VERDICTS[verdict]}: {title}" + (f", repaired on {day_words(repaired_on)}" if repaired_on else "")
    with book.change(f"decided: {words}") as change:
        change.add(decision_of(book, finding, verdict, repaired_on))
    tell(words + ".", change.number)
    next_turn(f"repair-{finding.key}")
    st.rerun()


def _log_form(book: Book, finding: Finding, key: str, system: System) -> None:
    unit = shown_unit("volume", system)
    guess = from_base(finding.volume.value or 0.0, unit.code, "volume")
    with st.form(turn(f"log-{key}"), border=False):
        what = st.text_input("What was it for?", key=f"log-what-{key}")
        text = st.text_input(f"How much, {plain(unit.symbol)}", value=f"{guess:.0f}", key=f"log-much-{key}")
        if not st.form_submit_button("Store as other use", type="primary"):
            return
    if not what.strip():
        refuse("Enter what it was for, such as filling the pool.")
        return
    try:
        volume = Measured(format(parse_number(text), "f"), unit.code, "volume")
    except EntryError as error:
        refuse(str(error))
        return
    use = OtherUse(
        start=_moment(book, finding, start=True),
        end=_moment(book, finding, start=False),
        what=what,
        volume=volume,
        meter=finding.meter,
        zone=finding.zone,
    )
    with book.change(f"logged other use: {what.strip()}, {volume}") as change:
        change.add(use)
        change.add(decision_of(book, finding, "explained"))
    tell(f"Stored: {what.strip()}, {volume}, as other use.", change.number)
    st.rerun()


def _moment(book: Book, finding: Finding, start: bool) -> Moment:
    instant = finding.since if start else (finding.until or data.present())
    offset = instant.astimezone(book.zone_info).utcoffset() or timedelta()
    return Moment(instant, int(offset.total_seconds() // 60))
