"""What care is due: from the tasks, what was done and when, and the seasons."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from core.book.kinds import Task, Upkeep
from core.care.cautions import cautions

HORIZON_DAYS = 14  # care further off than this is not worth a line yet
_EARLY_DAYS = 120  # yearly care done up to this long before its day counts for that day
_FORGET_DAYS = 183  # yearly care missed longer ago than this is not overdue any more: the next day stands
_FORGET_NEVER_DAYS = 60  # the same for care that was never written down: it may well have been done before the book
WHY_DUE = {False: "the usual day", True: "the night of a hard freeze"}  # by whether the cold made it due
NO_DAY = "its day of the year, “{}”, cannot be read, so nothing reminds of it. Write month-day, such as 10-20."


@dataclass(frozen=True, slots=True)
class DueItem:
    """Care due or overdue. ``days_left`` below zero is overdue."""

    task: str
    name: str
    due: date
    days_left: int
    last_done: date | None
    sentence: str
    caution: str = ""


def due_list(
    tasks: Iterable[Task],
    upkeep: Iterable[Upkeep],
    today: date,
    watering: bool,
    *,
    paused: bool = False,
    home_startup_due: str = "",
    home_shutdown_due: str = "",
    season_since: date | None = None,
    hard_freeze: date | None = None,
    settled: bool = False,
    horizon_days: int = HORIZON_DAYS,
) -> list[DueItem]:
    """Care that is overdue, never written down, or due within ``horizon_days``, the most urgent first.

    Args:
        tasks: the book's tasks.
        upkeep: what was done; entries after ``today`` are not looked at.
        today: the home's local day.
        watering: whether the system is in use (not shut down); while it is not, tasks of the watering season rest.
        paused: whether everything is off for another reason; the season's tasks rest then too.
        home_startup_due, home_shutdown_due: month-day ("04-20") or "", from the home's record. They put the start-up
            or the shutdown itself on the list, under the task codes "startup" and "shutdown".
        season_since: first day of this watering season or of this winter rest, where known. Care of the season whose
            interval ran out in winter falls due on that day, not months before it; and a shutdown a week early does
            not make last spring's start-up overdue.
        hard_freeze: a night so cold before the usual day, which makes the shutdown due on it.
        settled: whether all steps of the list in progress are settled, so that it remains to finish it.

    A task that was never written down falls due today, after everything that is overdue: nobody can say how late it is.
    So does care whose day of the year cannot be read, which else would never fall due and never say so.
    """
    last = _last_done(upkeep, today)
    season = _season_item(today, watering, home_startup_due, home_shutdown_due, season_since, hard_freeze)
    items = [_to_finish(today, watering) if settled else season]
    for task in tasks:
        if task.season_only == "watering" and (paused or not watering):
            continue
        items.append(_item(task, last.get(task.code), today, season_since if watering else None))
    wanted = [item for item in items if item is not None and item.days_left <= horizon_days]
    return sorted(wanted, key=lambda item: (item.days_left, item.last_done is None, item.name))


def day_of_year(text: str, year: int) -> date | None:
    """The day a month-day such as ``10-20`` falls on in a year; None for "" or a day that does not exist.

    29 February falls on the 28th in other years.
    """
    try:
        month, day = (int(part) for part in text.strip().split("-"))
        return date(year, month, day)
    except ValueError:
        return date(year, 2, 28) if text.strip() == "02-29" else None


def unreadable(text: str) -> bool:
    """Whether something is written where a month-day belongs that is none; a book of an older program may hold it."""
    return bool(text.strip()) and day_of_year(text, 2000) is None


def latest(text: str, today: date) -> date | None:
    """The most recent day up to and including ``today`` on which a month-day fell."""
    this_year = day_of_year(text, today.year)
    return this_year if this_year is None or this_year <= today else day_of_year(text, today.year - 1)


def coming(text: str, today: date) -> date | None:
    """The next day after ``today`` on which a month-day falls."""
    this_year = day_of_year(text, today.year)
    return this_year if this_year is None or this_year > today else day_of_year(text, today.year + 1)


def in_season(today: date, since: str, until: str) -> bool:
    """Whether ``today`` lies from the month-day ``since`` up to the month-day ``until``, over New Year or not."""
    began, ended = latest(since, today), latest(until, today)
    return began is not None and (ended is None or began >= ended)


def season_due(text: str, other: str, season_since: date | None, today: date) -> date | None:
    """The day a shutdown (or start-up) is due.

    The past one stays due only while the season it should have begun still lasts, so in July nobody is late for last
    October, and only when nothing was turned since. Otherwise the next one; None when no usual day is known.

    Args:
        text: its month-day.
        other: month-day of the start-up (or shutdown) that ends the season, or "".
        season_since: the day of the last turn, where known.
        today: the home's local day.
    """
    past, ahead = latest(text, today), coming(text, today)
    if past is None:
        return None
    lasts = in_season(today, text, other) if day_of_year(other, today.year) else (today - past).days <= _FORGET_DAYS
    return past if lasts and (season_since is None or past > season_since) else ahead


def say_day(day: date, today: date) -> str:
    """``3 April``, with the year when it is not this one."""
    return f"{day.day} {day:%B}" if day.year == today.year else f"{day.day} {day:%B %Y}"


def say_days(number: int) -> str:
    """``1 day``, ``12 days``."""
    return f"{number} day" if number == 1 else f"{number} days"


def _last_done(upkeep: Iterable[Upkeep], today: date) -> dict[str, date]:
    last: dict[str, date] = {}
    for entry in upkeep:
        if entry.day <= today:
            last[entry.task] = max(entry.day, last.get(entry.task, entry.day))
    return last


def _item(task: Task, last: date | None, today: date, watering_since: date | None) -> DueItem | None:
    due = _next_due(task, last, today)
    if unreadable(task.due_by):
        said = f"{task.name}: {NO_DAY.format(task.due_by)}"
        return DueItem(task.code, task.name, today, 0, last, said, task.caution)
    if due is None:
        return None
    if task.season_only == "watering" and watering_since is not None and watering_since <= today:
        due = max(due, watering_since)
    left = (due - today).days
    if left < 0:
        when = f"{say_days(-left)} overdue"
    elif last is None and left == 0:
        return DueItem(task.code, task.name, due, 0, None, f"{task.name}: not written down yet.", task.caution)
    else:
        when = "due today" if left == 0 else f"due in {say_days(left)}, on {say_day(due, today)}"
    done = f"last done {say_day(last, today)}" if last else "never written down"
    return DueItem(task.code, task.name, due, left, last, f"{task.name}: {when}, {done}.", task.caution)


def _next_due(task: Task, last: date | None, today: date) -> date | None:
    days = [d for d in (_by_interval(task, last, today), _by_day_of_year(task, last, today)) if d is not None]
    return min(days, default=None)


def _by_interval(task: Task, last: date | None, today: date) -> date | None:
    if task.every_days is None:
        return None
    return today if last is None else last + timedelta(days=task.every_days)


def _by_day_of_year(task: Task, last: date | None, today: date) -> date | None:
    past = latest(task.due_by, today)
    if past is None:
        return None
    done = last is not None and last >= past - timedelta(days=_EARLY_DAYS)
    if done or (today - past).days > (_FORGET_DAYS if last else _FORGET_NEVER_DAYS):
        ahead = coming(task.due_by, today)
        if ahead is not None and last is not None and last >= ahead - timedelta(days=_EARLY_DAYS):
            return day_of_year(task.due_by, ahead.year + 1)
        return ahead
    return past


def _to_finish(today: date, watering: bool) -> DueItem:
    code, words = ("shutdown", "shutdown") if watering else ("startup", "start-up")
    name = f"Finish the {words}"
    return DueItem(code, name, today, 0, None, f"{name}: all its steps are settled.")


def _season_item(
    today: date, watering: bool, startup: str, shutdown: str, season_since: date | None, hard_freeze: date | None
) -> DueItem | None:
    code, words, text, other = (
        ("shutdown", "Shut the system down for winter", shutdown, startup)
        if watering
        else ("startup", "Start the system up", startup, shutdown)
    )
    due = hard_freeze or season_due(text, other, season_since, today)
    caution = cautions("freezing") if watering else cautions("pressure")
    if unreadable(text):
        return DueItem(code, words, today, 0, None, f"{words}: {NO_DAY.format(text)}", caution)
    if due is None:
        return None
    left = (due - today).days
    if left < 0:
        when = f"{say_days(-left)} past {say_day(due, today)}, {WHY_DUE[hard_freeze is not None]}"
    else:
        when = "due today" if left == 0 else f"by {say_day(due, today)}, in {say_days(left)}"
    return DueItem(code, words, due, left, None, f"{words}: {when}.", caution)


def overdue(items: Sequence[DueItem]) -> list[DueItem]:
    """Those that are past their day."""
    return [item for item in items if item.days_left < 0]
