"""Guests and trips that nobody wrote down: a person may be asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
import pandas as pd

from core.accounts.findings import Rival
from core.accounts.instants import Floats
from core.accounts.ledger import local_day
from core.accounts.suspects.case import Case, Suspect
from core.accounts.suspects.decisions import settled_as
from core.accounts.suspects.household import LONGEST_DAYS, SHARES, is_written, residents
from core.accounts.suspects.words import as_rival
from core.units import System

SURE = 18.0  # evidence, six standard deviations, from which on hourly readings ask; slow ones ask of all they put there
LEAST_PEOPLE = 0.5  # of hourly readings; less is a house a little livelier
AGAINST_LEARNED = (0.3, 3.0)  # what the hours apart may say of it; some litres between visits are no household
LEAST_HOURS = 48.0  # of hourly readings: a day of much washing is nobody's visit


@dataclass(frozen=True)
class Stay:
    """A stretch of readings that a fuller or an emptier house explains best, which nobody wrote down. No reading can be
    sure of it, so a person may be asked.

    Attributes:
        since, until: UTC; until None while it may go on. people: more at home than usual, fewer if negative.
        volume_l: more used than usual, less if negative. rivals: what else it could be.
        hourly: whether hourly readings say so, which tell people from zones.
        moved_out: it is no trip, since it lasts too long, goes on by slow readings, or is too little less for an empty
            house. daily_l: more used a day than usual, less if negative.
    """

    since: datetime
    until: datetime | None
    people: float
    volume_l: float
    rivals: tuple[Rival, ...] = ()
    hourly: bool = False
    moved_out: bool = False
    daily_l: float = 0.0


def stays(suspects: Sequence[Suspect], case: Case, system: System, names: Mapping[str, str]) -> tuple[Stay, ...]:
    """Who was at home and was not written down, in the order it happened."""
    ledger, house = case.ledger, case.left - _told(suspects, case)  # of hours, all that the house used
    usual = _usual(suspects, case, house)
    found = []
    for s in sorted(suspects, key=lambda s: s.since):
        hourly = bool(ledger.fine[s.rows].all())
        if not (_by_the_hour(s, case) if hourly else asks(s, case)):
            continue
        expected = float((usual if hourly else case.reference.indoor)[s.rows].sum())
        volume = float(house[s.rows].sum()) - expected if hourly else s.total
        until = None if s.until is None else ledger.when(s.until)
        rivals = tuple(as_rival(r, system, names) for r in s.rivals)
        people = residents(case, s.rows) * volume / expected
        if not hourly or (people if s.kind == "busier" else -people) >= LEAST_PEOPLE:
            gone, daily = _moved_out(s, case, volume / expected), 24 * volume / float(ledger.hours[s.rows].sum())
            found.append(Stay(ledger.when(s.since), until, people, volume, rivals, hourly, gone, daily))
    return tuple(found)


def _moved_out(suspect: Suspect, case: Case, share: float) -> bool:
    """Whether the house was emptier for longer than on a trip, or not as empty as on one: ``share`` of its use."""
    if suspect.kind != "fewer":
        return False
    days = float(case.ledger.hours[suspect.rows].sum()) / 24
    return suspect.until is None or days > LONGEST_DAYS["away"] or share > max(SHARES["away"])


def _by_the_hour(suspect: Suspect, case: Case) -> bool:
    """Whether hourly readings are sure enough of a stay, and it is long enough, to ask; and most of it is not written
    down already.
    """
    until = suspect.until if suspect.until is not None else np.inf
    if not (suspect.at_home and suspect.gain > SURE and until - suspect.since >= LEAST_HOURS):
        return False
    return not is_written(case, suspect.rows)


def _usual(suspects: Sequence[Suspect], case: Case, house: Floats) -> Floats:
    """What the house uses in each hour, by the hours in which none of them is: the level may be learned with them.

    Where nothing was used in any of these, as in a house that stands empty between visits, it is what was learned.
    """
    apart = np.zeros(len(house), dtype=bool)
    apart[case.fine] = True
    for each in suspects:
        apart[each.rows] = False
    indoor = case.reference.indoor
    used, learned = float(house[apart].sum()), float(indoor[apart].sum())
    usual: Floats = indoor * (np.clip(used / learned, *AGAINST_LEARNED) if min(used, learned) > 0 else 1.0)
    return usual


def _told(suspects: Sequence[Suspect], case: Case) -> Floats:
    """Litres that findings explain, for each interval."""
    litres = np.zeros(len(case.left))
    for each in suspects:
        if each.told:
            litres[each.rows] += each.litres
    return litres


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
