"""This month: sentence, figures, what to do next, use by day, suspects, days, need, and what cannot be known."""

from __future__ import annotations

import streamlit as st

from core.book.store import Book
from core.figures import Figure
from core.review.against import SPRINKLERS, as_said, is_more
from core.review.decide import SETTLED
from core.review.month import USES_CARD, MonthReview, card_of
from core.review.odd_uses import apart
from core.review.spoken import counted
from core.review.zones import unwritten_words
from core.units import System
from dashboard.parts.deciding import SUSPECTS
from dashboard.parts.drawing import show_table
from dashboard.parts.figure import figure_tile, show_working
from dashboard.parts.go import card_link, card_place, garden_link, link
from dashboard.parts.odd_uses import show_uses
from dashboard.parts.page import month_page
from dashboard.parts.right import right_link
from dashboard.parts.say import sentence, show_told
from dashboard.parts.stay import show_stay
from dashboard.parts.suspect import show_suspect
from dashboard.parts.tables import COSTS, parts_table, zones_table
from dashboard.words import missed_words, month_words, plain, reach_words, saved_words, settled_words

MOST_STEPS, MOST_CARDS = 5, 3  # what a person can take in at once; the rest is a fold away


def main() -> None:
    page = month_page()
    book, review, system = page.book, page.review, page.system
    show_told()
    if review.empty or (not review.zones and review.intervals.empty):
        empty(page.month)
        return
    sentence(review.sentences[0] if review.sentences else month_words(page.month), "large")
    told = [words for words in review.sentences[1:] if not words.startswith(SPRINKLERS)]  # which a tile says
    st.markdown("  \n".join(map(plain, told)))
    tiles(review, system)
    next_steps(book, review)
    page.draw("use", note=reach_words(review))
    with st.expander("The month by part", key="parts"):
        show_table(parts_table(review, system))
        sentence(COSTS, "small")
        if words := unwritten_words(review.zones):
            sentence(words, "small")
    suspects(book, review, system)
    st.subheader("Did it run?")
    page.draw("days")
    st.subheader("Did they need it?")
    page.draw("need")
    zone_lines(review, system)
    care(review)
    unknown(review)


def empty(month: str) -> None:
    """What to write down first when nothing speaks of the month."""
    sentence(f"Nothing in the book speaks of {month_words(month)} yet.", "large")
    sentence("Here you will see the water used, where it went, what it cost and what your plants needed. Begin with:")
    link("write", "A meter reading, or the rain in your gauge")
    link("files", "A file of readings or weather from the utility or a station")
    link("steps", "The first steps, if the garden is not written down yet")


def tiles(review: MonthReview, system: System) -> None:
    """The six figures of the month."""
    figures: list[tuple[str, Figure, str]] = [
        ("Water used", review.used, ""),
        ("Cost", review.cost, ""),
        saved_words(review, system),
        (review.left_name, review.unexplained, settled_words(review, system)),
        ("Days missed", review.missed, missed_words(review)),
        ("Days plants were short", review.stress, ""),
    ]
    with st.container(horizontal=True, gap="small", key="tiles"):
        for label, figure, extra in figures:
            figure_tile(label, figure, system, review.currency, extra)


def next_steps(book: Book, review: MonthReview) -> None:
    """What to do next, most urgent first."""
    if not review.next_steps:
        return
    with st.container(border=True, key="next"):
        st.markdown("**What to do next**")
        for step in review.next_steps[:MOST_STEPS]:
            if step.reading is not None:
                right_link(book, step.words, step.reading)
            elif step.page == "month" and step.card:
                card_link(step.words, step.card)
            elif step.kind:
                garden_link(step.words, step.kind)
            else:
                link(step.page, step.words, **({"month": review.month} if step.page in ("meter", "plants") else {}))


def suspects(book: Book, review: MonthReview, system: System) -> None:
    """Findings that wait for a decision, ranked, then single uses in one question and who may have been there; those
    decided on stand in a fold.
    """
    waiting = [f for f in review.findings if f.decision not in SETTLED or f.contradicted]
    settled = [f for f in review.findings if f not in waiting]
    if not review.findings and not review.stays:
        show_told(SUSPECTS)  # a finding that was logged as use is gone; that it was stored is not
        return
    st.subheader("What it may have been")
    show_told(SUSPECTS)
    if not waiting and not review.stays:
        sentence("Everything found in this month is settled.")
    broken, uses = apart(waiting)
    for place, finding in enumerate(broken[:MOST_CARDS], 1):
        card_place(card_of(finding))
        show_suspect(book, review, finding, place, system)
    if rest := broken[MOST_CARDS:]:
        card_place(*map(card_of, rest))
        with st.expander(f"{counted(len(rest), 'more suspect')}, less sure", key="more-suspects"):
            for place, finding in enumerate(rest, MOST_CARDS + 1):
                show_suspect(book, review, finding, place, system)
    if uses:
        card_place(USES_CARD)
        show_uses(book, review, uses, system)
    for stay in review.stays:
        card_place(card_of(stay))
        show_stay(book, review, stay)
    if settled:
        cards = [card_of(f) for f in settled]
        card_place(*cards)
        asked = any(step.card in cards for step in review.next_steps)  # a step that leads into it finds it open
        with st.expander(f"Settled ({len(settled)})", expanded=asked, key="settled"):
            for finding in settled:
                show_suspect(book, review, finding, 0, system)


def zone_lines(review: MonthReview, system: System) -> None:
    """Each zone's month in a sentence, with its figures."""
    if not review.zones:
        return
    st.markdown("  \n".join(plain(zone.sentence) for zone in review.zones if zone.sentence))
    with st.expander("Zone by zone, with the working", key="zones"):
        show_table(zones_table(review, system), "month-zones")
        for zone in review.zones:
            against = "more than overhead sprinklers" if is_more(zone.saved) else "saved against overhead sprinklers"
            for label, figure in (("need", zone.need), ("given", zone.applied), (against, as_said(zone.saved))):
                if figure.working and not (zone.unwritten and label == "given"):
                    show_working(f"{zone.name}, {label}", figure, system, review.currency)


def care(review: MonthReview) -> None:
    """Care that is due and is not among what to do next, which leads to it with its caution."""
    told = {step.words for step in review.next_steps[:MOST_STEPS]}
    due = [item for item in review.care_due if item.sentence not in told]
    if not due:
        return
    st.subheader("Care due")
    for item in due:
        sentence(item.sentence)
        if item.caution:
            with st.expander(f"Before you begin: {plain(item.name)}", key=f"care-{item.task}"):
                sentence(item.caution)
    link("care", "Write care down as done")


def unknown(review: MonthReview) -> None:
    """What this book cannot know."""
    if not review.cannot_know:
        return
    with st.expander(f"What cannot be known ({len(review.cannot_know)})", key="unknown"):
        st.markdown("\n".join(f"- {plain(words)}" for words in review.cannot_know))


main()
