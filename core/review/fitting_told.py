"""Fitting programs in plain words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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


def idle_sentence(name: str, note: str, as_set: Sequence[AsSet], set_l: float | None, when: str, system: System) -> str:
    """A zone that no program fits, or that needs none, and what is set for it all the same."""
    if not as_set:
        return f"{name}: {note}"
    gives = "" if set_l is None else f", {show(set_l, 'volume', system)} a month"
    return f"{name}: {note} {first_up(when)}: {listed(p.words for p in as_set)}{gives}."


def off_by(zones: Iterable[tuple[str, float, float]]) -> list[tuple[str, float]]:
    """Zones whose program gives more than ``CLOSE`` beside what fits, and by how much; the furthest off first.

    Args:
        zones: name, litres that fit, litres as set.
    """
    off = [(name, as_set - fits) for name, fits, as_set in zones if abs(as_set - fits) > CLOSE * max(as_set, fits, 1.0)]
    return sorted(off, key=lambda zone: -abs(zone[1]))


def off_words(off: Sequence[tuple[str, float]], system: System, most: int = 3) -> str:
    """``Laranjeiras gets 677 L less, Horta 355 L more and Sebe 351 L less``."""
    said = [f"{name} {show(abs(by), 'volume', system)} {'more' if by > 0 else 'less'}" for name, by in off[:most]]
    first, *others = [said[0].replace(off[0][0], f"{off[0][0]} gets", 1), *said[1:]]
    return listed([first, *others, *([counted(len(off) - most, "other zone") + " too"] if len(off) > most else [])])


def month_sentences(
    first: date,
    weather: str,
    zones: Sequence[tuple[str, float, float]],
    when: str,
    money: str,
    system: System,
    paused: bool = False,
) -> tuple[str, ...]:
    """The month's programs in words: what they rest on, and what all of them would give beside what is set.

    Args:
        zones: name, litres that fit, litres as set, of every zone for which both are known.
        money: what the difference between all of them is worth, in brackets, or "".
        paused: whether any of them is set to something that is paused now.
    """
    fit_l, set_l = sum(fits for _, fits, _ in zones), sum(as_set for _, _, as_set in zones)
    watered = [name for name, _, as_set in zones if as_set > 0]
    amount = show(abs(set_l - fit_l), "volume", system)
    if fit_l <= 0:
        nothing = f"Nothing needs watering in {first:%B}"
        if not watered:
            return (weather, f"{nothing}.")
        who = watered[0] if len(watered) == 1 else counted(len(watered), "zone")
        gives = "gives" if len(watered) == 1 else "give"
        return (weather, f"{nothing}, and {who} {gives} {amount}{money} a month as {when}.")
    asked = counted(sum(1 for _, fits, _ in zones if fits > 0), "zone")
    both = f"Programs that fit give {show(fit_l, 'volume', system)} in all of {first:%B} to {asked}"
    if set_l <= 0:
        return (weather, f"{both}; {'what is set is paused' if paused else f'nothing {when}'}.")
    off = off_by(zones)
    if abs(set_l - fit_l) <= CLOSE * max(set_l, fit_l):
        about = f"{both}, in all about what is given as {when}"
        return (weather, f"{about}; but {off_words(off, system)}." if off else f"{about}.")
    word = "more" if set_l > fit_l else "less"
    return (weather, f"{both}. As {when} they give {show(set_l, 'volume', system)}: {amount}{money} {word}.")
