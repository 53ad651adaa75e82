"""Which readings of the book a finding of wrong readings is about, for a person to put them right."""

from __future__ import annotations

import pandas as pd

from core.accounts.findings import Finding
from core.accounts.remarks import of_another, unfit

WRONG = ("misread", "two_meters")  # kinds that are wrong readings, not water
MOST = 4  # readings among which a person has to choose


def may_be_wrong(finding: Finding) -> bool:
    """Whether it is a wrong reading, or may as well be one."""
    return finding.kind in WRONG or any(r.kind in WRONG and not r.excluded for r in finding.rivals)


def only_a_number(finding: Finding) -> bool:
    """Whether it is a number written wrongly and no water, so that how far it is off says all of its amount."""
    return finding.kind == "misread" and bool(finding.evidence)


def readings_of(finding: Finding, readings: pd.DataFrame, meters: pd.DataFrame) -> pd.DataFrame:
    """The readings of a misread register or of two mixed meters: the one it names, else those it lies between, at
    most the last few.

    Args:
        readings, meters: frames of the book; the answer is some of the rows of the first.
    """
    own = readings[readings["meter"] == finding.meter].sort_values("at")
    since = pd.Timestamp(finding.since)
    if finding.until == finding.since:
        return own[own["at"] == since]
    if finding.kind not in WRONG:  # a use that may be the number it ends with
        return own[own["at"] == pd.Timestamp(finding.until or own["at"].max())]
    until = pd.Timestamp(finding.until) if finding.until else own["at"].max()
    between = own[own["at"].between(since, until)]
    said, step = " ".join(finding.evidence), float(meters.set_index("code")["resolution"].loc[finding.meter])
    named = between[[unfit(v, step) in said or of_another([v], step) in said for v in between["register_value"]]]
    return named if len(named) else between.tail(MOST)
