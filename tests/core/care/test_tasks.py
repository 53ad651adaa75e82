"""Tasks offered to a new book."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from core.book.kinds import Controller, Supply
from core.care.checklist import STEPS
from core.care.due import due_list
from core.care.tasks import clock_changes, starter_tasks
from tests.core.care.parts import HOME, garden


@pytest.mark.parametrize(
    ("zone", "days"),
    [
        # Energy Policy Act of 2005, sec. 110: second Sunday of March, first Sunday of November.
        ("America/Denver", ["03-14", "11-07"]),
        # Directive 2000/84/EC: last Sundays of March and October.
        ("Europe/Madrid", ["03-31", "10-31"]),
        ("America/Phoenix", []),
    ],
)
def test_clock_changes_are_named_by_their_latest_day(zone: str, days: list[str]) -> None:
    assert clock_changes(ZoneInfo(zone), date(2026, 1, 1)) == days


def test_offers_fit_what_is_installed() -> None:
    full = {o.task.code for o in starter_tasks(garden())}
    assert {"rinse-filter", "change-batteries", "backflow", "check-pressure", "clock", "clock-back"} <= full
    bare = garden(
        supplies=(Supply(code="main", name="m"),), controllers=(Controller(code="timer", name="t", power="mains"),)
    )
    assert not {"rinse-filter", "change-batteries", "backflow", "check-pressure"} & {
        o.task.code for o in starter_tasks(bare)
    }


def test_only_clocks_that_are_set_to_summer_time_are_to_be_set() -> None:
    two = (Controller(code="a", name="Shed box", follows_dst=False), Controller(code="b", name="Porch box"))
    named = {o.task.code: o.task.name for o in starter_tasks(garden(controllers=two))}
    assert named["clock"] == "Set the clock of Porch box after the clock change (spring)"
    assert named["clock-back"] == "Set the clock of Porch box after the clock change (autumn)"


def test_a_clock_that_is_left_on_winter_time_or_never_changes_is_looked_at_twice_a_year() -> None:
    """Setting it after the clock change would make the record of it wrong."""
    left = (Controller(code="timer", name="t", follows_dst=False),)
    arizona = HOME.model_copy(update={"timezone": "America/Phoenix"})
    for place in (garden(controllers=left), garden(home=arizona)):
        (clock,) = [o.task for o in starter_tasks(place) if o.task.code.startswith("clock")]
        assert (clock.every_days, clock.due_by) == (180, "")
    assert not [o for o in starter_tasks(garden(controllers=())) if o.task.code.startswith("clock")]


def test_spring_is_where_the_home_has_it() -> None:
    codes = {o.task.code: o.task.due_by for o in starter_tasks(garden())}
    assert (codes["clock"], codes["clock-back"]) == ("03-14", "11-07")
    south = HOME.model_copy(update={"latitude": -33.9, "timezone": "Australia/Sydney"})
    codes = {o.task.code: o.task.due_by for o in starter_tasks(garden(home=south))}
    # Sydney: first Sunday of October (forward), first Sunday of April (back).
    assert (codes["clock"], codes["clock-back"]) == ("10-07", "04-07")


def test_every_offer_has_a_rule_and_names_its_source() -> None:
    offers = starter_tasks(garden())
    assert len({o.task.code for o in offers}) == len(offers)
    for offer in offers:
        assert (offer.task.every_days is None) is bool(offer.task.due_by)
        assert f"(Source: {offer.source}.)" in offer.task.how
    assert due_list([o.task for o in offers], [], date(2026, 7, 1), True)


def test_steps_that_settle_a_task_name_one_on_offer() -> None:
    offered = {o.task.code for o in starter_tasks(garden())}
    settles = {k.fulfils for season in STEPS.values() for k in season} - {""}
    assert settles <= offered
