"""Whether what seems to be over is over by one reading alone, and what would settle it.

One reading, misread or of a few quiet hours, may end a leak of weeks on paper. The engine weighs it; here it is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pandas as pd

from core.accounts.account import MeterAccount
from core.accounts.findings import Finding
from core.review.decide import SETTLED
from core.review.hunted import BY_ITSELF

OF_RUNS = ("more_than_set", "less_than_set", "not_delivered", "another_schedule")
BY_ONE = ", over by one reading alone"
SETTLES = {
    **dict.fromkeys(
        BY_ITSELF, "Look whether the meter's dial stands still with everything off, or read it again in a day or two."
    ),
    **dict.fromkeys(OF_RUNS, "Read the meter again after the next runs."),
}


def with_ends(accounts: Mapping[str, MeterAccount]) -> dict[str, MeterAccount]:
    """The accounts, of each finding said whether the last reading alone says that it is over."""
    return {
        meter: replace(account, findings=tuple(weighed(f, account.intervals) for f in account.findings))
        for meter, account in accounts.items()
    }


def end_words(finding: Finding) -> str:
    """That one reading alone says that it is over, and what would settle it; "" where more do, it goes on, or
    a person settled it.
    """
    settled = finding.decision in SETTLED and not finding.contradicted
    if settled or not finding.one_reading_ends:
        return ""
    return f"Only the last reading says that it is over. {SETTLES[finding.kind]}"


def weighed(finding: Finding, intervals: pd.DataFrame) -> Finding:
    """A finding with whether only one of its meter's readings, the last, speaks of the time after it."""
    if finding.until is None or finding.kind not in SETTLES:
        return finding
    told = intervals["metered_l"].notna() & (intervals["end"] > pd.Timestamp(finding.until))
    return replace(finding, one_reading_ends=int(told.sum()) == 1)
