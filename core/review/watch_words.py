"""What the watch says, in words and for a script."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from core.accounts.findings import Finding
from core.accounts.suspects.words import KIND_WORDS
from core.review.naming import called
from core.review.odd_uses import is_use, question
from core.review.picture import Picture
from core.review.tell import beside, dates, finding_dates, pace, rate_speaks
from core.review.tellings import NoLonger
from core.review.watch import AT_ONCE, News, Why
from core.units import show

LEADS: dict[Why, str] = {
    "new": "",
    "worse": "Worse than told before: ",
    "contradicted": "The meter contradicts the repair: ",
    "asked": "You asked to be told again: ",
}


def as_data(news: News, picture: Picture) -> dict[str, Any]:
    """A finding for a script: metric, the unit in each name, instants in UTC; zone and group are codes."""
    f, volume = news.finding, news.finding.volume
    return {
        "kind": f.kind,
        "meter": f.meter,
        "zone": f.zone,
        "group": list(f.group),
        "since": _iso(f.since),
        "until": _iso(f.until) if f.until else None,
        "one_reading_ends": f.one_reading_ends,
        "rate_lph": _number(f.rate_lph),
        "volume_l": _number(volume.value),
        "volume_low_l": _number(volume.low),
        "volume_high_l": _number(volume.high),
        "cost": _number(f.cost.value) if f.cost else None,
        "currency": picture.home.currency,
        "strength": f.strength,
        "score": _number(f.score),
        "rivals": [{"kind": r.kind, "zone": r.zone, "group": list(r.group), "excluded": r.excluded} for r in f.rivals],
        "hunt": f.hunt,
        "why": news.why,
        "sentence": sentence(news, picture),
        "check_first": f.check_first,
    }


def sentence(news: News, picture: Picture) -> str:
    """A finding in one sentence with its days, rate, amount, money and strength; a single use as a question."""
    f, system = news.finding, picture.home.display
    if is_use(f):
        return f"{LEADS[news.why]}{question([_use(f, picture)])[:-1]} ({f.strength} evidence)."
    sure = "it looks like" if f.strength == "strong" else "it may be"
    told = [finding_dates(f, picture.tz, year=True)]
    if f.volume.value is not None and f.kind not in ("misread", "two_meters"):
        told.append(f"about {show(abs(f.volume.value), 'volume', system)}{beside(f)}")
    if f.rate_lph is not None and rate_speaks(f) and f.kind not in AT_ONCE:
        told.append(pace(f, system))
    if f.cost is not None and f.cost.value is not None:
        told.append(f"{picture.home.currency}{f.cost.value:,.2f}")
    words = f"{LEADS[news.why]}{sure} {called(f, picture.zone_names)}, {', '.join(told)}"
    return f"{words[:1].upper()}{words[1:]} ({f.strength} evidence)."


def gone_sentence(gone: NoLonger, picture: Picture) -> str:
    """That an earlier telling no longer stands, when it was told, and what its days look like now."""
    t, tz = gone.telling, picture.tz
    told_at = t.told_at.utc.astimezone(tz)
    place = f" at {picture.zone_names.get(t.zone, t.zone)}" if t.zone else ""
    days = dates(t.since.utc, t.until.utc if t.until else None, tz, year=True)
    what = KIND_WORDS.get(t.finding, t.finding)
    said = f"No longer stands: {what}{place}, {days}, told on {told_at.day} {told_at:%B}."
    if isinstance(gone.instead, Finding):
        return f"{said} With what the book holds now these days look like {called(gone.instead, picture.zone_names)}."
    if gone.instead is not None:
        fewer = "fewer people at home" if gone.instead.moved_out else "an empty house"
        who = "guests" if gone.instead.volume_l > 0 else fewer
        return f"{said} With what the book holds now these days look like {who}; the month page asks about it."
    return f"{said} With what the book holds now nothing of it is left that chance would not do."


def gone_as_data(gone: NoLonger, picture: Picture) -> dict[str, Any]:
    """What no longer stands, for a script."""
    t = gone.telling
    return {
        "kind": t.finding,
        "meter": t.meter,
        "zone": t.zone,
        "since": _iso(t.since.utc),
        "until": _iso(t.until.utc) if t.until else None,
        "told_at": _iso(t.told_at.utc),
        "instead": gone.instead.kind if isinstance(gone.instead, Finding) else None,
        "sentence": gone_sentence(gone, picture),
    }


def uses_sentence(news: Sequence[News], picture: Picture) -> str:
    """Several single uses gathered in one question."""
    return question([_use(n.finding, picture) for n in sorted(news, key=lambda n: n.finding.since)])


def _use(finding: Finding, picture: Picture) -> tuple[str, str]:
    much = show(finding.volume.value or 0.0, "volume", picture.home.display)
    if finding.cost is not None and finding.cost.value is not None:
        much += f", {picture.home.currency}{finding.cost.value:,.2f},"
    return finding_dates(finding, picture.tz, year=True), much


def _iso(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat(timespec="seconds")


def _number(value: float | None) -> float | None:
    return None if value is None or value != value else round(float(value), 4)  # noqa: PLR0124 - NaN
