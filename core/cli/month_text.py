"""A month's review as text for a terminal."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from core.accounts.findings import Finding
from core.cli.saying import table, wrapped
from core.figures import Figure
from core.review.against import as_said, is_more
from core.review.causes import decided_words
from core.review.ends import end_words
from core.review.month import LEFT_OVER, MonthReview
from core.review.naming import called
from core.review.settled import settled_words
from core.review.spoken import amount, first_up, line_value, span
from core.review.tell import beside
from core.review.wrong_readings import may_be_wrong, only_a_number
from core.review.zones import unwritten_words

HEADLINES = {
    "used": "Water used",
    "cost": "Cost",
    "saved": "Saved against overhead sprinklers",
    "saved_money": "Saved money",
    "unexplained": "Unexplained",
    "missed": "Days known missed",
    "unvouched": "Further days nobody can vouch for",
    "stress": "Days short of water",
}
MORE = {"saved": "More than overhead sprinklers would have used", "saved_money": "What that cost"}


def month_in_words(month: MonthReview, *, working: bool = False) -> str:
    """The whole review, one section after another; empty sections are left out."""
    title = f"{month.household}, {month.first:%B %Y}"
    sections = [
        [title, "=" * len(title)],
        [wrapped(sentence) for sentence in month.sentences],
        _parts(month),
        _zones(month),
        _findings(month),
        _bullets("Who was at home", [stay.words for stay in month.stays]),
        _bullets("What to do next", [step.words for step in month.next_steps]),
        _bullets("Care due", [item.sentence for item in month.care_due]),
        _cautions(month),
        _bullets("What this book cannot know", list(month.cannot_know)),
        _working(month) if working else [],
    ]
    return "\n\n".join("\n".join(section) for section in sections if section)


def _parts(month: MonthReview) -> list[str]:
    if not month.parts:
        return []
    rows = [
        (
            part.name,
            _say(part.volume, month),
            span(part.volume, month.system, month.currency),
            _say(part.cost, month) if part.cost else "",
        )
        for part in month.parts
    ]
    rows.append(("In all", _say(month.used, month), "", _say(month.cost, month)))
    notes = [wrapped(f.note) for f in (month.used, month.cost) if f.note]
    if words := settled_words(month.settled, month.unexplained.value or 0.0, month.system):
        notes.append(wrapped(f"{LEFT_OVER}: {words}."))
    notes += [wrapped(words) for words in [unwritten_words(month.zones)] if words]
    return ["Where the water went", *table(("", "volume", "likely", "cost"), rows), *notes]


def _zones(month: MonthReview) -> list[str]:
    if not month.zones:
        return []
    header = ("", "needed", "by rain", "given", "drained", "too much", "ran", "missed", "unvouched", "short")
    rows = [
        (
            zone.name,
            *(_say(f, month) for f in (zone.need, zone.effective_rain)),
            "not written" if zone.unwritten else _say(zone.applied, month),
            "" if zone.unwritten else _say(zone.excess, month),
            "" if zone.unwritten else "yes" if zone.too_much else "no",  # a cell left empty reads as the next one
            *(str(n) for n in (zone.ran_days, zone.missed_days, zone.unvouched_days, zone.stress_days)),
        )
        for zone in month.zones
    ]
    return ["What the plants needed and got", *table(header, rows)]


def _findings(month: MonthReview) -> list[str]:
    if not month.findings:
        return []
    lines = ["What was found"]
    for nth, finding in enumerate(month.findings, 1):
        first = f"{nth}. "
        lines.append(wrapped(_headline(finding, month), first))
        told = [
            end_words(finding),
            *finding.evidence,
            finding.hunt,
            f"Check first: {finding.check_first}" if finding.check_first else "",
        ]
        told += ["To put it right: rillbook open, then the link beside this finding."] if may_be_wrong(finding) else []
        told += [f"Caution: {finding.caution}" if finding.caution else ""]
        told += [
            f"Excluded by the hunt: {rival.words}." if rival.excluded else f"Or: {rival.sentence}"
            for rival in finding.rivals
        ]
        told.append(f"{decided_words(finding, month.zone_names)} {finding.after}".strip())
        lines += [wrapped(text, " " * len(first)) for text in told if text]
    return lines


def _headline(finding: Finding, month: MonthReview) -> str:
    zone = ZoneInfo(month.time_zone)
    since = f"{finding.since.astimezone(zone):%Y-%m-%d %H:%M}"
    until = f" to {finding.until.astimezone(zone):%Y-%m-%d %H:%M}" if finding.until else ", going on"
    until = "" if finding.until == finding.since else until
    volume = (
        ""
        if finding.volume.value is None or only_a_number(finding)
        else f", {_say(finding.volume, month)}{beside(finding) if finding.only_in_time else ''}"
    )
    cost = f", {_say(finding.cost, month)}" if finding.cost and finding.cost.value is not None else ""
    return f"{first_up(called(finding, month.zone_names))}: {since}{until}{volume}{cost}. Evidence: {finding.strength}."


def _bullets(title: str, sentences: list[str]) -> list[str]:
    return [title, *(wrapped(sentence, "- ") for sentence in sentences)] if sentences else []


def _cautions(month: MonthReview) -> list[str]:
    said = dict.fromkeys(item.caution for item in month.care_due if item.caution)
    return _bullets("Take care", list(said))


def _working(month: MonthReview) -> list[str]:
    titles = {**HEADLINES, "unexplained": month.left_name, **(MORE if is_more(month.saved) else {})}
    figures = [
        (title, as_said(getattr(month, name), added_up=True) if name in MORE else getattr(month, name))
        for name, title in titles.items()
    ]
    figures += [(part.name, part.volume) for part in month.parts]
    lines = ["How the figures came about"]
    for title, figure in figures:
        likely = span(figure, month.system, month.currency)
        lines.append(f"{title}: {_say(figure, month)}" + (f" (likely {likely})" if likely else ""))
        for line in figure.working:
            source = f"  [{line.source}]" if line.source else ""
            lines.append(
                wrapped(f"{line.what}: {line_value(line, month.system, month.currency)}{source}", "    ", " " * 8)
            )
        if figure.note:
            lines.append(wrapped(figure.note, "    "))
    return lines


def _say(figure: Figure | None, month: MonthReview) -> str:
    return "" if figure is None else amount(figure.value, figure.quantity, month.system, month.currency)
