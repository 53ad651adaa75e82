"""What of the water left over in a month a person has settled, and how it is said: what is settled is not unexplained.

The parts of a month close with all that is left over; this says how much of that is nobody's riddle any more.
What readings stray by leaves its mark in it as well, so that a finding may be larger than what is left over.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from core.accounts.findings import Finding
from core.review.costs import NO_LOSS
from core.review.decide import SETTLED
from core.review.spoken import listed
from core.units import System, show

LEAST_L = 1.0  # a litre that is not worth a word
ALL_OF_IT = {
    "harmless": "you called it harmless",
    "explained": "you found its cause",
    "repaired": "it is from what you repaired",
}
PART_OF_IT = {
    "harmless": "you called harmless",
    "explained": "whose cause you found",
    "repaired": "from what you repaired",
}


def settled_of(
    findings: Iterable[Finding], left_l: float, opens: datetime, closes: datetime, through: datetime
) -> dict[str, float]:
    """Litres of what is left over in a stretch of time that a person has settled, by verdict, in the order of SETTLED.

    A finding's water is spread evenly over its time; what goes on is metered ``through`` an instant. It may be more
    than is left over, where at other times less came than expected, and is never of the other sign: water that came
    does not settle water that did not.
    """
    found = dict.fromkeys(SETTLED, 0.0)
    for f in findings:
        if f.decision not in SETTLED or f.contradicted or f.kind in NO_LOSS or f.only_in_time:
            continue
        size = (f.volume.value or 0.0) * _share(f.since, f.until or max(through, f.since), opens, closes)
        if size * left_l > 0:
            found[f.decision] += abs(size)
    return {verdict: litres for verdict, litres in found.items() if litres > LEAST_L}


def settled_words(settled: Mapping[str, float], left_l: float, system: System) -> str:
    """What is settled of what is left over, to follow its amount: "you called it harmless", "120 L you called harmless,
    the rest nobody can explain", "390 L whose cause you found, and at other times 90 L less than expected"; "" where
    nothing is settled.
    """
    if not settled:
        return ""
    rest = abs(left_l) - sum(settled.values())
    if len(settled) == 1 and abs(rest) <= LEAST_L:
        return ALL_OF_IT[next(iter(settled))]
    parts = listed(f"{show(litres, 'volume', system)} {PART_OF_IT[verdict]}" for verdict, litres in settled.items())
    if rest < -LEAST_L:  # so that the amounts are those of the findings' cards
        back = f"{show(-rest, 'volume', system)} {'less' if left_l > 0 else 'more'}"
        return f"{parts}, and at other times {back} than expected"
    return f"{parts}, the rest nobody can explain" if rest > LEAST_L else parts


def _share(since: datetime, until: datetime, opens: datetime, closes: datetime) -> float:
    if until <= since:
        return 1.0 if opens <= since < closes else 0.0
    inside = (min(until, closes) - max(since, opens)).total_seconds()
    return max(inside, 0.0) / (until - since).total_seconds()
