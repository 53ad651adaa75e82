"""Start times for programs that fit: on round minutes, in the night or early morning, one zone after the other.

    lay_out(programs, limits, taken=()) -> Layout

Drip is run before the sun is high: less evaporates and less is carried off by wind than by day, the plants go into a
hot day with full soil, and supply pressure is steady at night [common practice in extension leaflets, no source]. So
runs are to be over by ``MORNING_ENDS`` where that can be done; what cannot is said.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from functools import lru_cache

from core.notation import DayPattern, Starts
from core.water.clashes import SetProgram
from core.water.program import Fitting, Limits, watered

STEP = 5  # minutes: what a dial or a person sets without counting [common practice, no source]
FIRST = 4 * 60  # o'clock, from which runs are laid out as long as they end in time
EVENING, MORNING_ENDS = 21 * 60, 9 * 60  # the night: after sunset in most seasons, and before the day grows hot
_DAY = 1440
_MONDAY = date(2024, 1, 1)  # any would do: patterns are compared over a year


@dataclass(frozen=True, slots=True)
class Layout:
    """Start times of every zone and, in sentences, what does not fit the night or the allowed hours."""

    starts: dict[str, Starts]
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Run:
    """A run by the clock on the days of its pattern; ``begin`` 0 to 1439, its end may be past midnight."""

    zone: str
    days: DayPattern
    begin: int
    minutes: float
    spread: bool = False


@dataclass(frozen=True, slots=True)
class _Try:
    """All runs placed from one opening time on: those that overlap, run out of hours or into the day count."""

    runs: tuple[_Run, ...]
    crowded: tuple[_Run, ...]
    outside: tuple[_Run, ...]
    late: tuple[_Run, ...]

    def badness(self, limits: Limits) -> tuple[float, float, float]:
        """The less the better: runs that overlap, minutes outside the allowed hours, minutes by day."""
        outside = sum(_outside(r, limits) for r in self.outside)
        return len(self.crowded), outside, sum(_by_day(r.begin, r.minutes) for r in self.late if not r.spread)


def lay_out(
    programs: Mapping[str, Fitting],
    limits: Limits,
    taken: Sequence[SetProgram] = (),
    names: Mapping[str, str] | None = None,
) -> Layout:
    """Start times of all zones, so that no two are open at once, round by round for soaking.

    All from ``FIRST`` on where that fits; else each zone as late before the morning's end as it fits; else all from an
    earlier half hour, back to the evening, that leaves least outside the allowed hours, then least by day.

    Args:
        programs: zone to program, in the order they should run.
        limits: the hours the local rule allows.
        taken: what another controller has open on the same supply.
        names: of the zones, for the sentences.
    """
    if not programs:
        return Layout({}, ())
    held = [_Run("", p.days, t.hour * 60 + t.minute, p.minutes) for p in taken for t in p.starts.times]
    openings = _openings(limits)
    best = _placed(programs, limits, held, openings[0])
    ways = iter(_ways(programs, limits, held, openings))
    while best.badness(limits) != (0, 0, 0) and (found := next(ways, None)) is not None:
        best = min(best, found, key=lambda t: t.badness(limits))
    times = {zone: Starts(tuple(sorted(_clock(r.begin) for r in best.runs if r.zone == zone))) for zone in programs}
    return Layout(times, _problems(best, limits, names or {}))


def at_night(start: time, minutes: float) -> bool:
    """Whether a run lies within the night, from the evening to the morning's end."""
    return _by_day(_minute(start), minutes) <= 0


def _by_day(begin: int, minutes: float) -> float:
    """Minutes of a run by day, between the morning's end and the evening; 0 at night."""
    return min(max((begin - EVENING) % _DAY + minutes - (MORNING_ENDS - EVENING) % _DAY, 0.0), minutes)


def _openings(limits: Limits) -> list[int]:
    """Minutes of the day to begin at, the best first: within the hours the rule allows, and their own beginning."""
    back = [(FIRST - 30 * n) % _DAY for n in range((FIRST - EVENING) % _DAY // 30 + 1)]
    if limits.opens is None:
        return back
    opens = _up(_minute(limits.opens))
    return [b for b in back if (b - _minute(limits.opens)) % _DAY < limits.window_minutes] + [opens % _DAY]


def _ways(
    programs: Mapping[str, Fitting], limits: Limits, held: Sequence[_Run], openings: Sequence[int]
) -> Iterator[_Try]:
    """Zone by zone, each at the best opening beside those before it; then all together from every opening."""
    apart = _Try((), (), (), ())
    for zone, fit in programs.items():
        each = [_placed({zone: fit}, limits, [*held, *apart.runs], opening) for opening in openings]
        best = min(each, key=lambda t: t.badness(limits))
        apart = _Try(*(mine + more for mine, more in zip(_parts(apart), _parts(best), strict=True)))
    yield apart
    for opening in openings:
        yield _placed(programs, limits, held, opening)


def _parts(found: _Try) -> tuple[tuple[_Run, ...], ...]:
    return found.runs, found.crowded, found.outside, found.late


def _placed(programs: Mapping[str, Fitting], limits: Limits, held: Sequence[_Run], opening: int) -> _Try:
    runs: list[_Run] = []
    crowded: list[_Run] = []
    earliest = dict.fromkeys(programs, 0)
    for turn in range(max(f.starts for f in programs.values())):
        for zone, fit in programs.items():
            if turn >= fit.starts:
                continue
            after = _free(fit, [*held, *runs], opening, earliest[zone])
            run = _Run(zone, fit.days, (opening + (earliest[zone] if after is None else after)) % _DAY, fit.minutes,
                       fit.spread and turn > 0)  # fmt: skip
            runs.append(run)
            crowded += [run] if after is None else []
            begun = earliest[zone] if after is None else after
            earliest[zone] = _up(begun + fit.minutes + math.ceil(fit.soak_minutes))
    outside = tuple(r for r in runs if _outside(r, limits) > 0)
    return _Try(tuple(runs), tuple(crowded), outside, tuple(r for r in runs if _by_day(r.begin, r.minutes) > 0))


def _free(fit: Fitting, busy: Sequence[_Run], opening: int, earliest: int) -> int | None:
    """Minutes after the opening, from ``earliest`` on, at which nothing else runs on these days; None: at none."""
    begun = [(b.begin + day * _DAY, b.minutes) for b in busy for day in _met(fit.days, b.days)]
    after = _up(earliest)
    while after < earliest + _DAY:
        begin = (opening + after) % _DAY
        open_till = max(
            (b + length for b, length in begun if b < begin + fit.minutes and begin < b + length), default=0
        )
        if open_till <= begin:
            return after
        after += min(_up(open_till - begin), _DAY - begin)  # past midnight it would be another day's
    return None


@lru_cache(maxsize=4096)
def _met(mine: DayPattern, other: DayPattern) -> tuple[int, ...]:
    """On which of the day before (-1), the same day (0) and the day after (1) the other pattern ever waters.

    Days counted from a first day may begin on any, since controllers count from the day they are set.
    """
    if "every" in (mine.form, other.form):
        return (-1, 0, 1)
    days, others = set(watered(mine, _MONDAY)), set(watered(other, _MONDAY))
    return tuple(shift for shift in (-1, 0, 1) if any(day + shift in others for day in days))


def _outside(run: _Run, limits: Limits) -> float:
    """Minutes of a run outside the hours the local rule allows."""
    if limits.opens is None or limits.closes is None:
        return 0.0
    beyond = (run.begin - _minute(limits.opens)) % _DAY + run.minutes - limits.window_minutes
    return min(max(beyond, 0.0), run.minutes)


def _problems(found: _Try, limits: Limits, names: Mapping[str, str]) -> tuple[str, ...]:
    said = []
    if found.crowded:
        said.append(f"{_who(found.crowded, names)}: a day is too short to run all zones one after the other.")
    if found.outside and limits.opens is not None and limits.closes is not None:
        said.append(
            f"{_who(found.outside, names)}: the runs take longer than the {limits.window_minutes} min the local rule "
            f"allows, {limits.opens:%H:%M} to {limits.closes:%H:%M}."
        )
    spread = [r for r in found.late if r.spread]
    if spread:
        said.append(
            f"{_who(spread, names)}: some runs are by day, since what the soil holds does not last from one morning to "
            "the next."
        )
    late = [r for r in found.late if not r.spread and r not in found.crowded and r not in found.outside]
    if late:
        why = (
            "one night is too short for all runs" if limits.opens is None else "the allowed hours are not all at night"
        )
        said.append(
            f"{_who(late, names)}: {why}, so part of the water comes between {_clock(MORNING_ENDS):%H:%M} and "
            f"{_clock(EVENING):%H:%M}, when more evaporates and wind carries off more."
        )
    return tuple(said)


def _who(runs: Sequence[_Run], names: Mapping[str, str]) -> str:
    zones = [names.get(z, z) for z in dict.fromkeys(r.zone for r in runs)]
    return zones[0] if len(zones) == 1 else f"{', '.join(zones[:-1])} and {zones[-1]}"


def _up(minute: float) -> int:
    return math.ceil(minute / STEP - 1e-9) * STEP


def _minute(clock: time) -> int:
    return clock.hour * 60 + clock.minute


def _clock(minute: int) -> time:
    return time(minute // 60 % 24, minute % 60)
