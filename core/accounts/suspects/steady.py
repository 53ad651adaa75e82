"""Steady: water that moves all the time, a slow leak or something left running."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.instants import Floats
from core.accounts.noise import Noise, a_little_busier
from core.accounts.suspects.appliances import trickles
from core.accounts.suspects.case import WAVERS, Case, Rows, Suspect, best_stretches
from core.accounts.suspects.ends import Least
from core.accounts.suspects.no_rest import night_rate
from core.accounts.suspects.one_off import LEAST_FLOW
from core.accounts.suspects.over_paces import leaks_on, over_slow
from core.accounts.suspects.view import View

RATES = 0.9 * 1.3 ** np.arange(24)  # litres an hour: from a quarter of a gallon to a hundred
REFILLING = 9  # of these, up to two gallons an hour, that may come as refills, as of a toilet's tank
RATES_OF: Floats = np.concatenate([RATES, RATES[:REFILLING]])
NO_LEAK: Floats = np.zeros(1)
REFILL_L, MOST_REFILLS = 1.5, 14  # litres of one, and of them in an hour; common practice, no source
LEAST_HOURS = 20.0  # of hourly readings in a row
LEAST_GOING = 4.0  # of those up to the last reading, where the flow is too low for a use of some hours
ENOUGH = Least(2, 96.0, alone_hours=14 * 24.0)  # of slow readings; what is over sooner may have been any use
BLOCK, DAY, MOST = 4, 24, 4  # hourly readings looked at together, and around a start; stretches told in one round
TIMES = 1.8  # a year
CHOICES_COST = 1.5  # of the rates and lengths it could have had
LEAST_GAIN = 5.0  # worth a closer look
CHOSEN = 0.4  # gain that choosing the start and the rate adds by itself
FINE_TIMES = 3.0  # at hourly pace, where more of them show
FINER = np.linspace(0.7, 1.6, 19)  # of a rate found roughly
CLOSED_COST = 2.5  # most leaks do not end by themselves, least of all within days
BRIEF_COST, BRIEF_HOURS, BRIEF_SLOW_HOURS = 4.0, 96.0, 16 * 24.0  # of slow readings as long as guests may stay


def steady(case: Case, view: View) -> list[Suspect]:
    """Stretches in which every reading holds about the same flow more than it should."""
    return [*_slow(case, view), *(over_slow(case, s) if s.kind == "steady" else s for s in _fine(case))]


def _slow(case: Case, view: View) -> list[Suspect]:
    hours = case.ledger.hours[view.rows]
    if not len(hours):
        return []
    found = view.stretches(hours, +1, 0.0, 1, LEAST_GAIN, ENOUGH, going=True)
    found += view.stretches(hours, +1, 0.0, 2, LEAST_GAIN + CLOSED_COST, ENOUGH, going=False)
    made = [_make(case, s.rows, s.amount, s.gain, TIMES, s.likelier, s.part) for s in found]
    return [leaks_on(case, replace(s, cost=s.cost + _any_size(case, s))) for s in made]


def _any_size(case: Case, suspect: Suspect) -> float:
    """Cost of a leak of one reading, which any rate would explain: a single use of any size pays for that as well."""
    if len(suspect.rows) > 1:
        return 0.0
    return max(float(np.log(suspect.total / case.reference.sigma[suspect.rows[0]])), 0.0)


def _fine(case: Case) -> list[Suspect]:
    """Sought in blocks of a few hours, then from reading to reading."""
    ledger, rows = case.ledger, case.fine
    suspects: list[Suspect] = []
    if not len(rows):
        return suspects
    table = case.table(_at_rates)
    blocks = np.add.reduceat(table, np.arange(0, len(rows), BLOCK), axis=1)
    for which, first, last, _ in best_stretches(blocks, 2 * MOST, LEAST_GAIN):
        part = _sharpened(table[which], first * BLOCK, min((last + 1) * BLOCK, len(rows)))
        if table[which, part.stop :].sum() > -CLOSED_COST:  # a few last hours do not tell that it ended
            part = slice(part.start, len(rows))
        touched = rows[part]
        least = LEAST_GOING if case.to_the_end(touched) and RATES_OF[which] < LEAST_FLOW else LEAST_HOURS
        if len(suspects) == MOST or ledger.end[touched[-1]] - ledger.start[touched[0]] < least:
            continue
        refills = which >= len(RATES)
        touched = _from_its_start(case, touched, _best_rate(case, touched, RATES_OF[which], refills), refills)
        rate = _best_rate(case, touched, RATES_OF[which], refills)
        gained = float(_wandering(case, touched, np.array([rate]), refills)[0] - _wandering(case, touched)[0])
        if part.start < DAY and len(touched) > len(rows) / 2:  # the house was learned with it, so that its nights tell
            rate = night_rate(case, touched) or rate
        found = _make(case, touched, rate, gained, FINE_TIMES)
        suspects.append(replace(found, kind="draws") if trickles(case, touched, rate) else found)
    return suspects


def _sharpened(gain: Floats, first: int, end: int) -> slice:
    """The stretch of most gain that begins and ends near these readings."""
    low, high = max(first - BLOCK, 0), min(end + BLOCK, len(gain))
    middle = (first + end) // 2
    begin = low + int(np.cumsum(gain[low:middle][::-1])[::-1].argmax()) if middle > low else low
    return slice(begin, middle + int(np.cumsum(gain[middle:high]).argmax()) + 1)


def _best_rate(case: Case, rows: Rows, rate: float, refills: bool) -> float:
    """The likeliest rate near one that was found roughly."""
    rates = rate * FINER
    return float(rates[_wandering(case, rows, rates, refills).argmax()])


def _from_its_start(case: Case, rows: Rows, rate: float, refills: bool) -> Rows:
    """The same stretch with its first reading looked for up to a day before and after, at the rate that fits it."""
    fine = case.fine
    at = int(np.searchsorted(fine, rows[0]))
    low, high = max(at - DAY, 0), min(at + DAY, at + len(rows) - 1)
    around: Rows = fine[low:high]
    if not len(around):
        return rows
    gain = _leaking(case.noise, case, around, np.array([rate]), refills)[0] - case.plain[around]
    return fine[low + int(np.cumsum(gain[::-1])[::-1].argmax()) : at + len(rows)]


def _at_rates(case: Case, rows: Rows) -> Floats:
    """Gains of each of RATES_OF: flowing all the time, and refilling now and then."""
    flowing = _leaking(case.noise, case, rows, RATES_OF[: len(RATES)], refills=False)
    refilling = _leaking(case.noise, case, rows, RATES_OF[len(RATES) :], refills=True)
    return np.concatenate([flowing, refilling]) - case.plain[rows]


def _leaking(noise: Noise, case: Case, rows: Rows, rates: Floats, refills: bool, more: Floats | float = 0.0) -> Floats:
    """Log density of what is left in ``rows`` (columns) at each rate (rows), with ``more`` litres poured into them."""
    left = case.left[rows] + more
    if not refills:
        hours = case.ledger.hours[rows]
        return np.stack([noise.wavering(rows, WAVERS * r).log_density(rows, left - r * hours) for r in rates])
    count = np.arange(MOST_REFILLS)
    each = noise.log_density(rows, left - REFILL_L * count[:, None])
    mean = rates[:, None] * float(np.median(case.ledger.hours[case.fine])) / REFILL_L
    chance = np.exp(count * np.log(mean) - mean - np.cumsum(np.log(np.maximum(count, 1))))  # Poisson's
    most = each.max(axis=0)
    return np.asarray(np.log(chance @ np.exp(each - most)) + most)


def told_at(case: Case, rows: Rows, more: Floats, rate: float) -> bool:
    """Whether hourly readings with ``more`` litres in each would be told as a leak of about ``rate``."""
    rates = np.maximum(rate * np.array([0.8, 0.9, 1.0, 1.1, 1.25]), RATES[0] * FINER[0])  # no lower one is looked for
    with_leak, without = _wandering(case, rows, rates, more=more), _wandering(case, rows, more=more)
    gain = float(with_leak.max() - without[0])
    return gain + CHOSEN > case.scarcity(rows, gain, FINE_TIMES) + CHOICES_COST


def least_gain(case: Case, rows: Rows) -> float:
    """Evidence that these slow readings must bring for a leak that goes on to be told."""
    gain = LEAST_GAIN
    for _ in range(4):
        gain = case.scarcity(rows, gain, TIMES) + CHOICES_COST
    return gain


def _wandering(
    case: Case, rows: Rows, rates: Floats = NO_LEAK, refills: bool = False, more: Floats | float = 0.0
) -> Floats:
    """Log density of what is left at each rate, summed over ``rows``, in a household that may have been a little busier
    for a while: that much is no evidence of a leak, and no part of its rate.
    """
    plain = _leaking(case.noise, case, rows, rates, refills, more)
    fuller = _leaking(case.noise.relabelled(rows, 1), case, rows, rates, refills, more)
    return a_little_busier(plain, fuller)


def _make(
    case: Case, rows: Rows, rate: float, gain: float, times: float, likelier: float = 0.0, part: Floats | float = 1.0
) -> Suspect:
    ledger = case.ledger
    cost = case.scarcity(rows, gain, times) + CHOICES_COST
    going = case.to_the_end(rows)
    short = BRIEF_HOURS if ledger.fine[rows].all() else BRIEF_SLOW_HOURS
    brief = ledger.end[rows[-1]] - ledger.start[rows[0]] < short
    return Suspect(
        "steady",
        (),
        rows,
        rate * part * ledger.hours[rows],
        float(ledger.start[rows[0]]),
        None if going else float(ledger.end[rows[-1]]),
        gain,
        cost + (0.0 if going else CLOSED_COST + (BRIEF_COST if brief else 0.0)),
        rate,
        detail={"likelier": likelier},
    )
