"""Start times: round, at night, one zone after the other; checked minute by minute on a calendar of their own."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.notation import DayPattern, Starts, parse_days, parse_starts
from core.water.clashes import SetProgram
from core.water.layout import Layout, at_night, lay_out
from core.water.program import Fitting, Limits, ZoneNeed, fitting_program, minutes_by_weekday

FIRST = date(2026, 6, 1)  # a Monday


def fit(days: str, minutes: int, starts: int = 1, soak: float = 0.0, *, spread: bool = False) -> Fitting:
    return Fitting(parse_days(days), starts, minutes, 0.0, 7, soak, "", spread)


def spans(
    programs: Mapping[str, tuple[DayPattern, Starts, float]], first: date = FIRST
) -> list[tuple[int, float, str]]:
    """Begin and end, in minutes, of every run of ten weeks."""
    found = []
    for zone, (days, starts, minutes) in programs.items():
        for day in range(70):
            if days.waters_on(first + timedelta(days=day)):
                begins = [day * 1440 + t.hour * 60 + t.minute for t in starts.times]
                found += [(b, b + minutes, zone) for b in begins]
    return sorted(found)


def overlaps(fits: Mapping[str, Fitting], found: Layout) -> bool:
    runs = spans({z: (f.days, found.starts[z], f.minutes) for z, f in fits.items()})
    return any(b[0] < a[1] for a, b in pairwise(runs))


def said(found: Layout) -> dict[str, str]:
    return {zone: str(starts) for zone, starts in found.starts.items()}


def test_the_next_zone_begins_on_the_next_five_minutes() -> None:
    """04:00 and 3:31 is 07:31."""
    found = lay_out({"hedge": fit("mon", 211), "beds": fit("mon", 75)}, Limits())
    assert said(found) == {"hedge": "04:00", "beds": "07:35"}
    assert found.problems == ()


def test_what_would_not_end_by_nine_runs_before() -> None:
    """After the hedge 1:48 would end at 09:23; from 02:00 on it is over at 03:48."""
    found = lay_out({"hedge": fit("mon", 211), "beds": fit("mon", 108)}, Limits())
    assert said(found) == {"hedge": "04:00", "beds": "02:00"}
    assert found.problems == ()


def test_a_long_night_begins_the_evening_before_and_never_runs_at_noon() -> None:
    """Three zones of 200 minutes are ten hours; 21:00 to 9:00 is the night. 21:00 and 3:20 is 00:20."""
    fits = {z: fit("daily", 200) for z in ("a", "b", "c")}
    found = lay_out(fits, Limits())
    assert said(found) == {"a": "04:00", "b": "00:30", "c": "21:00"}
    assert not overlaps(fits, found)
    assert found.problems == ()


def test_zones_of_different_weekdays_may_begin_at_the_same_time() -> None:
    found = lay_out({"a": fit("mon thu", 120), "b": fit("tue fri", 120)}, Limits())
    assert said(found) == {"a": "04:00", "b": "04:00"}


def test_days_counted_from_a_first_day_may_meet_any() -> None:
    """Two zones every two days, a day apart now: a controller counts anew from the day it is set."""
    fits = {"a": fit("every 2 from 2026-06-01", 60), "b": fit("every 2 from 2026-06-02", 60)}
    assert said(lay_out(fits, Limits())) == {"a": "04:00", "b": "05:00"}


def test_what_another_controller_runs_on_the_same_supply_is_waited_for() -> None:
    taken = [SetProgram("lawn", "a", parse_days("daily"), parse_starts("04:00"), 52, 100)]
    assert said(lay_out({"a": fit("mon", 60)}, Limits(), taken)) == {"a": "04:55"}


def test_soaking_pauses_are_kept_and_used_by_the_others() -> None:
    found = lay_out({"a": fit("mon", 13, 3, 60), "b": fit("mon", 20)}, Limits())
    assert said(found) == {"a": "04:00 05:15 06:30", "b": "04:15"}


def test_more_than_a_night_says_so() -> None:
    """Four zones of 200 minutes are 13 h 20 min; the night has twelve."""
    fits = {z: fit("mon", 200) for z in ("a", "b", "c", "d")}
    found = lay_out(fits, Limits(), names={"d": "Slope"})
    assert not overlaps(fits, found)
    assert found.problems == (
        "Slope: one night is too short for all runs, so part of the water comes between 09:00 and 21:00, when more "
        "evaporates and wind carries off more.",
    )


def test_hours_by_day_alone_are_kept_and_said() -> None:
    found = lay_out({"a": fit("mon", 60)}, Limits(opens=time(10), closes=time(16)))
    assert said(found) == {"a": "10:00"}
    assert "the allowed hours are not all at night" in found.problems[0]


def test_a_wide_rule_is_used_at_its_best_hours() -> None:
    """18:00 to 10:00 is allowed; an hour is best over before nine, and needs no evening sun."""
    assert said(lay_out({"a": fit("mon", 60)}, Limits(opens=time(18), closes=time(10)))) == {"a": "04:00"}


def test_several_runs_a_day_for_a_small_store_are_said() -> None:
    found = lay_out({"pots": fit("daily", 10, 3, 460, spread=True)}, Limits(), names={"pots": "Pots"})
    assert said(found) == {"pots": "04:00 11:50 19:40"}
    assert found.problems == (
        "Pots: some runs are by day, since what the soil holds does not last from one morning to the next.",
    )


def test_more_than_a_day_says_so() -> None:
    fits = {z: fit("daily", 500) for z in ("a", "b", "c")}
    assert "a day is too short" in lay_out(fits, Limits()).problems[0]


@pytest.mark.parametrize(
    ("start", "minutes", "night"),
    [("21:00", 720, True), ("21:00", 721, False), ("08:00", 60, True), ("08:01", 60, False), ("12:00", 5, False)],
)
def test_the_night_is_from_nine_to_nine(start: str, minutes: float, night: bool) -> None:
    assert at_night(time.fromisoformat(start), minutes) is night


def test_weekdays_are_spread_evenly_over_the_week() -> None:
    """Three zones twice a week, 3 and 4 days apart: no day gets all; three days a week lie 2, 2 and 3 apart."""
    busy = [0.0] * 7
    for _ in range(3):
        found = fitting_program(ZoneNeed(100, 200, 4.0), Limits(), FIRST, busy)
        assert found is not None
        days = sorted(found.days.weekdays)
        assert len(days) == 2
        assert (days[1] - days[0]) in (3, 4)
        busy = [a + b for a, b in zip(busy, minutes_by_weekday(found, FIRST), strict=True)]
    assert sorted(minutes > 0 for minutes in busy) == [False] + [True] * 6
    three = fitting_program(ZoneNeed(100, 200, 3.0), Limits(), FIRST)
    assert three is not None
    days = sorted(three.days.weekdays)
    assert sorted((b - a for a, b in pairwise([*days, days[0] + 7]))) == [2, 2, 3]


DAYS = st.sampled_from(["daily", "mon wed fri", "tue sat", "sun", "odd", "even", "every 3 from 2026-06-02"])
FITS = st.dictionaries(
    st.sampled_from("abcdef"),
    st.builds(fit, DAYS, st.integers(1, 240), st.integers(1, 4), st.sampled_from([0.0, 17.5, 60.0])),
    min_size=1,
)
HOURS = st.sampled_from(
    [(None, None), (time(18), time(10)), (time(5), time(9)), (time(22), time(2)), (time(4, 3), time(8))]
)


@settings(deadline=None, max_examples=150)
@given(FITS, HOURS)
def test_round_apart_and_within_the_hours_or_said(
    fits: dict[str, Fitting], hours: tuple[time | None, time | None]
) -> None:
    limits = Limits(opens=hours[0], closes=hours[1])
    found = lay_out(fits, limits)
    assert set(found.starts) == set(fits)
    for zone, program in fits.items():
        times = found.starts[zone].times
        assert len(times) == program.starts or found.problems
        assert all(t.minute % 5 == 0 and t.second == 0 for t in times)
    asked = sum(f.starts * (f.minutes + 4) for f in fits.values())  # each waits up to 4 minutes for a round one
    if asked <= 1440 and all(f.soak_minutes == 0 for f in fits.values()):
        assert not overlaps(fits, found)
    assert not overlaps(fits, found) or found.problems
    if not found.problems:
        for zone, program in fits.items():
            for t in found.starts[zone].times:
                assert at_night(t, program.minutes) or hours[0] is not None
                if hours[0] is not None and hours[1] is not None:
                    opens, closes = (h.hour * 60 + h.minute for h in hours if h is not None)
                    assert (t.hour * 60 + t.minute - opens) % 1440 + program.minutes <= (closes - opens) % 1440


@settings(deadline=None, max_examples=60)
@given(st.lists(st.integers(1, 100), min_size=1, max_size=6), HOURS)
def test_what_fits_the_hours_is_within_them(minutes: list[int], hours: tuple[time | None, time | None]) -> None:
    """Run after run, each up to 4 minutes late for a round start: if that fits from the first round minute, nothing is
    outside and nothing is said."""
    fits = {f"z{n}": fit("daily", length) for n, length in enumerate(minutes)}
    limits = Limits(opens=hours[0], closes=hours[1])
    asked = sum(-(-length // 5) * 5 for length in minutes)
    room = {None: 720, time(18): 720, time(5): 240, time(22): 240, time(4, 3): 235}[hours[0]]
    found = lay_out(fits, limits)
    if asked <= room:
        assert found.problems == ()
        assert not overlaps(fits, found)
