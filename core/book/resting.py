"""The winter pause a program begins in: it would be set and yet never run."""

from __future__ import annotations

from collections.abc import Iterable

from core.book.kinds import Pause, Program


def winter_over(program: Program, pauses: Iterable[Pause]) -> Pause | None:
    """The pause for winter, of all zones or its own, that holds on its first day; of several the last to end."""
    held = [
        p
        for p in pauses
        if p.reason == "winter"
        and p.scope in ("all", program.zone)
        and p.since <= program.since
        and (p.until is None or program.since < p.until)
    ]
    return max(held, key=lambda p: (p.until is None, p.until or p.since), default=None)
