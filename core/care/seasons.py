"""Where the year stands: watering, shut down or between, which list is next, and what the cold says.

Frost words follow the National Weather Service: frost at 33 to 36 °F, a freeze at 32 °F or below, a hard freeze at
28 °F or below, read some 5 ft above the ground. Reminding from 36 °F down and draining before the first hard freeze
is common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np
import pandas as pd

from core.book.kinds import ChecklistStep, Home, Pause, Task, Upkeep
from core.care.checklist import SEASON_WORDS, checklist
from core.care.due import WHY_DUE, DueItem, coming, due_list, in_season, say_day, say_days, season_due, unreadable
from core.care.installed import Installed, holds_on
from core.care.steps import Season
from core.units import show

FROST_C, FREEZE_C, HARD_FREEZE_C = 20 / 9, 0.0, -20 / 9  # 36, 32 and 28 °F
_SEEN_DAYS = 14  # how far back a cold night still calls for something
_SOON_DAYS = 45  # a start-up list is offered this long before its usual day
_RESUME_DAYS = 120  # steps older than this belong to a list nobody is walking any more


@dataclass(frozen=True, slots=True)
class Cold:
    """The coldest of the last nights, or of the next ones where the weather file reaches ahead."""

    day: date
    tmin_c: float
    kind: Literal["frost", "freeze", "hard freeze"]


@dataclass(frozen=True, slots=True)
class SeasonState:
    """Where the year stands on a day.

    Attributes:
        state: "watering", "shut_down", or "between" while a list is half way; walking it goes on where it stopped.
        watering: whether the system is in use; one half way through its shutdown is until the list is finished.
        paused: whether everything is off for another reason than winter.
        since: first day of this watering season or winter, where the book knows it.
        list_season, list_year: the checklist to walk next.
        settled: whether no step of a list in progress is open: all that is left is to finish it.
        due: the day it is due, from the home's usual days or the cold, or None; ``frozen``: from the cold.
        sentence: the state in words.
        warning: what the cold asks for, or "".
    """

    state: Literal["watering", "shut_down", "between"]
    watering: bool
    paused: bool
    since: date | None
    list_season: Season
    list_year: int
    settled: bool
    due: date | None
    sentence: str
    warning: str = ""
    frozen: bool = False


def season_state(
    home: Home,
    pauses: Sequence[Pause],
    steps: Iterable[ChecklistStep],
    today: date,
    weather: pd.DataFrame | None = None,
    installed: Installed | None = None,
) -> SeasonState:
    """Where the year stands.

    Args:
        home: for its usual days, its hemisphere and the units of its sentences.
        pauses: all pauses; a pause of everything for winter is what shuts the system down.
        steps: all checklist steps; those after ``today`` are not looked at.
        today: the home's local day.
        weather: the weather frame (``day``, ``tmin_c``), or None.
        installed: what the list is fitted to; without it nothing is said about whether all its steps are settled.
    """
    winter = [p for p in pauses if p.scope == "all" and p.reason == "winter" and p.since <= today]
    shut = next((p for p in winter if holds_on(p.since, p.until, today)), None)
    ended = [p.until for p in winter if p.until is not None and p.until <= today]
    since = shut.since if shut else max(ended, default=None)
    off = next((p for p in pauses if p.scope == "all" and holds_on(p.since, p.until, today)), None)
    turn: Season = "startup" if shut else "shutdown"
    known = [s for s in steps if s.day <= today]
    began = _in_progress(known, turn, since, today)
    due = _due(home, turn, since, today)
    cold = None if shut else cold_seen(weather, today, since)
    frozen = False
    if cold and cold.kind == "hard freeze" and _towards_winter(home, today):
        frozen = due is None or cold.day < due
        due = cold.day if frozen else due
    if began:
        season, year = turn, began.year
    elif shut and not _startup_soon(home, shut, today):
        season, year = "shutdown", _shutdown_year(known, shut)
    else:
        season, year = turn, (due or today).year
    settled = bool(began and installed and not checklist(turn, began.year, installed, known).open_steps)
    return SeasonState(
        state="between" if began else "shut_down" if shut else "watering",
        watering=not shut,
        paused=off is not None and not shut,
        since=since,
        list_season=season,
        list_year=year,
        settled=settled,
        due=due,
        sentence=_sentence(home, shut, _now(off, shut, began, settled, today), due, today, settled, frozen),
        warning=_warn(home, cold, today) if cold and not settled else "",
        frozen=frozen,
    )


def cold_seen(weather: pd.DataFrame | None, today: date, since: date | None = None) -> Cold | None:
    """The coldest night from two weeks back on, where it was cold enough for frost; None otherwise.

    Nights before ``since``, the day the water was turned on, froze no water.
    """
    if weather is None or weather.empty:
        return None
    first = max(today - timedelta(days=_SEEN_DAYS), since or date.min)
    nights = weather[weather["day"] >= pd.Timestamp(first)].dropna(subset=["tmin_c"])
    if nights.empty:
        return None
    at = int(np.argmin(nights["tmin_c"].to_numpy()))
    low, day = float(nights["tmin_c"].iloc[at]), pd.Timestamp(nights["day"].iloc[at]).date()
    # The file's tenths of a degree must not lift a night of 36 or 28 °F over the line.
    kinds: tuple[tuple[float, Literal["hard freeze", "freeze", "frost"]], ...] = (
        (HARD_FREEZE_C, "hard freeze"),
        (FREEZE_C, "freeze"),
        (FROST_C, "frost"),
    )
    kind = next((word for limit, word in kinds if low <= limit + 0.05), None)
    return Cold(day, low, kind) if kind else None


def no_hard_freeze(home: Home, weather: pd.DataFrame, normals: pd.DataFrame) -> bool:
    """Whether nothing in the book speaks of a hard freeze and the usual weather of all months is above frost.

    A cold night may come all the same, so this shortens what is asked for and calls nothing safe. The usual lowest
    temperature is a mean of many nights; that one above 36 °F, where reminding begins, is mild is a choice of our own.
    """
    known = normals.dropna(subset=["tmin_c"])
    mild = known["month"].nunique() == 12 and float(known["tmin_c"].min()) > FROST_C
    return not home.shutdown_due and bool(mild) and not (weather["tmin_c"] <= HARD_FREEZE_C + 0.05).any()


def care_due(
    home: Home, tasks: Iterable[Task], upkeep: Iterable[Upkeep], state: SeasonState, today: date
) -> list[DueItem]:
    """The due list for a home whose season is known."""
    return due_list(
        tasks,
        upkeep,
        today,
        state.watering,
        paused=state.paused,
        home_startup_due=home.startup_due,
        home_shutdown_due=home.shutdown_due,
        season_since=state.since,
        hard_freeze=state.due if state.frozen else None,
        settled=state.settled,
    )


@dataclass(frozen=True, slots=True)
class _Begun:
    year: int
    first: date


def _in_progress(steps: Sequence[ChecklistStep], turn: Season, since: date | None, today: date) -> _Begun | None:
    """The list somebody is walking: it was begun after the last turn and not left for months."""
    lists: dict[int, list[date]] = {}
    for step in steps:
        if step.season == turn and (since is None or step.day > since):
            lists.setdefault(step.year, []).append(step.day)
    fresh = {year: days for year, days in lists.items() if (today - max(days)).days <= _RESUME_DAYS}
    return _Begun(max(fresh), min(fresh[max(fresh)])) if fresh else None


def _startup_soon(home: Home, shut: Pause, today: date) -> bool:
    """Whether the start-up list is the one to show; before that, the shutdown's stays open for late entries."""
    rest = (today - shut.since).days
    ahead = coming(home.startup_due, today)
    if ahead is None:
        return rest > 2 * _SOON_DAYS
    return (ahead - today).days <= _SOON_DAYS or (
        rest > _SOON_DAYS and in_season(today, home.startup_due, home.shutdown_due)
    )


def _shutdown_year(steps: Sequence[ChecklistStep], shut: Pause) -> int:
    """The year of this winter's shutdown list; one walked over New Year keeps the year it was begun in."""
    walked = [s.year for s in steps if s.season == "shutdown" and (shut.since - s.day).days <= _SOON_DAYS]
    return max(walked, default=shut.since.year)


def _due(home: Home, turn: Season, since: date | None, today: date) -> date | None:
    days = (home.shutdown_due, home.startup_due)
    text, other = days if turn == "shutdown" else days[::-1]
    return season_due(text, other, since, today)


def _towards_winter(home: Home, today: date) -> bool:
    """Whether the year goes into winter: August to January in the north, February to July in the south."""
    north = today.month >= 8 or today.month == 1
    return north if home.latitude >= 0 else not north


def _now(off: Pause | None, shut: Pause | None, began: _Begun | None, settled: bool, today: date) -> str:
    if began:
        season = SEASON_WORDS["startup" if shut else "shutdown"]
        if settled:
            return f"All steps of the {season} of {began.year} are settled; it remains to finish it."
        return f"The {season} of {began.year} is half way: its first step was on {say_day(began.first, today)}."
    if shut:
        return f"Shut down since {say_day(shut.since, today)}."
    if off:
        return f"Everything is paused since {say_day(off.since, today)}, but not shut down: the lines are still full."
    return "The system is in use."


def _sentence(
    home: Home, shut: Pause | None, now: str, due: date | None, today: date, settled: bool, frozen: bool
) -> str:
    usual = "start-up" if shut else "shutdown"
    if settled:  # what was due is done
        return now
    if due is None:
        field = home.startup_due if shut else home.shutdown_due
        if unreadable(field):
            return (
                f"{now} The usual day of {usual} on the garden page, “{field}”, cannot be read, so nothing reminds of "
                "it. Write month-day, such as 10-20 for 20 October."
            )
        return now if field else f"{now} No usual day of {usual} is written down on the garden page."
    left = (due - today).days
    if left < 0:
        return f"{now} The {usual} is {say_days(-left)} past {say_day(due, today)}, {WHY_DUE[frozen]}."
    return f"{now} The {usual} is due {'today' if left == 0 else f'by {say_day(due, today)}, in {say_days(left)}'}."


def _warn(home: Home, cold: Cold, today: date) -> str:
    low = show(cold.tmin_c, "temperature", home.display)
    line = show(HARD_FREEZE_C, "temperature", home.display)
    told = "was written down" if cold.day <= today else "is expected"
    night = f"A low of {low} {told} for {say_day(cold.day, today)}, {_ARTICLE[cold.kind]}"
    if not _towards_winter(home, today):
        return f"{night}: protect or drain what stands above ground until the nights are mild."
    if cold.kind == "hard freeze":
        return f"{night}: shut the system down now, and look for cracks when the water comes back."
    return f"{night}: shut down before the first hard freeze ({line} or below); protect what stands above ground."


_ARTICLE = {"frost": "cold enough for frost", "freeze": "a freeze", "hard freeze": "a hard freeze"}
