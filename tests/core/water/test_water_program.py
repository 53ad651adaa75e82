"""Programs that fit and programs that clash."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import EntryError
from core.notation import parse_days, parse_starts
from core.water.clashes import SetProgram, clashes
from core.water.layout import lay_out
from core.water.program import Limits, ZoneNeed, controller_limits, fitting_program

FIRST = date(2026, 7, 1)  # a Wednesday
ALL_FORMS = frozenset({"weekdays", "odd-even", "every-n"})


def test_deep_and_seldom() -> None:
    """100 L a day at 200 L/h, a store of 4.2 days: every 4 days, 400 L, 120 minutes."""
    found = fitting_program(ZoneNeed(100, 200, 4.2), Limits(ALL_FORMS), FIRST)
    assert found is not None
    assert (str(found.days), found.starts, found.minutes) == ("every 4 from 2026-07-01", 1, 120)
    assert found.litres_a_week == pytest.approx(700)
    assert (found.longest_gap, found.risk) == (4, "")


def test_weekdays_alone_leave_no_longer_gap_than_the_store() -> None:
    found = fitting_program(ZoneNeed(100, 200, 3.5), Limits(), FIRST)
    assert found is not None
    assert found.longest_gap <= 3
    assert len(found.days.weekdays) == 3  # two days a week leave 4 days, three leave 3
    assert found.risk == ""


def test_local_rule_is_kept_and_its_risk_told() -> None:
    limits = Limits(ALL_FORMS, allowed=parse_days("tue sat"))
    found = fitting_program(ZoneNeed(100, 200, 2.0), limits, FIRST)
    assert found is not None
    assert all(limits.allowed.waters_on(d) for d in _watered(found.days))  # type: ignore[union-attr]
    assert "lasts 2.0 days" in found.risk


def test_odd_day_rule_needs_a_controller_that_knows_odd_days() -> None:
    need = ZoneNeed(100, 200, 3.0)
    found = fitting_program(need, Limits(frozenset({"odd-even"}), allowed=parse_days("odd")), FIRST)
    assert found is not None
    assert str(found.days) == "odd"
    with pytest.raises(EntryError, match="cannot be set"):
        fitting_program(need, Limits(allowed=parse_days("odd")), FIRST)


def test_pot_is_watered_several_times_a_day_spread_out() -> None:
    found = fitting_program(ZoneNeed(20, 40, 0.4), Limits(), FIRST)
    assert found is not None
    assert (str(found.days), found.starts, found.minutes) == ("daily", 3, 10)
    times = lay_out({"pots": found}, Limits()).starts["pots"].times
    assert [t.hour for t in times] == [4, 11, 19]


def test_too_much_for_the_longest_run_is_said() -> None:
    found = fitting_program(ZoneNeed(1000, 20, 9.0), Limits(max_starts=1, max_minutes=60), FIRST)
    assert found is not None
    assert "of the need" in found.risk
    assert found.minutes == 60


def test_runoff_splits_the_run() -> None:
    """25 mm/h on soil taking 5: 15 minutes a piece (5 mm may stand), so 40 minutes are three starts an hour apart."""
    found = fitting_program(ZoneNeed(100, 150, 1.0, 25.0, 5.0), Limits(), FIRST)
    assert found is not None
    assert (found.starts, found.minutes, found.soak_minutes) == (3, 13, 60.0)
    times = lay_out({"bed": found}, Limits(opens=time(5), closes=time(9))).starts["bed"]
    assert str(times) == "05:00 06:15 07:30"  # 05:00 + 13 + 60 is 06:13, on the next five minutes


def test_no_need_and_no_flow() -> None:
    assert fitting_program(ZoneNeed(0, 200, 4), Limits(), FIRST) is None
    with pytest.raises(EntryError, match="no flow"):
        fitting_program(ZoneNeed(10, 0, 4), Limits(), FIRST)


def _watered(pattern: Any) -> list[date]:
    days = [FIRST + timedelta(days=d) for d in range(60)]
    return [d for d in days if pattern.waters_on(d)]


@settings(max_examples=40, deadline=None)
@given(st.floats(1, 400), st.floats(20, 500), st.floats(0.3, 12))
def test_a_program_without_risk_gives_the_need(litres: float, flow: float, lasts: float) -> None:
    found = fitting_program(ZoneNeed(litres, flow, lasts), Limits(ALL_FORMS), FIRST)
    assert found is not None
    if not found.risk:
        assert found.longest_gap <= max(1.0, lasts)
        given_minutes = found.starts * found.minutes
        assert found.litres_a_week >= 0.96 * 7 * litres
        rounding = found.starts * flow / 60 * 7 / found.longest_gap  # one minute a start, at most daily
        assert found.litres_a_week <= 7 * litres + max(rounding, found.litres_a_week / given_minutes * found.starts)


def test_zones_run_one_after_the_other_and_overlong_nights_are_told() -> None:
    limits = Limits(opens=time(22), closes=time(2))
    one = fitting_program(ZoneNeed(300, 120, 1.0), limits, FIRST)
    two = fitting_program(ZoneNeed(250, 120, 1.0), limits, FIRST)
    assert one is not None
    assert two is not None
    found = lay_out({"hedge": one, "beds": two}, limits)
    assert str(found.starts["hedge"]) == "22:00"
    assert str(found.starts["beds"]) == "00:30"
    assert "240" in found.problems[0]
    assert lay_out({}, limits).problems == ()


def test_limits_from_a_controller_record() -> None:
    row = {
        "max_starts": 3,
        "max_minutes": 99,
        "day_choice": "weekdays, every-n",
        "allowed_days": "odd",
        "allowed_hours": "18:00-10:00",
    }
    found = controller_limits(row)
    assert found.forms == {"weekdays", "every-n"}
    assert (found.opens, found.closes, found.window_minutes) == (time(18), time(10), 16 * 60)
    assert controller_limits(row | {"allowed_days": "", "allowed_hours": ""}).window_minutes == 1440
    for wrong in ({"allowed_hours": "evenings"}, {"allowed_hours": "18:00"}, {"day_choice": "lunar"}):
        with pytest.raises(EntryError):
            controller_limits(row | wrong)


def program(zone: str, days: str, starts: str, minutes: float, flow: float) -> SetProgram:
    return SetProgram(zone, "a", parse_days(days), parse_starts(starts), minutes, flow)


def test_two_zones_at_once_beyond_the_supply() -> None:
    hedge, beds = (
        program("hedge", "mon thu", "05:00", 60, 700),
        program("beds", "every 3 from 2026-07-02", "05:30", 30, 500),
    )
    found = clashes([hedge, beds], Limits(), 1400.0, FIRST)
    assert [c.kind for c in found] == ["over_supply"]
    assert found[0].zones == ("beds", "hedge")
    assert found[0].amount == pytest.approx(1200 - 0.8 * 1400)
    assert found[0].day == date(2026, 7, 2)  # the first Thursday both water
    assert clashes([hedge, beds], Limits(), 1600.0, FIRST) == []
    assert clashes([hedge, beds], Limits(), None, FIRST) == []


def test_run_past_midnight_still_meets_the_next_day() -> None:
    late, early = program("late", "wed", "23:30", 60, 700), program("early", "thu", "00:10", 10, 700)
    assert clashes([late, early], Limits(), 1000.0, FIRST)[0].zones == ("early", "late")


def test_runs_against_the_local_rule() -> None:
    limits = Limits(allowed=parse_days("tue sat"), opens=time(18), closes=time(10))
    found = clashes([program("beds", "sat sun", "09:40", 30, 500)], limits, None, FIRST)
    kinds = {c.kind: c for c in found}
    assert kinds["outside_hours"].amount == pytest.approx(10.0)
    assert kinds["forbidden_day"].day == date(2026, 7, 5)
    noon = clashes([program("beds", "sat", "12:00", 30, 500)], limits, None, FIRST)
    assert noon[0].amount == 30.0
