"""Who was at home: a house fuller or emptier than written down. These explain readings and are not findings."""

from __future__ import annotations

import numpy as np

from core.accounts.densities import FULLER
from core.accounts.instants import Floats
from core.accounts.suspects.case import Case, Rows, Suspect, SuspectKind, Weigh, best_stretches
from core.accounts.suspects.ends import Least
from core.accounts.suspects.view import View

LEAST_HOURS = 20.0
LEAST_DAYS = {"fewer": 21.0}  # somebody who moved out; of a week or two any house may be quieter
LONGEST_DAYS = {"busier": 16.0, "away": 45.0, "fewer": np.inf}
# A year, not written down; and days, of which as many again are e times rarer. Common practice, no source.
TIMES = {"busier": 2.0, "away": 3.0, "fewer": 0.15}
USUAL_DAYS = {"busier": 7.0, "away": 10.0, "fewer": np.inf}
SHARES = {"busier": (0.2, 3.2), "away": (-1.1, -0.6), "fewer": (-0.75, -0.15)}  # of indoor use
AMOUNTS = ("more_than_set", "less_than_set", "not_delivered")  # kinds that last for days, as do stays
# Of slow readings: guests may use any amount, an empty house next to none; and what somebody can mend in the garden is
# told before it is asked whether somebody moved out.
AMOUNT_COST = {"busier": 2.0, "away": 0.0, "fewer": 3.0}
GUESTS, GUEST_COST = 2.0, 1.5  # that nobody wrote down, and of each beyond these; common practice, no source
GOING_COST = 5.0  # of slow readings while it may go on: then it cannot be told from a leak, which matters more
BACK_COST = 2.5  # of fewer people for weeks and then as many as before; common practice, no source
FULLER_COST = 1.0  # of a house fuller by another step, which is rarer
WRITTEN = 0.25  # of the use of that time; where the book says so much more or less it is no news
RECENT_HOURS = 10 * 24.0
MOST = 12  # stays looked at in one round at hourly pace: one left out would be told as a leak in it


def unwritten(case: Case, view: View) -> list[Suspect]:
    """Stretches of days with guests or with nobody at home that the book does not know of."""
    if case.ledger.home_people == 0:
        return []
    return [*_slow(case, view), *_fine(case)]


def looks_like(suspect: Suspect, case: Case) -> SuspectKind | None:
    """Who was at home, where slow readings cannot tell it from a suspect: guests, an empty house, or nothing such.

    Where readings without a run lie between those that it touches, they tell a zone from people. What is written down
    for most of its time is no news.
    """
    rows = suspect.rows
    indoor = float(case.reference.indoor[rows].sum())
    days = float(case.ledger.hours[rows].sum()) / 24
    if case.ledger.home_people == 0 or case.ledger.fine[rows].any() or indoor <= 0:
        return None
    kind: SuspectKind = "busier" if suspect.total > 0 else "away"
    low, high = SHARES[kind]
    alike = suspect.kind in ("steady", "stuck_open", *AMOUNTS) and low <= suspect.total / indoor <= high
    throughout = bool((np.diff(np.searchsorted(case.slow, rows)) == 1).all())
    asked = alike and throughout and days <= LONGEST_DAYS[kind] and not is_written(case, rows)
    return kind if asked else None


def is_written(case: Case, rows: Rows) -> bool:
    """Whether the book says of the time of these readings that the house was fuller or emptier than in those months."""
    first, last = _hours(case, rows)
    return abs(float(case.ledger.visiting[first:last].mean()) - 1.0) >= WRITTEN


def residents(case: Case, rows: Rows) -> float:
    """How many people lived there in the months of these readings."""
    first, last = _hours(case, rows)
    return float(case.ledger.residents[first:last].mean())


def _hours(case: Case, rows: Rows) -> tuple[int, int]:
    """The first local hour of these readings, and the one after their last."""
    ledger = case.ledger
    return int(ledger.hour_of(ledger.start[rows[0]])), int(ledger.hour_of(ledger.end[rows[-1]])) + 1


def _slow(case: Case, view: View) -> list[Suspect]:
    indoor = case.reference.indoor[view.rows]
    suspects: list[Suspect] = []
    if not len(view.rows):
        return suspects
    kinds: tuple[tuple[SuspectKind, int], ...] = (("busier", 1), ("away", -1), ("fewer", -1))
    for kind, sign in kinds:
        cost = case.rarity(case.slow, TIMES[kind]) + AMOUNT_COST[kind]
        low, high = SHARES[kind]
        least = Least(hours=24 * LEAST_DAYS.get(kind, 0.0))
        most, going = 24 * LONGEST_DAYS[kind], None if kind == "fewer" else False
        for s in view.stretches(indoor, sign, 0.0, 2, cost, least=least, going=going, most_hours=most):
            if low <= s.amount <= high:
                litres = s.amount * s.part * case.reference.indoor[s.rows]
                days = float(case.ledger.hours[s.rows] @ s.part) / 24
                long = BACK_COST * (not s.going) if kind == "fewer" else max(days / USUAL_DAYS[kind] - 1.0, 0.0)
                crowd = GUEST_COST * max(s.amount * case.ledger.home_people - GUESTS, 0.0)
                suspects += _make(case, kind, s.rows, litres, s.gain, cost + crowd + long)
    return suspects


def _fine(case: Case) -> list[Suspect]:
    rows = case.fine
    suspects = []
    kinds: tuple[tuple[SuspectKind, Weigh], ...] = (("busier", _busier), ("away", _away))
    for kind, weigh in kinds:
        cost, table = case.rarity(rows, TIMES[kind]), case.table(weigh)
        for which, begun, ended, _ in best_stretches(table, MOST, cost):
            for first, last in _stays(case, table[which], begun, ended, 24 * LONGEST_DAYS[kind]):
                found = float(table[which, first : last + 1].sum())
                price = cost + FULLER_COST * which
                if found > price:
                    touched = rows[first : last + 1]
                    fuller = -1.0 if kind == "away" else which + 1.0
                    suspects += _make(case, kind, touched, np.zeros(len(touched)), found, price, fuller)
    return suspects


def _stays(case: Case, gain: Floats, first: int, last: int, longest: float) -> list[tuple[int, int]]:
    """First and last readings of one stay, or of those that one too long falls into: what speaks most against it lies
    between two, as after guests who come again within weeks.
    """
    if case.ledger.end[case.fine[last]] - case.ledger.start[case.fine[first]] <= longest:
        return [(first, last)]
    between = best_stretches(-gain[None, first : last + 1], 1, 0.0)
    if not between:
        return []
    _, low, high, _ = between[0]
    before = _stays(case, gain, first, first + low - 1, longest) if low > 0 else []
    after = _stays(case, gain, first + high + 1, last, longest) if first + high < last else []
    return before + after


def _busier(case: Case, rows: Rows) -> Floats:
    return np.stack([_relabelled(case, rows, fuller) for fuller in range(1, len(FULLER) + 1)])


def _away(case: Case, rows: Rows) -> Floats:
    return _relabelled(case, rows, -1)[None]


def _relabelled(case: Case, rows: Rows, fuller: int) -> Floats:
    """Gain of another label, where it is another."""
    other = case.noise.relabelled(rows, fuller)
    gain = other.log_density(rows, case.left[rows]) - case.plain[rows]
    result: Floats = np.where(case.noise.could(rows, fuller), gain, 0.0)
    return result


def _make(
    case: Case, kind: SuspectKind, rows: Rows, litres: np.ndarray, gain: float, cost: float, fuller: float = 0.0
) -> list[Suspect]:
    since, until = float(case.ledger.start[rows[0]]), float(case.ledger.end[rows[-1]])
    if not max(LEAST_HOURS, 24 * LEAST_DAYS.get(kind, 0.0)) <= until - since <= 24 * LONGEST_DAYS[kind]:
        return []
    going = rows[-1] == case.rows[-1]
    recent = until > case.ledger.end[case.rows[-1]] - RECENT_HOURS and not case.ledger.fine[rows].all()
    recent = recent and kind != "fewer"  # which is no leak
    return [
        Suspect(
            kind,
            (),
            rows,
            litres,
            since,
            None if going else until,
            gain,
            cost + (GOING_COST if recent else 0.0),
            float(litres.sum() / (until - since)),
            detail={"fuller": fuller},
        )
    ]
