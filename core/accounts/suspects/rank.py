"""Which suspects stand: the best explanation of each stretch of readings, with the rivals it could not shake off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from core.accounts.findings import ALL_OF
from core.accounts.ledger import Ledger
from core.accounts.suspects.case import POURING, Case, Suspect
from core.accounts.suspects.delivered import delivered
from core.accounts.suspects.household import unwritten
from core.accounts.suspects.minutes import other_minutes
from core.accounts.suspects.no_rest import no_rest
from core.accounts.suspects.one_off import one_off
from core.accounts.suspects.over_paces import joined
from core.accounts.suspects.register import misread, two_meters
from core.accounts.suspects.shutdown import still_running
from core.accounts.suspects.steady import steady
from core.accounts.suspects.stuck import stuck_open
from core.accounts.suspects.view import View

SOURCES: tuple[Callable[[Case, View], list[Suspect]], ...] = (
    misread,
    two_meters,
    stuck_open,
    delivered,
    other_minutes,
    steady,
    no_rest,
    one_off,
    still_running,
    unwritten,
)
CLOSE = 3.0  # a rival this near in evidence cannot be excluded (twenty to one)
FARTHER = 2 * CLOSE  # nor one that fits as well and is only the rarer thing, which is a guess of ours
MOST = 40
MOST_ROUNDS = 8
# kinds that change what the regression thinks of zones
BENDING = ("more_than_set", "less_than_set", "not_delivered", "another_schedule")
WITHIN = 0.75  # of its readings are those of a flow already told: it says that this one wavers
TWICE = 0.25  # of its readings are those of the same runs told already
LOCAL = ("one_off", "stuck_open", "misread", "two_meters")  # kinds that leave the rest of the regression alone


def standing(case: Case, rounds: int = MOST_ROUNDS) -> list[Suspect]:
    """Suspects that stand together, in order of their evidence.

    In each round the best suspects that do not touch the same readings are taken as true, and the rest looked
    at again with what they explain taken off.
    """
    taken: list[Suspect] = []
    rest = case
    for _ in range(rounds):
        view = View.of(rest)
        known = {(s.kind, s.since) for s in taken}
        found = [s for source in SOURCES for s in source(rest, view) if s.score > 0 and (s.kind, s.since) not in known]
        found = [_freed(s, rest, view) for s in found if not _echo(s, taken, case.ledger)]
        fresh = _best_apart(found, case.ledger)
        if not fresh:
            break
        taken += fresh
        if len(taken) >= MOST:
            break
        rest = rest.explained(fresh)
    return joined(case, _weighed_again(case, taken[:MOST]) if rounds > 1 else taken[:MOST])


def _weighed_again(case: Case, taken: list[Suspect]) -> list[Suspect]:
    """Each suspect of slow readings beside what else its readings may be, with all other suspects taken off: in the
    round it was found in others bent the regression still, by which most of its rivals are measured.
    """
    fine, again = case.ledger.fine, list(taken)
    for n, each in enumerate(taken):
        others = again[:n] + again[n + 1 :]
        if not others or fine[each.rows].any() or not each.rows.size or each.kind in ("misread", "two_meters"):
            continue
        rest = case.explained(others)
        view = View.of(rest)
        busy = np.concatenate([s.rows for s in others])
        found = [_freed(s, rest, view) for source in SOURCES for s in source(rest, view) if s.score > 0]
        same = [s for s in found if _same_readings(s, each) and not np.isin(s.rows, busy).any()]
        if same:
            again[n] = _best_apart(same, case.ledger)[0]
    return again


def _same_readings(one: Suspect, other: Suspect) -> bool:
    return bool(2 * np.isin(one.rows, other.rows).sum() > max(len(one.rows), len(other.rows)))


def _freed(suspect: Suspect, case: Case, view: View) -> Suspect:
    """With what the regression gains by one odd slow reading less, as suspects that were fitted beside it have it."""
    row = int(suspect.rows[0])
    if suspect.kind not in LOCAL or len(suspect.rows) > 1 or case.ledger.fine[row]:
        return suspect
    return replace(suspect, detail=suspect.detail | {"likelier": suspect.gain + view.freed(row)})


def _echo(suspect: Suspect, taken: list[Suspect], ledger: Ledger) -> bool:
    """Whether it says no more than one already told: that a flow wavers, by water in the same readings and no more of
    it; or by the hour, that runs which were told as longer or shorter were so by more, where what is normal of an hour
    in which they always come gave way to the first.
    """
    if suspect.kind in POURING:
        return any(_within(suspect, t) for t in taken if t.kind in POURING)
    if suspect.kind not in BENDING or not ledger.fine[suspect.rows].all():
        return False
    same = [t for t in taken if _sort(t) == _sort(suspect) and set(t.zones) & set(suspect.zones)]
    return any(np.isin(suspect.rows, t.rows).mean() > TWICE for t in same)


def _within(suspect: Suspect, told: Suspect) -> bool:
    inside = np.isin(told.rows, suspect.rows)
    return inside.sum() > WITHIN * len(suspect.rows) and suspect.total <= float(told.litres[inside].sum())


def _best_apart(found: list[Suspect], ledger: Ledger) -> list[Suspect]:
    """The best suspects that touch no common readings; of those that bend the regression only the first, and at hourly
    pace others of its kind: a zone that brought less once is no mirror of one that brought less before.

    The others of that sort wait for the next round, and so do lesser suspects of their readings.
    """
    kept: list[Suspect] = []
    owner = np.full(len(ledger.start), -1)
    waiting = np.zeros(len(ledger.start), dtype=bool)
    bent = ""
    later: set[str] = set()
    for each in sorted(found, key=lambda s: -s.rank):
        over = owner[each.rows]
        touched = over[over >= 0]
        if len(touched) > 0.5 * len(each.rows):
            which = int(np.bincount(touched).argmax())
            if _not_excluded(each, kept[which]):
                kept[which] = _with_rival(kept[which], each)
        if waiting[each.rows].any() or (each.kind in BENDING and later.intersection(each.zones)):
            waiting[each.rows] |= each.kind in BENDING
            continue
        bends = each.kind in BENDING or (each.kind not in LOCAL and not ledger.fine[each.rows].all())
        if not len(touched):
            if bends and bent and not (_sort(each) == bent and ledger.fine[each.rows].all()):
                waiting[each.rows] = True
                continue
            bent = bent or (_sort(each) if bends else "")
            owner[each.rows] = len(kept)
            kept.append(each)
        elif each.kind in BENDING:  # what says of the zone's other runs that they are the odd ones must not overtake it
            later.update(each.zones)
            waiting[each.rows] = True
    return kept


def _sort(suspect: Suspect) -> str:
    """Its kind, and of minutes whether they were more or fewer: longer runs once are a mirror of shorter ones later."""
    share = float(suspect.detail.get("share", 0.0)) if suspect.kind == "another_schedule" else 0.0
    return f"{suspect.kind}{np.sign(share):+.0f}"


def _not_excluded(other: Suspect, chief: Suspect) -> bool:
    """Whether the readings leave another explanation standing beside the chief one. A single use of any size fits every
    reading, so what fits as well as that says nothing.
    """
    behind = chief.rank - other.rank
    fits = other.rank + other.cost > chief.rank + chief.cost - CLOSE
    return behind < CLOSE or (behind < FARTHER and fits and "one_off" not in (chief.kind, other.kind))


def _with_rival(chief: Suspect, other: Suspect) -> Suspect:
    if not other.told:
        return chief
    if chief.kind == other.kind and chief.kind in ALL_OF and set(chief.zones) == set(other.zones):
        return chief
    if chief.kind == other.kind:
        zones = (*chief.zones, *(z for z in other.zones if z not in chief.zones))
        if chief.detail.get("all"):  # then it cannot be told whether all are meant
            chief = replace(chief, detail={**chief.detail, "all": 0.0})
        return replace(chief, zones=zones)
    for n, rival in enumerate(chief.rivals):
        if rival.kind == other.kind and (rival.kind not in ALL_OF or rival.zones == other.zones):
            zones = (*rival.zones, *(z for z in other.zones if z not in rival.zones))
            return replace(chief, rivals=(*chief.rivals[:n], replace(rival, zones=zones), *chief.rivals[n + 1 :]))
    return replace(chief, rivals=(*chief.rivals, other))
