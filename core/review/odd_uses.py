"""Single uses that nobody wrote down: asked about as a neighbour would, after what may be broken, several at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from core.accounts.findings import Finding
from core.review.spoken import listed

ASK = "Did you fill or wash something"
NAMED = "filled or washed something"  # what a plain yes writes down
# rivals that a person should look at though it is over: what may be broken, and a number that may be wrong
LOOKED_AT = ("stuck_open", "steady", "more_than_set", "misread")


def is_use(finding: Finding) -> bool:
    """Whether it is a single use that is over. One that still runs, or that may as well have been a valve, a leak
    or a wrong number, is told as what a person should look at.
    """
    rivals = {rival.kind for rival in finding.rivals if not rival.excluded}
    return finding.kind == "one_off" and finding.until is not None and rivals.isdisjoint(LOOKED_AT)


def apart(findings: Iterable[Finding]) -> tuple[list[Finding], list[Finding]]:
    """What may be broken, and single uses in the order they happened."""
    every = list(findings)
    return [f for f in every if not is_use(f)], sorted(filter(is_use, every), key=lambda f: f.since)


def question(uses: Sequence[tuple[str, str]]) -> str:
    """One question about one or several uses.

    Args:
        uses: when ("on 3 July", "from 3 July to 5 July") and how much ("80 gal") of each.
    """
    uses = [(_between(when), much) for when, much in uses]
    if len(uses) == 1:
        when, much = uses[0]
        return f"{ASK} {when}? About {much} that nobody wrote down."
    told = listed(f"about {much} {when}" for when, much in uses)
    return f"{ASK}? {len(uses)} times water passed that nobody wrote down: {told}."


def _between(when: str) -> str:
    return when.replace("from ", "between ", 1).replace(" to ", " and ", 1) if when.startswith("from ") else when
