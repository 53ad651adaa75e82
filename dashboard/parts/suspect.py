"""A finding as a card: what, where, since when, how much, the evidence, what to check first, and the decision."""

from __future__ import annotations

import streamlit as st

from core.accounts.findings import Finding
from core.book.store import Book
from core.review.causes import decided_words
from core.review.decide import SETTLED
from core.review.ends import end_words
from core.review.month import MonthReview, card_of
from core.review.odd_uses import is_use
from core.review.spoken import amount
from core.review.tell import beside, pace, rate_speaks
from core.review.wrong_readings import may_be_wrong, only_a_number
from core.units import System
from dashboard.parts.deciding import decide_form
from dashboard.parts.figure import show_working
from dashboard.parts.go import link
from dashboard.parts.right import right_links
from dashboard.words import STRENGTHS, finding_words, likely, moment_words, plain

HUNTED = ("steady", "after_shutdown")  # kinds that run with everything off, so that a leak hunt finds them


def show_suspect(book: Book, review: MonthReview, finding: Finding, place: int, system: System) -> None:
    """One card; ``place`` is its rank, 0 for one that is settled."""
    card = card_of(finding)
    key = card.removeprefix("suspect-")
    title = finding_words(finding, review.zone_names)
    with st.container(border=True, key=card, gap="xsmall"):
        rank = f"{place}. " if place else ""
        waits = finding.decision not in SETTLED or finding.contradicted
        # a wrong number is no water: how far it is off is its evidence
        told = (
            finding.evidence[:1] if only_a_number(finding) else (when(book, finding), how_much(finding, review, system))
        )
        st.markdown(f"**{rank}{plain(title)}**, {STRENGTHS[finding.strength]}  \n" + "  \n".join(map(plain, told)))
        if words := end_words(finding):
            st.markdown(f"**{plain(words)}**")
        if finding.hunt:
            st.markdown(plain(finding.hunt))
        if waits:
            _rivals(finding)
        if finding.check_first and waits:
            st.markdown(f"**Check first:** {plain(finding.check_first)}")
        if finding.caution and waits:  # what can hurt stands beside what to check, in no fold
            st.markdown(f"**Mind:** {plain(finding.caution)}")
        with st.expander("The evidence", key=f"evidence-{key}"):
            _evidence(finding, review, system)
        if decided := decided_words(finding, review.zone_names):
            lead, _, said = decided.partition(": ")
            st.markdown(f"**{plain(lead)}:** {plain(said)}")
        if finding.after:
            st.markdown(f"**{plain(finding.after)}**" if finding.contradicted else plain(finding.after))
        if finding.kind in HUNTED and waits:
            rate = {"seek": f"{finding.rate_lph:.2f}"} if finding.rate_lph else {}
            way = "Find it with the meter, one valve at a time" if not finding.hunt else "To the leak hunt"
            link("hunt", way, meter=finding.meter, month=review.month, **rate)
        if may_be_wrong(finding) and waits:
            right_links(book, finding)
        decide_form(book, finding, title, key, system, review.zone_names)


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


def _rivals(finding: Finding) -> None:
    """What else it could be, in a line; what a hunt excludes is struck and said."""
    for words, rivals in (
        ("It could also be", [f"{plain(r.words)}" for r in finding.rivals if not r.excluded]),
        ("The hunt excludes", [f"~~{plain(r.words)}~~" for r in finding.rivals if r.excluded]),
    ):
        if rivals:
            st.markdown(f"**{words}:** {'; '.join(rivals)}.")


def _evidence(finding: Finding, review: MonthReview, system: System) -> None:
    for line in finding.evidence:
        st.markdown(f"- {plain(line)}")
    if not any("standard deviation" in line for line in finding.evidence):
        st.caption(plain(f"{abs(finding.score):.1f} standard deviations from nothing being wrong."))
    if finding.volume.working:
        show_working("How much", finding.volume, system, review.currency)
