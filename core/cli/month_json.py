"""A month's review for a script: metric, the unit in every name, nothing rounded."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pandas as pd

from core.accounts.findings import Finding
from core.figures import Figure
from core.review.month import MonthReview
from core.units import QUANTITIES

HEADLINES = ("used", "cost", "saved", "saved_money", "unexplained", "missed", "unvouched", "stress")


def month_as_data(month: MonthReview, *, working: bool = False) -> dict[str, Any]:
    """Everything the review holds but its frames of plants and weather; workings on request."""

    def put(figure: Figure | None) -> dict[str, Any] | None:
        return None if figure is None else figure_as_data(figure, working=working)

    return {
        "month": month.month,
        "first": month.first.isoformat(),
        "last": month.last.isoformat(),
        "as_of": month.as_of.isoformat(),
        "household": month.household,
        "time_zone": month.time_zone,
        "currency": month.currency,
        "empty": month.empty,
        "metered_through": plain(month.metered_through),
        "sentences": list(month.sentences),
        **{name: put(getattr(month, name)) for name in HEADLINES},
        "settled_l": {verdict: plain(litres) for verdict, litres in month.settled.items()},
        "parts": [{"part": p.part, "name": p.name, "volume": put(p.volume), "cost": put(p.cost)} for p in month.parts],
        "zones": [
            {
                "zone": z.zone,
                "name": z.name,
                "hand": z.hand,
                **{
                    n: put(getattr(z, n))
                    for n in ("need", "effective_rain", "applied", "percolated", "excess", "saved")
                },
                "excess_money": plain(z.excess_money),
                "too_much": z.too_much,
                **{n: int(getattr(z, n)) for n in ("ran_days", "missed_days", "unvouched_days", "stress_days")},
                "sentence": z.sentence,
            }
            for z in month.zones
        ],
        "findings": [_finding(f, working=working) for f in month.findings],
        "stays": [
            {
                "meter": s.meter,
                "since": plain(s.stay.since),
                "until": plain(s.stay.until),
                "people": plain(s.stay.people),
                "volume_l": plain(s.stay.volume_l),
                "rivals": [{"kind": r.kind, "zone": r.zone, "group": list(r.group)} for r in s.stay.rivals],
                "words": s.words,
            }
            for s in month.stays
        ],
        "care_due": [
            {
                "task": c.task,
                "name": c.name,
                "due": c.due.isoformat(),
                "days_left": c.days_left,
                "last_done": plain(c.last_done),
                "sentence": c.sentence,
                "caution": c.caution,
            }
            for c in month.care_due
        ],
        "next_steps": [{"words": s.words, "page": s.page, "reading": s.reading} for s in month.next_steps],
        "cannot_know": list(month.cannot_know),
        "days": _rows(month.days),
        "intervals": _rows(month.intervals),
        "zone_days": _rows(month.zone_days),
    }


def figure_as_data(figure: Figure, *, working: bool = False) -> dict[str, Any]:
    """A figure with its metric unit in the names: ``value_l``, ``low_l``, ``high_l``; money as ``value_money``."""
    unit = QUANTITIES[figure.quantity].base if figure.quantity in QUANTITIES else figure.quantity
    data: dict[str, Any] = {
        f"value_{unit}": plain(figure.value),
        f"low_{unit}": plain(figure.low),
        f"high_{unit}": plain(figure.high),
    }
    if figure.note:
        data["note"] = figure.note
    if working:
        data["working"] = [
            {"what": w.what, "value": plain(w.value), "unit": w.unit, "source": w.source} for w in figure.working
        ]
    return data


def _finding(finding: Finding, *, working: bool) -> dict[str, Any]:
    return {
        "key": finding.key,
        "kind": finding.kind,
        "meter": finding.meter,
        "zone": finding.zone,
        "group": list(finding.group),
        "since": plain(finding.since),
        "until": plain(finding.until),
        "one_reading_ends": finding.one_reading_ends,
        "rate_lph": plain(finding.rate_lph),
        "volume": figure_as_data(finding.volume, working=working),
        "cost": figure_as_data(finding.cost, working=working) if finding.cost else None,
        "strength": finding.strength,
        "score": plain(finding.score),
        "evidence": list(finding.evidence),
        "check_first": finding.check_first,
        "caution": finding.caution,
        "rivals": [
            {"kind": r.kind, "zone": r.zone, "group": list(r.group), "sentence": r.sentence, "excluded": r.excluded}
            for r in finding.rivals
        ],
        "hunt": finding.hunt,
        "decision": finding.decision,
        "repaired_on": plain(finding.repaired_on),
        "after": finding.after,
        "note": finding.note,
        "cause": {"kind": finding.cause.kind, "zone": finding.cause.zone} if finding.cause else None,
    }


def _rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(name): plain(value) for name, value in row.items()} for row in frame.to_dict("records")]


def plain(value: Any) -> Any:
    """A value JSON knows: numbers of Python, instants and days as ISO text, None for what is not known or endless."""
    if value is None or (not isinstance(value, str) and (pd.isna(value) or value in (float("inf"), float("-inf")))):
        return None
    if isinstance(value, pd.Timestamp):
        return value.isoformat() if value.tzinfo else value.date().isoformat()
    if isinstance(value, datetime | date):
        return value.isoformat()
    return value.item() if hasattr(value, "item") else value
