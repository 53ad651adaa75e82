"""What the watch has told of, so that it tells once."""

from __future__ import annotations

from typing import ClassVar, Literal

from core.book.kinds.base import Record, labelled
from core.book.kinds.fields import Code, Flow, MeterRef, Volume, ZoneRef
from core.days import Moment


class Told(Record):
    """A finding the watch has told of, as it stood then. Findings are computed anew; this remembers the telling."""

    KIND: ClassVar[str] = "told"
    TITLE: ClassVar[str] = "telling"
    KEY: ClassVar[tuple[str, ...]] = ("finding", "meter", "zone", "since", "told_at")
    HELP: ClassVar[str] = "What the watch has told of, written by Rillbook itself, so that nothing is told twice."

    finding: Code = labelled("Kind of finding")
    meter: MeterRef | None = labelled("Meter", "", None)
    zone: ZoneRef | None = labelled("Zone", "The first, where several could not be told apart.", None)
    since: Moment = labelled("Since")
    told_at: Moment = labelled("Told at")
    until: Moment | None = labelled("Until", "Empty: it still went on.", None)
    strength: Literal["strong", "fair", "weak"] = labelled("Strength of the evidence")
    why: Literal["new", "worse", "contradicted", "asked", "no_longer"] = labelled(
        "Why it was told",
        "contradicted: the meter spoke against a repair; asked: you asked to be told again; no_longer: what was told "
        "before does not stand any more.",
        "new",
    )
    rate: Flow | None = labelled("How fast", "Below 0: less than expected.", None)
    volume: Volume | None = labelled("How much", "Below 0: less than expected.", None)
