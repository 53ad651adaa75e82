"""The due list: dates counted by hand on a calendar."""

from __future__ import annotations

from datetime import date

import pytest

from core.book.kinds import Task, Upkeep
from core.care.due import coming, day_of_year, due_list, in_season, latest, overdue, say_day, season_due


def task(code: str, every: int | None = None, by: str = "", season: str = "any", name: str = "") -> Task:
    return Task.model_validate(
        {"code": code, "name": name or code, "every_days": every, "due_by": by, "season_only": season}
    )


def test_an_overdue_task_says_how_late_and_when_it_was_last_done() -> None:
    batteries = task("batteries", every=180, name="Change the controller's batteries")
    # 3 April + 180 days = 30 September (27 + 31 + 30 + 31 + 31 + 30 = 180); 12 October is 12 days later.
    items = due_list([batteries], [Upkeep(task="batteries", day=date(2026, 4, 3))], date(2026, 10, 12), True)
    assert [i.sentence for i in items] == ["Change the controller's batteries: 12 days overdue, last done 3 April."]
    assert items[0].due == date(2026, 9, 30)
    assert items[0].days_left == -12
    assert overdue(items) == items


def test_the_latest_entry_counts_and_entries_of_the_future_do_not() -> None:
    done = [Upkeep(task="filter", day=date(2026, 6, d)) for d in (20, 1)] + [
        Upkeep(task="filter", day=date(2026, 7, 9))
    ]
    items = due_list([task("filter", every=14)], done, date(2026, 7, 1), True)
    assert [(i.due, i.days_left, i.last_done) for i in items] == [(date(2026, 7, 4), 3, date(2026, 6, 20))]
    assert items[0].sentence == "filter: due in 3 days, on 4 July, last done 20 June."


def test_most_urgent_first_and_never_done_after_what_is_late() -> None:
    tasks = [task("soon", every=10), task("never", every=30), task("late", every=10), task("later", every=5)]
    done = [
        Upkeep(task="soon", day=date(2026, 7, 5)),
        Upkeep(task="late", day=date(2026, 6, 19)),
        Upkeep(task="later", day=date(2026, 6, 19)),
    ]
    items = due_list(tasks, done, date(2026, 7, 10), True)
    assert [(i.task, i.days_left) for i in items] == [("later", -16), ("late", -11), ("never", 0), ("soon", 5)]
    assert items[2].sentence == "never: not written down yet."


def test_what_is_far_off_is_left_out_until_asked_for() -> None:
    done = [Upkeep(task="yearly", day=date(2026, 7, 1))]
    assert due_list([task("yearly", every=365)], done, date(2026, 7, 10), True) == []
    (item,) = due_list([task("yearly", every=365)], done, date(2026, 7, 10), True, horizon_days=400)
    assert item.sentence == "yearly: due in 356 days, on 1 July 2027, last done 1 July."


def test_care_of_the_watering_season_rests_in_winter_and_falls_due_when_it_begins() -> None:
    rinse = task("rinse", every=30, season="watering")
    done = [Upkeep(task="rinse", day=date(2026, 9, 20))]
    assert due_list([rinse], done, date(2027, 1, 10), False) == []
    assert due_list([rinse], done, date(2026, 11, 10), True, paused=True) == []
    (item,) = due_list([rinse], done, date(2027, 4, 24), True, season_since=date(2027, 4, 22))
    assert (item.due, item.days_left) == (date(2027, 4, 22), -2)


@pytest.mark.parametrize(
    ("last", "today", "due"),
    [
        (None, date(2026, 10, 1), date(2026, 10, 15)),
        (date(2025, 10, 14), date(2026, 10, 20), date(2026, 10, 15)),  # last year's does not count for this year
        (date(2026, 9, 1), date(2026, 10, 20), date(2027, 10, 15)),  # done some weeks early counts
        (None, date(2026, 11, 20), date(2026, 10, 15)),
        (None, date(2027, 1, 20), date(2027, 10, 15)),  # never written down: perhaps done before the book began
        (date(2025, 10, 14), date(2027, 1, 20), date(2026, 10, 15)),
        (None, date(2026, 6, 1), date(2026, 10, 15)),  # half a year late is the next year's business
        (date(2026, 10, 1), date(2026, 10, 3), date(2027, 10, 15)),
    ],
)
def test_a_task_by_a_day_of_the_year(last: date | None, today: date, due: date) -> None:
    done = [Upkeep(task="t", day=last)] if last else []
    (item,) = due_list([task("t", by="10-15")], done, today, True, horizon_days=1000)
    assert item.due == due


def test_a_task_without_any_rule_never_falls_due() -> None:
    assert due_list([task("repair")], [], date(2026, 7, 1), True) == []


DUES = {"home_startup_due": "04-20", "home_shutdown_due": "10-20"}


@pytest.mark.parametrize(
    ("today", "watering", "since", "expected"),
    [
        (date(2026, 10, 15), True, None, ("shutdown", 5)),
        (date(2026, 11, 25), True, None, ("shutdown", -36)),
        (date(2027, 1, 5), True, None, ("shutdown", -77)),  # 11 + 30 + 31 + 5
        (date(2026, 7, 1), True, None, None),  # nobody is late for last October
        (date(2027, 3, 31), True, date(2027, 3, 30), None),  # begun early: last October's shutdown was done
        (date(2026, 10, 16), False, date(2026, 10, 14), None),  # shut early: last April's start-up was done
        (date(2027, 4, 10), False, date(2026, 10, 14), ("startup", 10)),
        (date(2027, 5, 2), False, date(2026, 10, 14), ("startup", -12)),
    ],
)
def test_shutdown_and_startup_come_round(
    today: date, watering: bool, since: date | None, expected: tuple[str, int] | None
) -> None:
    items = due_list([], [], today, watering, season_since=since, **DUES)
    assert [(i.task, i.days_left) for i in items] == ([expected] if expected else [])
    assert all(i.caution for i in items)


def test_the_season_line_is_a_sentence() -> None:
    (item,) = due_list([], [], date(2026, 11, 25), True, **DUES)
    assert item.sentence == "Shut the system down for winter: 36 days past 20 October, the usual day."


def test_seasons_turn_over_new_year_in_the_south_too() -> None:
    assert season_due("05-25", "09-05", None, date(2026, 6, 10)) == date(2026, 5, 25)
    assert season_due("05-25", "09-05", None, date(2026, 12, 10)) == date(2027, 5, 25)
    assert in_season(date(2027, 1, 1), "10-20", "04-20")
    assert not in_season(date(2026, 4, 20), "10-20", "04-20")


def test_month_days() -> None:
    assert day_of_year("02-29", 2026) == date(2026, 2, 28)
    assert day_of_year("02-29", 2028) == date(2028, 2, 29)
    assert day_of_year("", 2026) is None
    assert day_of_year("soon", 2026) is None
    assert latest("07-01", date(2026, 7, 1)) == date(2026, 7, 1)
    assert coming("07-01", date(2026, 7, 1)) == date(2027, 7, 1)
    assert say_day(date(2025, 4, 3), date(2026, 1, 1)) == "3 April 2025"


def test_a_day_that_cannot_be_read_is_said_where_the_reminder_would_be() -> None:
    """A book of an older program may hold “10/20”, which was taken without a word."""
    batteries = task("batteries", by="10-15").model_copy(update={"due_by": "10/15"})
    items = due_list([batteries], [], date(2026, 7, 1), True, home_startup_due="04-20", home_shutdown_due="10/20")
    assert {i.task: i.sentence.split(": ")[1] for i in items} == {
        "batteries": "its day of the year, “10/15”, cannot be read, so nothing reminds of it. "
        "Write month-day, such as 10-20.",
        "shutdown": "its day of the year, “10/20”, cannot be read, so nothing reminds of it. "
        "Write month-day, such as 10-20.",
    }
