"""A finding as a card: what, where, since when, how much, the evidence, what to check first, and the decision."""

from __future__ import annotations

from datetime import date

import streamlit as st

from core.accounts.findings import Finding
from core.book.kinds import Measured, Zone
from core.book.store import Book
from core.errors import RillbookError
from core.review.decide import LOGGABLE, SETTLED, VERDICT_WORDS, Verdict, decide, log_as_use, verdict_on
from core.review.month import MonthReview
from core.review.odd_uses import is_use
from core.review.spoken import amount, first_up
from core.review.tell import beside, pace, rate_speaks
from core.units import System, from_base, parse_number, shown_unit
from dashboard import data
from dashboard.parts.fields import NONE
from dashboard.parts.figure import show_working
from dashboard.parts.go import link
from dashboard.parts.say import refuse, tell, turn
from dashboard.words import STRENGTHS, day_words, finding_words, likely, moment_words, plain

VERDICTS = {verdict: first_up(words) for verdict, words in VERDICT_WORDS.items()}
SUSPECTS = "suspects"  # where a decision is told of, with its Undo: beside the cards, not at the page's top
HUNTED = ("steady", "after_shutdown")  # kinds that run with everything off, so that a leak hunt finds them


def show_suspect(book: Book, review: MonthReview, finding: Finding, place: int, system: System) -> None:
    """One card; ``place`` is its rank, 0 for one that is settled."""
    key = finding.key.replace(".", "-") + f"-{finding.since:%d%H}"
    title = finding_words(finding, review.zone_names)
    with st.container(border=True, key=f"suspect-{key}"):
        rank = f"{place}. " if place else ""
        waits = finding.decision not in SETTLED or finding.contradicted
        first = 0 if finding.kind == "one_off" else 1  # said on the card itself
        told = [when(book, finding), how_much(finding, review, system), *finding.evidence[:first]]
        st.markdown(f"**{rank}{plain(title)}**, {STRENGTHS[finding.strength]}  \n" + "  \n".join(map(plain, told)))
        if finding.check_first and waits:
            st.markdown(f"**Check first:** {plain(finding.check_first)}")
        if finding.caution and waits:
            st.markdown(f"**Mind:** {plain(finding.caution)}")
        with st.expander("The evidence", key=f"evidence-{key}"):
            _evidence(finding, review, system, first)
        if finding.decision:
            _decided(book, finding, review)
        if finding.after:
            st.markdown(f"**{plain(finding.after)}**" if finding.contradicted else plain(finding.after))
        if finding.kind in HUNTED and waits:
            rate = {"seek": f"{finding.rate_lph:.2f}"} if finding.rate_lph else {}
            link("hunt", "Find it with the meter, one valve at a time", meter=finding.meter, **rate)
        _decide(book, finding, title, key, system)


def when(book: Book, finding: Finding) -> str:
    """From when to when, on the home's clock."""
    since = moment_words(finding.since, book.zone_info)
    if finding.until is None:
        return f"Since {since}, and it goes on."
    return f"From {since} to {moment_words(finding.until, book.zone_info)}."


def how_much(finding: Finding, review: MonthReview, system: System) -> str:
    """The amount with its range, money and rate, as a sentence."""
    if finding.volume.value is None:
        return "How much cannot be said."
    less = finding.volume.value < 0
    words = amount(abs(finding.volume.value), "volume", system)
    limits = likely(finding.volume, system) if not less else ""
    told = [f"About {words}{beside(finding) or ' more than expected'}"]
    if limits:
        told.append(limits)
    if finding.cost is not None and finding.cost.value is not None:
        told.append(amount(finding.cost.value, "money", system, review.currency))
    if rate_speaks(finding) and not is_use(finding):
        told.append(pace(finding, system))
    return ", ".join(told) + "."


def _decided(book: Book, finding: Finding, review: MonthReview) -> None:
    """What a person said of it, with the day of a repair and their own words."""
    verdict = verdict_on(book, finding, review.as_of)
    day = f" on {day_words(verdict.repaired_on)}" if verdict and verdict.repaired_on else ""
    own = f" Your note: {plain(verdict.note)}" if verdict and verdict.note else ""
    st.markdown(f"You decided: **{plain(VERDICT_WORDS.get(finding.decision, finding.decision))}**{plain(day)}.{own}")


def _evidence(finding: Finding, review: MonthReview, system: System, first: int) -> None:
    for line in finding.evidence[first:]:
        st.markdown(f"- {plain(line)}")
    if not any("standard deviation" in line for line in finding.evidence):
        st.caption(plain(f"{abs(finding.score):.1f} standard deviations from nothing being wrong."))
    if finding.rivals:
        st.markdown("It could also be:")
        for rival in finding.rivals:
            st.markdown(f"- {plain(rival.sentence)}")
    if finding.volume.working:
        show_working("How much", finding.volume, system, review.currency)


def _decide(book: Book, finding: Finding, title: str, key: str, system: System) -> None:
    with st.container(horizontal=True, gap="small", key=f"decide-{key}"):
        if finding.kind in LOGGABLE and finding.decision not in SETTLED:
            with st.popover("Log it as other use", type="primary" if finding.kind == "one_off" else "secondary"):
                _log_form(book, finding, key, system)
        with st.popover(VERDICTS["explained"]), st.form(turn(f"cause-{key}"), border=False):
            cause = st.text_input("What was it? (optional)", key=f"cause-{key}")
            if st.form_submit_button("Write down the cause", type="primary"):
                _store(book, finding, "explained", title, note=cause)
        if st.button(VERDICTS["harmless"], key=f"harmless-{key}"):
            _store(book, finding, "harmless", title)
        with st.popover("Repaired on"), st.form(turn(f"repair-{key}"), border=False):
            today = data.today(book)
            begun, ended = (
                t.astimezone(book.zone_info).date() for t in (finding.since, finding.until or data.present())
            )
            # beside the day, since its calendar opens over whatever is below
            with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
                day = st.date_input(
                    "Day of the repair",
                    value=min(ended, today),
                    min_value=min(begun, today),
                    max_value=today,
                    format="YYYY-MM-DD",
                    width=130,
                )
                sent = st.form_submit_button("Write it down", type="primary")
            if sent:
                _store(book, finding, "repaired", title, day)
        if finding.decision in SETTLED and st.button(VERDICTS["ask_again"], key=f"ask-{key}"):
            _store(book, finding, "ask_again", title)


def _store(
    book: Book, finding: Finding, verdict: Verdict, title: str, repaired_on: date | None = None, note: str = ""
) -> None:
    try:
        number = decide(book, finding, verdict, data.present_moment(book), repaired_on, note)
    except RillbookError as error:
        refuse(str(error))
        return
    day = f", repaired on {day_words(repaired_on)}" if repaired_on else ""
    tell(f"{VERDICTS[verdict]}: {title}{day}.", number, SUSPECTS)
    st.rerun()


def _log_form(book: Book, finding: Finding, key: str, system: System) -> None:
    unit = shown_unit("volume", system)
    guess = from_base(finding.volume.value or 0.0, unit.code, "volume")
    with st.form(turn(f"log-{key}"), border=False):
        what = st.text_input("What was it for?", key=f"log-what-{key}")
        text = st.text_input(f"How much, {unit.symbol}", value=f"{guess:.0f}", key=f"log-much-{key}")
        zones = data.names(book, Zone)
        zone = st.selectbox(
            "Which zone it watered, if any",
            ["", *zones],
            format_func=lambda code: zones.get(code, NONE),
            key=f"log-zone-{key}",
        )
        if not st.form_submit_button("Store as other use", type="primary"):
            return
    try:
        volume = Measured(format(parse_number(text), "f"), unit.code, "volume")
        number = log_as_use(book, finding, what, volume, data.present_moment(book), zone=zone or None)
    except RillbookError as error:
        refuse(str(error))
        return
    tell(f"Stored: {what.strip()}, {volume}, as other use.", number, SUSPECTS)
    st.rerun()
