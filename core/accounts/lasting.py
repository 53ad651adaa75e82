"""A household that was larger or smaller for months: what it really uses is learned from its own time.

By how many people a house uses more or less is known of many homes, not of one: children away take more of it with them
than a rule of thumb says, or less.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.accrual import Accrual
from core.accounts.baseline import DAY_SPREAD, prior_level
from core.accounts.delivery import ridge
from core.accounts.instants import Flags, Floats
from core.accounts.ledger import Ledger

SHARE_SD = 0.3  # of usual use, how far a household's own share strays from the rule; common practice, no source
LIMITS = (0.4, 2.0)  # of the rule's share, beyond which something else is at work
RUN_SD = 0.15  # of what runs bring in one reading, beside their factor


def lived(ledger: Ledger, explained: Floats, aside: Flags) -> Ledger:
    """The ledger with what each lasting household really uses in the place of the rule.

    Args:
        explained: litres per interval that findings account for. aside: intervals to learn nothing from.
    """
    changes = np.flatnonzero(np.diff(ledger.lasting)) + 1
    spans = np.split(np.arange(len(ledger.lasting)), changes)
    eras = [span for span in spans if ledger.lasting[span[0]] != 1.0]
    rows = np.flatnonzero(ledger.usable & ~aside)
    if not eras or not len(rows) or ledger.home_people == 0:
        return ledger
    rates = [ledger.people, *(np.zeros(len(ledger.people)) for _ in eras)]
    for rate, span in zip(rates[1:], eras, strict=True):
        rate[span] = ledger.people[span]
    columns = [Accrual.of_rates(ledger.hour_edges, r).between(ledger.start[rows], ledger.end[rows]) for r in rates]
    x = np.column_stack([*columns, ledger.paper[rows]])
    use = (ledger.volume - ledger.other - explained)[rows]
    # hours of one day go together
    group = np.unique(np.where(ledger.fine[rows], ledger.start[rows] // 24, -1.0 - rows), return_inverse=True)[1]
    x, use, hours, read = (_summed(v, group) for v in (x, use, ledger.hours[rows], ledger.read_sd[rows] ** 2))
    level, level_sd = prior_level(ledger.home_people)
    run = RUN_SD * x[:, 1 + len(eras) :].sum(axis=1)
    sigma = np.sqrt((DAY_SPREAD * level) ** 2 * 24 * hours + read + run**2)
    spread = np.concatenate([[level_sd], [SHARE_SD * level] * len(eras), ledger.spread])
    prior = np.concatenate([[level], np.zeros(len(eras)), np.ones(len(ledger.zones))])
    fit = ridge(x, use, sigma, prior, spread, np.concatenate([[0.2 * level], np.full(len(spread) - 1, -np.inf)]))
    people, lasting = ledger.people.copy(), ledger.lasting.copy()
    for more, span in zip(fit.value[1:], eras, strict=False):
        ratio = float(np.clip(1 + more / fit.value[0], *LIMITS))
        people[span] *= ratio
        lasting[span] *= ratio
    return replace(ledger, people=people, lasting=lasting)


def _summed(values: Floats, group: np.ndarray) -> Floats:
    """Sums of rows by group."""
    total = np.zeros((int(group.max()) + 1, *values.shape[1:]))
    np.add.at(total, group, values)
    return total
