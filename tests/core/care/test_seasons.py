"""Where the year stands on a day."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from core.book.kinds import ChecklistStep, Home, Pause, Task, Upkeep
from core.care.checklist import checklist
from core.care.seasons import care_due, cold_seen, season_state
from tests.core.care.parts import HOME, garden

WINTER = Pause(scope="all", since=date(2026, 10, 14), reason="winter")
PAST = Pause(scope="all", since=date(2025, 10, 12), until=date(2026, 4, 18), reason="winter")


def step(season: str, year: int, day: date, code: str = "close-supply") -> ChecklistStep:
    return ChecklistStep.model_validate({"season": season, "year": year, "step": code, "state": "done", "day": day})


def nights(**low_c: float) -> pd.DataFrame:
    """Weather with lows by day, ``d2026_10_12=-2.0``."""
    days = pd.to_datetime([k[1:].replace("_", "-") for k in low_c])
    return pd.DataFrame({"day": days, "tmin_c": list(low_c.values()), "tmax_c": 15.0})


def test_summer_waters_and_knows_when_it_ends() -> None:
    state = season_state(HOME, [PAST], [], date(2026, 10, 1))
    assert (state.state, state.watering, state.since) == ("watering", True, date(2026, 4, 18))
    assert (state.list_season, state.list_year, state.due) == ("shutdown", 2026, date(2026, 10, 20))
    assert state.sentence == "The system is in use. The shutdown is due by 20 October, in 19 days."


def test_a_shutdown_half_way_is_between_and_still_waters() -> None:
    steps = [step("shutdown", 2026, date(2026, 10, 12)), step("shutdown", 2026, date(2026, 10, 13), "store")]
    state = season_state(HOME, [PAST], steps, date(2026, 10, 22))
    assert (state.state, state.watering) == ("between", True)
    assert (state.list_season, state.list_year) == ("shutdown", 2026)
    assert state.sentence == (
        "The shutdown of 2026 is half way: its first step was on 12 October. "
        "The shutdown is 2 days past 20 October, the usual day."
    )


def test_as_of_a_day_before_the_first_step_nothing_had_begun() -> None:
    state = season_state(HOME, [PAST], [step("shutdown", 2026, date(2026, 10, 12))], date(2026, 10, 11))
    assert state.state == "watering"


def test_winter_shows_its_shutdown_first_and_the_startup_when_it_nears() -> None:
    steps = [step("shutdown", 2026, date(2026, 10, 14))]
    early = season_state(HOME, [PAST, WINTER], steps, date(2026, 11, 25))
    assert (early.state, early.watering, early.since) == ("shut_down", False, date(2026, 10, 14))
    assert (early.list_season, early.list_year) == ("shutdown", 2026)
    assert early.sentence == "Shut down since 14 October. The start-up is due by 20 April 2027, in 146 days."
    late = season_state(HOME, [PAST, WINTER], steps, date(2027, 3, 20))
    assert (late.list_season, late.list_year) == ("startup", 2027)
    missed = season_state(HOME, [PAST, WINTER], steps, date(2027, 5, 1))
    assert missed.list_season == "startup"
    assert missed.sentence == "Shut down since 14 October 2026. The start-up is 11 days past 20 April, the usual day."


def test_a_startup_half_way() -> None:
    steps = [step("shutdown", 2026, date(2026, 10, 14)), step("startup", 2027, date(2027, 4, 10), "look-over")]
    state = season_state(HOME, [PAST, WINTER], steps, date(2027, 4, 12))
    assert (state.state, state.watering, state.list_season, state.list_year) == ("between", False, "startup", 2027)


def test_a_list_walked_over_new_year_keeps_its_year() -> None:
    pause = Pause(scope="all", since=date(2027, 1, 2), reason="winter")
    steps = [step("shutdown", 2026, date(2026, 12, 30))]
    assert season_state(HOME, [], steps, date(2027, 1, 1)).list_year == 2026
    assert season_state(HOME, [pause], steps, date(2027, 1, 5)).list_year == 2026


def test_a_list_left_for_months_is_no_longer_half_way() -> None:
    state = season_state(HOME, [], [step("shutdown", 2025, date(2025, 10, 12))], date(2026, 10, 1))
    assert (state.state, state.list_year) == ("watering", 2026)


def test_other_pauses_are_not_winter() -> None:
    away = Pause(scope="all", since=date(2026, 7, 1), until=date(2026, 7, 20), reason="away")
    zone = Pause(scope="tubs", since=date(2026, 7, 1), reason="winter")
    assert season_state(HOME, [away, zone], [], date(2026, 7, 10)).state == "watering"


def test_the_south_has_its_winter_in_july() -> None:
    home = Home(name="x", latitude=-43.5, timezone="Pacific/Auckland", shutdown_due="05-25", startup_due="09-05")
    state = season_state(home, [], [], date(2026, 6, 10), nights(d2026_06_09=-3.0))
    assert state.due == date(2026, 5, 25)
    assert "16 days past 25 May, the usual day" in state.sentence
    assert "shut the system down now" in state.warning


@pytest.mark.parametrize(
    ("low_f", "kind"),
    [
        (37, None),
        (36, "frost"),
        (33, "frost"),
        (32, "freeze"),
        (29, "freeze"),
        (28, "hard freeze"),
        (10, "hard freeze"),
    ],
)
def test_frost_words_follow_the_national_weather_service(low_f: float, kind: str | None) -> None:
    """NWS: frost advisory 33 to 36 °F, freeze 32 °F or below, hard freeze 28 °F or below.

    A file in tenths of a degree Celsius must land on the same side.
    """
    low_c = round((low_f - 32) * 5 / 9, 1)
    cold = cold_seen(nights(d2026_10_12=low_c), date(2026, 10, 13))
    assert (cold.kind if cold else None) == kind


def test_a_hard_freeze_makes_the_shutdown_overdue_before_its_usual_day() -> None:
    weather = nights(d2026_10_05=8.0, d2026_10_06=-2.8, d2026_10_07=1.0)
    state = season_state(HOME, [PAST], [], date(2026, 10, 8), weather)
    assert state.due == date(2026, 10, 6)
    assert "2 days past 6 October, the night of a hard freeze" in state.sentence
    assert state.warning == (
        "A low of 27 °F was written down for 6 October, a hard freeze: "
        "shut the system down now, and look for cracks when the water comes back."
    )


def test_frost_only_reminds_and_a_spring_frost_asks_to_protect() -> None:
    state = season_state(HOME, [PAST], [], date(2026, 10, 8), nights(d2026_10_07=1.5))
    assert " past " not in state.sentence
    assert "before the first hard freeze (28 °F or below)" in state.warning
    spring = season_state(HOME, [PAST], [], date(2026, 5, 3), nights(d2026_05_02=-2.5))
    assert " past " not in spring.sentence
    assert "protect or drain" in spring.warning


def test_cold_nights_long_past_and_a_system_shut_down_are_silent() -> None:
    assert cold_seen(nights(d2026_10_01=-5.0), date(2026, 10, 20)) is None
    assert cold_seen(nights(d2026_10_10=-5.0), date(2026, 10, 12), since=date(2026, 10, 11)) is None
    assert cold_seen(None, date(2026, 10, 20)) is None
    assert cold_seen(nights(d2026_10_19=float("nan")), date(2026, 10, 20)) is None
    assert season_state(HOME, [WINTER], [], date(2026, 11, 8), nights(d2026_11_07=-9.0)).warning == ""


def test_a_home_without_usual_days_is_told_where_they_go() -> None:
    home = Home(name="x", latitude=41.0, timezone="America/Denver")
    assert "garden page" in season_state(home, [], [], date(2026, 7, 1)).sentence


def test_care_follows_the_season() -> None:
    rinse = Task(code="rinse", name="Rinse the filter", every_days=30, season_only="watering")
    done = [Upkeep(task="rinse", day=date(2026, 9, 1))]
    autumn = season_state(HOME, [PAST], [], date(2026, 10, 12))
    assert [i.task for i in care_due(HOME, [rinse], done, autumn, date(2026, 10, 12))] == ["rinse", "shutdown"]
    winter = season_state(HOME, [PAST, WINTER], [], date(2026, 11, 25))
    assert care_due(HOME, [rinse], done, winter, date(2026, 11, 25)) == []


def test_the_page_and_the_due_list_count_from_the_same_day() -> None:
    """A hard freeze on 10 October, before the usual day of 20 October; on 22 October both are 12 days past it."""
    weather, today = nights(d2026_10_10=-2.9, d2026_10_11=1.0), date(2026, 10, 22)
    state = season_state(HOME, [PAST], [], today, weather)
    (item,) = care_due(HOME, [], [], state, today)
    assert state.sentence.endswith("The shutdown is 12 days past 10 October, the night of a hard freeze.")
    assert item.sentence == "Shut the system down for winter: 12 days past 10 October, the night of a hard freeze."


def test_once_all_steps_are_settled_it_only_remains_to_finish() -> None:
    """No word of shutting down now, nor of days past the usual one, when the lines are drained already."""
    installed, today = garden(), date(2026, 10, 22)
    settled = [
        step("shutdown", 2026, date(2026, 10, 12), s.kind.code).model_copy(update={"subject": s.subject})
        for s in checklist("shutdown", 2026, installed, []).steps
    ]
    state = season_state(HOME, [PAST], settled, today, nights(d2026_10_20=-6.0), installed)
    assert state.sentence == "All steps of the shutdown of 2026 are settled; it remains to finish it."
    assert state.warning == ""
    (item,) = care_due(HOME, [], [], state, today)
    assert item.sentence == "Finish the shutdown: all its steps are settled."


def test_a_controller_turned_off_is_not_a_system_drained() -> None:
    off = Pause(scope="all", since=date(2026, 10, 15), reason="other")
    state = season_state(HOME, [PAST, off], [], date(2026, 10, 25))
    assert (state.state, state.watering, state.paused) == ("watering", True, True)
    assert state.sentence == (
        "Everything is paused since 15 October, but not shut down: the lines are still full. "
        "The shutdown is 5 days past 20 October, the usual day."
    )


def test_a_last_day_that_cannot_be_read_is_said_and_breaks_nothing() -> None:
    home = HOME.model_copy(update={"shutdown_due": "10/20"})  # as a book of an older program may hold it
    state = season_state(home, [PAST], [], date(2026, 10, 1), nights(d2026_09_30=-3.0))
    assert (
        "The usual day of shutdown on the garden page, “10/20”, cannot be read"
        in season_state(home, [PAST], [], date(2026, 7, 1)).sentence
    )
    assert "shut the system down now" in state.warning
