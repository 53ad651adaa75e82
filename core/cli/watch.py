"""The watch for cron: says once what is new, by text, JSON and exit code."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from core.book.store import Book
from core.cli.entries import end_of
from core.cli.frame import BookCommand, book_argument, json_option
from core.cli.saying import wrapped
from core.review.odd_uses import is_use
from core.review.tellings import NoLonger
from core.review.watch import News, Watch, look, tell
from core.review.watch_words import as_data, gone_as_data, gone_sentence, sentence, uses_sentence

SOMETHING_NEW = 10
ANSWER = "If so, say so on the month page; it is asked once. If nobody did, look whether a hose or a tap was left open."


@click.command(cls=BookCommand)
@book_argument
@click.option("--as-of", metavar="WHEN", help="Only readings until then speak: 2026-07-14. Default: now.")
@click.option("--weak", is_flag=True, help="Tell weak findings too, not only fair and strong ones.")
@click.option("--look", "only_look", is_flag=True, help="Show what is new without remembering that it was told.")
@json_option
@click.pass_context
def watch(context: click.Context, *, book: Path, as_of: str | None, weak: bool, only_look: bool, as_json: bool) -> None:
    """Say what is new since the last watch: leaks, stuck valves, runs that brought no water, odd readings.

    Made for cron: it says nothing and leaves the book alone when nothing is new. What it tells is remembered in the
    book, so that it tells once: again only when it got worse, when the meter contradicts a repair, or when you asked
    to be asked again. Findings you settled are not told. What was told and does not stand any more, by what the book
    holds now, is said once too. rillbook undo takes a telling back.

    \b
    Examples:
      rillbook watch garden.rillbook
      rillbook watch garden.rillbook --json > new.json
      rillbook watch garden.rillbook --as-of 2026-07-17 --look
    \b
    In a crontab, which mails what a job says:
      30 7 * * *  rillbook watch /home/me/garden.rillbook

    --json is metric, the unit in each name: kind, meter, zone (group: all zones that cannot be told apart), since,
    until, rate_lph, volume_l, cost, strength, rivals; under no_longer what does not stand any more.

    \b
    Exit codes: 0 nothing new; 10 something new; 1 refused; 2 the command was written wrongly;
    70 a fault in Rillbook itself.
    """
    opened = Book.open(book)
    found = look(opened, end_of(as_of, opened.zone_info) if as_of else None, weak=weak)

    def deliver(news: Sequence[News], gone: Sequence[NoLonger]) -> None:
        _say(found, news, gone, as_json)

    if only_look:
        told: tuple[object, ...] = (*found.news, *found.gone)
        if told:
            deliver(found.news, found.gone)
    else:
        told = tell(opened, found, deliver)
    if told:
        context.exit(SOMETHING_NEW)
    if as_json or sys.stdout.isatty():
        deliver((), ())


def _say(found: Watch, news: Sequence[News], gone: Sequence[NoLonger], as_json: bool) -> None:
    picture = found.picture
    reach = max((a.metered_through for a in picture.accounts.values() if a.metered_through), default=None)
    if as_json:
        data: dict[str, Any] = {
            "as_of": picture.as_of.isoformat(timespec="seconds"),
            "metered_through": reach.isoformat(timespec="seconds") if reach else None,
            "findings": [as_data(n, picture) for n in news],
            "no_longer": [gone_as_data(g, picture) for g in gone],
        }
        words = json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False)
    else:
        words = "\n".join(_lines(found, news, gone, reach))
    click.echo(words)
    sys.stdout.flush()  # what cannot be said is not remembered


def _lines(found: Watch, news: Sequence[News], gone: Sequence[NoLonger], reach: datetime | None) -> list[str]:
    picture = found.picture
    broken, uses = [n for n in news if not is_use(n.finding)], [n for n in news if is_use(n.finding)]
    things = len(broken) + bool(uses)
    count = "Nothing" if not things else "1 thing" if things == 1 else f"{things} things"
    through = f", metered through {_when(reach, found)}" if reach else ", no meter reading yet"
    lines = [wrapped(f"{picture.home.name}: {count} new as of {_when(picture.as_of, found)}{through}.")]
    for place, each in enumerate(broken, 1):
        finding = each.finding
        lines += ["", wrapped(sentence(each, picture), f"{place}. ", "   ")]
        lines += [wrapped(finding.hunt, "   ")] if finding.hunt else []
        lines += [wrapped(f"Check first: {finding.check_first}", "   ")] if finding.check_first else []
        lines += [wrapped(f"Mind: {finding.caution}", "   ")] if finding.caution else []
        lines += [wrapped(rival.sentence, "   ") for rival in finding.rivals if not rival.excluded]
    if uses:
        asked = sentence(uses[0], picture) if len(uses) == 1 else uses_sentence(uses, picture)
        lines += ["", wrapped(f"{asked} {ANSWER}", f"{things}. ", "   ")]
    for each_gone in gone:
        lines += ["", wrapped(gone_sentence(each_gone, picture))]
    return lines


def _when(instant: datetime, found: Watch) -> str:
    local = instant.astimezone(found.picture.tz)
    return f"{local.day} {local:%B %Y, %H:%M}"
