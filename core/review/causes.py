"""What a finding may have been, for a person to say which it was, and what was said of it, in words."""

from __future__ import annotations

from collections.abc import Mapping

from core.accounts.findings import SOMETHING_ELSE, Cause, Finding
from core.accounts.suspects import Stay
from core.accounts.suspects.words import KIND_WORDS
from core.review.decide import VERDICT_WORDS
from core.review.spoken import day_named, listed

ELSE_WORDS = "something else"


def may_be(finding: Finding, names: Mapping[str, str]) -> dict[Cause, str]:
    """Its own kind and zone, its rivals', what a hunt found, and something else, in words.

    Zones that cannot be told apart are choices of their own, for the person at home can.
    """
    sorts = [(finding.kind, finding.zone, finding.group)]
    sorts += [(r.kind, r.zone, r.group) for r in finding.rivals]
    found: dict[Cause, str] = {}
    for kind, zone, group in sorts:
        for cause in [Cause(kind, z) for z in group or (zone,)] if zone else [Cause(kind)]:
            found.setdefault(cause, _words(cause, finding, names))
    if finding.hunt_cause is not None:
        found.setdefault(finding.hunt_cause, _words(finding.hunt_cause, finding, names))
    return {**found, Cause(SOMETHING_ELSE): ELSE_WORDS}


def instead_of(stay: Stay, names: Mapping[str, str]) -> dict[Cause, str]:
    """What a stay may have been if it was nobody's coming or going, in words; {} where nothing else would fit."""
    found: dict[Cause, str] = {}
    for rival in stay.rivals:
        for cause in [Cause(rival.kind, z) for z in rival.group] if rival.zone else [Cause(rival.kind)]:
            zones = (cause.zone,) if cause.zone else rival.group
            words = KIND_WORDS[rival.kind]
            found.setdefault(cause, f"{words} at {listed(names.get(z, z) for z in zones)}" if zones else words)
    return found


def cause_words(finding: Finding, names: Mapping[str, str]) -> str:
    """What a person said it was: "a line off or broken at Hedge"; "" where they did not."""
    return "" if finding.cause is None else _words(finding.cause, finding, names)


def decided_words(finding: Finding, names: Mapping[str, str]) -> str:
    """What a person decided, with what it was, the day of a repair and their own words; "" without a decision."""
    if not finding.decision:
        return ""
    verdict = VERDICT_WORDS.get(finding.decision, finding.decision)
    day = f" on {day_named(finding.repaired_on, year=True)}" if finding.repaired_on else ""
    was = cause_words(finding, names)
    if was and finding.decision == "explained":
        verdict, was = f"{verdict}: {was}", ""
    told = [f"You decided: {verdict}{day}.", f"The cause you found: {was}." if was else ""]
    note = finding.note if not finding.note or finding.note[-1] in ".!?" else f"{finding.note}."
    return " ".join(t for t in [*told, f"Your note: {note}" if note else ""] if t)


def _words(cause: Cause, finding: Finding, names: Mapping[str, str]) -> str:
    words = ELSE_WORDS if cause.kind == SOMETHING_ELSE else KIND_WORDS.get(cause.kind, cause.kind.replace("_", " "))
    zones = (cause.zone,) if cause.zone else _meant(cause, finding)
    return f"{words} at {listed(names.get(z, z) for z in zones)}" if zones else words


def _meant(cause: Cause, finding: Finding) -> tuple[str, ...]:
    """All zones of what has no single one, as runs of several that brought no water."""
    sorts = [(finding.kind, finding.zone, finding.group), *((r.kind, r.zone, r.group) for r in finding.rivals)]
    return next((group for kind, zone, group in sorts if (kind, zone) == (cause.kind, None)), ())
