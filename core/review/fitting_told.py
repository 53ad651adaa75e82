"""Fitting programs in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from core.review.as_set import AsSet
from core.review.spoken import counted, first_up, listed
from core.units import System, show

CLOSE = 0.1  # of what is set: a difference smaller than that is not worth a change; our own


def zone_sentence(
    name: str,
    fit_words: str,
    as_set: Sequence[AsSet],
    fit_l: float,
    set_l: float,
    risk: str,
    set_risk: str,
    when: str,
    system: System,
) -> str:
    """Both programs of a zone, the difference in litres a month, and the risk."""
    said = f"{name}: {fit_words} fits, {show(fit_l, 'volume', system)} a month"
    said += f", with a risk: {risk[:1].lower()}{risk[1:]}." if risk else "."
    if not as_set:
        return f"{said} Nothing {when}."
    words = listed(p.words for p in as_set)
    less = set_l - fit_l
    amount = show(abs(less), "volume", system)
    verdict = (
        f"{amount} {'more' if less > 0 else 'less'}" if abs(less) > CLOSE * max(set_l, fit_l) else "about the same"
    )
    return f"{said} {first_up(when)}: {words}, {verdict}." + (f" {set_risk}" if set_risk else "")


def month_sentences(
    first: date, weather: str, fit_l: float, set_l: float, when: str, n: int, money: str, system: System
) -> tuple[str, ...]:
    """The month's programs in words: what they rest on, and what all of them would give beside what is set."""
    if not n:
        return (weather, f"Nothing needs watering in {first:%B}.")
    zones = counted(n, "zone")
    both = f"Programs that fit give {show(fit_l, 'volume', system)} in {first:%B} to {zones}"
    less = set_l - fit_l
    if set_l <= 0:
        return (weather, f"{both}; nothing {when}.")
    if abs(less) <= CLOSE * max(set_l, fit_l):
        return (weather, f"{both}, about what is given as {when}.")
    amount = show(abs(less), "volume", system)
    word = "more" if less > 0 else "less"
    return (weather, f"{both}. As {when} they give {show(set_l, 'volume', system)}: {amount}{money} {word}.")
