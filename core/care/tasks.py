"""Tasks offered to a new book, fitted to what is installed. A book may change or drop any of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from core.book.kinds import Task
from core.care.cautions import COMMON, cautions
from core.care.installed import Installed

_UTILITY = "Arizona Municipal Water Users Association, irrigation system maintenance"


# What a person's own name for a starter task holds, one word of each group. Only what a step of a list fulfils.
_BY_WORDS: dict[str, tuple[tuple[str, ...], ...]] = {
    "change-batteries": (("batter",),),
    "rinse-filter": (("filter", "screen"), ("rinse", "clean", "wash", "flush")),
    "flush-lines": (("flush",), ("line", "drip", "zone")),
    "check-emitters": (("emitter", "dripper"), ("check", "look", "walk", "inspect")),
    "backflow": (("backflow",),),
}


@dataclass(frozen=True, slots=True)
class Offer:
    """A task on offer and where its interval and words come from."""

    task: Task
    source: str


def starter_tasks(installed: Installed) -> list[Offer]:
    """The tasks that fit what is installed, most frequent first."""
    offers = [
        _offer(
            "check-emitters",
            "Walk the zones while they run and look at every emitter",
            _UTILITY,
            every_days=30,
            watering=True,
            how="Let each zone run half an hour first, so that the wet spots show. Look for leaks, clogged emitters, "
            "lines off their fittings, emitters moved away from their plants.",
            caution=("pressure", "scald"),
        ),
        _offer(
            "leak-test",
            "Look for a leak at the meter",
            "US EPA WaterSense (two hours without use)",
            every_days=90,
            how="With nothing running, read the meter, wait two hours, read it again. Write it down as a leak test.",
        ),
        _offer(
            "flush-lines",
            "Flush the lines",
            _UTILITY,
            every_days=365,
            watering=True,
            how="Open the ends one after the other, nearest the valve first, for about a minute or until the water is "
            "clear.",
            caution=("pressure", "scald"),
        ),
        _offer(
            "catch-test",
            "Measure how even a zone is",
            f"{COMMON} (the test itself: University of California, cups under emitters)",
            every_days=365,
            watering=True,
            how="Cups under 8 emitters or more, near the valve and far from it, the same time each. Write it down as a "
            "catch test.",
        ),
        _offer(
            "move-emitters",
            "Move emitters out to the drip line of plants that have grown",
            "newspaper garden columns, municipal conservation pages",
            every_days=365,
            watering=True,
            how="Roots feed under the edge of the canopy. Write down emitters you add on the garden page.",
            caution=("digging",),
        ),
    ]
    if installed.parts("filter"):
        offers.append(
            _offer(
                "rinse-filter",
                "Rinse the filter",
                f"{COMMON} (monthly with clean water, more often with sand; {_UTILITY}: at least once a year)",
                every_days=60,
                watering=True,
                how="Shut the water, open the housing, rinse the screen, look for holes.",
                caution=("pressure",),
            )
        )
    if installed.parts("battery"):
        offers.append(
            _offer(
                "change-batteries",
                "Change the controller's batteries",
                "newspaper garden columns, municipal conservation pages (fresh ones at start-up)",
                every_days=365,
                how="New ones, the size and sort the maker names. Check clock and program afterwards.",
            )
        )
    if installed.parts("backflow"):
        offers.append(
            _offer(
                "backflow",
                "Look over the backflow device",
                f"{COMMON} (some water suppliers want a licensed test every year)",
                every_days=365,
                how="Look for drips and damage. Ask your water supplier whether the law wants a test.",
                caution=("backflow",),
            )
        )
    if installed.parts("regulator"):
        offers.append(
            _offer(
                "check-pressure",
                "Measure the pressure behind the regulator",
                COMMON,
                every_days=365,
                watering=True,
                how="With a gauge on a hose thread while a zone runs. Write it down with a flow test.",
                caution=("pressure",),
            )
        )
    offers += _clock_tasks(installed)
    return sorted(offers, key=lambda o: (o.task.every_days or 366, o.task.name))


def called_otherwise(code: str, tasks: Sequence[Task]) -> list[str]:
    """Codes under which the book has a starter task: its own, or those of tasks that plainly are it by their words."""
    known = [t.code for t in tasks]
    if code in known or code not in _BY_WORDS:
        return [code] if code in known else []
    said = {t.code: f"{t.code} {t.name}".lower().replace("-", " ") for t in tasks}
    return [c for c, words in said.items() if all(any(w in words for w in one) for one in _BY_WORDS[code])]


def clock_changes(zone: ZoneInfo, today: date) -> list[str]:
    """Month-days by which clocks have changed each year, at the latest, in the ten years from ``today``; sorted.

    Where clocks change on a Sunday of a month, the latest date of that Sunday stands. Empty where they never change.
    """
    days: dict[tuple[str, bool], str] = {}
    noon = datetime(today.year, today.month, today.day, 12, tzinfo=UTC).astimezone(zone).replace(hour=12)
    for step in range(3653):
        before, after = noon + timedelta(days=step), noon + timedelta(days=step + 1)
        shift = (after.utcoffset() or timedelta()) - (before.utcoffset() or timedelta())
        if shift:
            place = (f"{after:%m}", shift > timedelta())
            days[place] = max(f"{after:%m-%d}", days.get(place, ""))
    return sorted(days.values())


def _clock_tasks(installed: Installed) -> Iterable[Offer]:
    if not installed.controllers:
        return
    how = "Compare it with the right time, write down how far it was off, set it. Look at the program too."
    changes = clock_changes(ZoneInfo(installed.home.timezone), installed.day)
    set_by_season = [c.name for c in installed.controllers if c.follows_dst]
    if not changes or not set_by_season:  # left on winter time all the year
        yield _offer("clock", "Check the controller's clock", COMMON, every_days=180, how=how)
        return
    all_of_them = len(set_by_season) == len(installed.controllers)
    of = "the controller's clock" if all_of_them else f"the clock of {' and '.join(set_by_season)}"
    for month_day in changes:
        # "clock" is the code that start-up settles; the change in spring falls nearest to it.
        north_spring = int(month_day[:2]) <= 6
        code = "clock" if north_spring is (installed.home.latitude >= 0) else "clock-back"
        name = f"Set {of} after the clock change"
        yield _offer(code, f"{name} ({'spring' if code == 'clock' else 'autumn'})", COMMON, due_by=month_day, how=how)


def _offer(
    code: str,
    name: str,
    source: str,
    *,
    every_days: int | None = None,
    due_by: str = "",
    watering: bool = False,
    how: str = "",
    caution: tuple[str, ...] = (),
) -> Offer:
    season: Literal["any", "watering"] = "watering" if watering else "any"
    return Offer(
        Task(
            code=code,
            name=name,
            every_days=every_days,
            due_by=due_by,
            season_only=season,
            caution=cautions(*caution),
            how=f"{how} (Source: {source}.)",
        ),
        source,
    )
