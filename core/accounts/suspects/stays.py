"""Guests and trips that nobody wrote down, as slow readings show them: a person may be asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

import pandas as pd

from core.accounts.findings import Rival
from core.accounts.ledger import local_day
from core.accounts.suspects.case import Case, Suspect
from core.accounts.suspects.decisions import settled_as
from core.accounts.suspects.words import as_rival
from core.units import System


@dataclass(frozen=True)
class Stay:
    """A stretch of slow readings that a fuller or an emptier house explains best, which nobody wrote down. No reading
    of days can be sure of it, so a person may be asked.

    Attributes:
        since, until: UTC; until None while it may go on. people: more at home than usual, fewer if negative.
        volume_l: more used than usual, less if negative. rivals: what else it could be.
    """

    since: datetime
    until: datetime | None
    people: float
    volume_l: float
    rivals: tuple[Rival, ...] = ()


def stays(suspects: Iterable[Suspect], case: Case, system: System, names: Mapping[str, str]) -> tuple[Stay, ...]:
    """Who was at home by slow readings, in the order it happened."""
    ledger, indoor = case.ledger, case.reference.indoor
    return tuple(
        Stay(
            ledger.when(s.since),
            None if s.until is None else ledger.when(s.until),
            ledger.home_people * s.total / float(indoor[s.rows].sum()),
            s.total,
            tuple(as_rival(r, system, names) for r in s.rivals),
        )
        for s in sorted(suspects, key=lambda s: s.since)
        if asks(s, case)
    )


def as_decided(
    suspects: Iterable[Suspect],
    case: Case,
    decisions: pd.DataFrame | None,
    system: System,
    names: Mapping[str, str],
) -> list[Suspect]:
    """The suspects, with what a person has decided on in the place of a stay that it is a rival of."""
    return [_as_decided(s, case, decisions, system, names) if asks(s, case) else s for s in suspects]


def _as_decided(
    stay: Suspect, case: Case, decisions: pd.DataFrame | None, system: System, names: Mapping[str, str]
) -> Suspect:
    ledger = case.ledger
    until = ledger.as_of if stay.until is None else stay.until
    days = local_day(stay.since, ledger.zone), local_day(until, ledger.zone)
    rivals = [as_rival(r, system, names) for r in stay.rivals]
    which = settled_as(rivals, ledger.meter, days, decisions, ledger)
    if which is None:
        return stay
    others = stay.rivals[:which] + stay.rivals[which + 1 :]
    return replace(stay.rivals[which], rivals=others)


def asks(suspect: Suspect, case: Case) -> bool:
    """Whether it says who was at home by slow readings alone."""
    return suspect.at_home and not bool(case.ledger.fine[suspect.rows].any())
