"""A finding, a telling of it and a verdict on it, each with what a test says of it otherwise."""

from __future__ import annotations

from datetime import UTC, datetime

from core.accounts.findings import Finding, Rival
from core.book.kinds import Decision, Measured, Told
from core.days import Moment
from core.figures import Figure
from tests.leaky import DAY

T0 = datetime(2026, 7, 14, 13, tzinfo=UTC)
NOW = T0 + 10 * DAY


def finding(**over: object) -> Finding:
    values: dict[str, object] = {
        "kind": "steady",
        "meter": "curb",
        "zone": None,
        "group": (),
        "since": T0,
        "until": None,
        "rate_lph": 12.0,
        "volume": Figure(2880.0, "volume"),
        "strength": "fair",
        "score": 5.0,
    }
    return Finding(**(values | over))  # type: ignore[arg-type]


def told(**over: object) -> Told:
    values: dict[str, object] = {
        "finding": "steady",
        "meter": "curb",
        "since": Moment(T0, -360),
        "told_at": Moment(T0 + 4 * DAY, -360),
        "strength": "fair",
        "rate": Measured("12", "lph", "flow"),
        "volume": Measured("1152", "l", "volume"),
    }
    return Told(**(values | over))  # type: ignore[arg-type]


def verdict(what: str, at: datetime) -> Decision:
    return Decision.model_validate(
        {
            "finding": "steady",
            "meter": "curb",
            "since": T0.date(),
            "verdict": what,
            "repaired_on": at.date() if what == "repaired" else None,
            "decided_at": Moment(at, -360),
        }
    )


def renamed(**over: object) -> Finding:
    """The leak of 12 L/h under the name of a line off, which brings its water while its zone runs."""
    values: dict[str, object] = {
        "kind": "more_than_set",
        "zone": "hedge",
        "group": ("hedge",),
        "rate_lph": 430.0,
        "rivals": (Rival("steady", None, (), ""),),
    }
    return finding(**(values | over))
