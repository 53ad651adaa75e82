"""Guided shutdown and start-up: fitted to what is installed, resumable, ended in one proposal."""

from __future__ import annotations

from datetime import date

import pytest

from core.book.kinds import ChecklistStep, Controller, Measured, Pause, Planting, Supply, Task, Upkeep, Zone
from core.care.cautions import CAUTIONS
from core.care.checklist import STEPS, Checklist, checklist, finish_shutdown, finish_startup, settle
from core.errors import EntryError
from tests.core.care.parts import garden

DAY = date(2026, 10, 14)


def settled(season: str, *, year: int = 2026, day: date = DAY, skip: tuple[str, ...] = ()) -> Checklist:
    """A list with everything done but the optional steps and those named."""
    empty = checklist(season, year, garden(), [])  # type: ignore[arg-type]
    records = [settle(empty, s, "done", day) for s in empty.open_steps if s.kind.code not in skip]
    return checklist(season, year, garden(), records)  # type: ignore[arg-type]


def codes(of: Checklist) -> list[tuple[str, str]]:
    return [(s.kind.code, s.subject) for s in of.steps]


def test_a_shutdown_follows_the_published_order() -> None:
    """Colorado State University Extension and garden columns, merged in the facts of the trade:

    shut the supply, let the pressure off, take off and drain timer, backflow device, filter and regulator, open the
    ends, insulate what stays, refit the ends.
    """
    order = [c for c, _ in codes(checklist("shutdown", 2026, garden(), []))]
    told = ["close-supply", "let-off-pressure", "batteries-out", "backflow-drain", "filter-off", "regulator-off"]
    assert [order.index(c) for c in told] == sorted(order.index(c) for c in told)
    assert order.index("regulator-off") < order.index("open-ends") < order.index("close-loosely") < order.index("store")


def test_a_startup_follows_the_published_order() -> None:
    """Garden columns and municipal pages: clean filter, ends open, open slowly, mains before laterals, then look."""
    order = [c for c, _ in codes(checklist("startup", 2027, garden(), []))]
    told = ["filter-clean", "open-ends", "open-slowly", "flush-main", "flush", "run-and-look", "set-program"]
    assert [order.index(c) for c in told] == sorted(order.index(c) for c in told)


def test_each_valve_has_its_own_steps_and_the_hose_outlet_another() -> None:
    steps = codes(checklist("shutdown", 2026, garden(), []))
    assert [s for c, s in steps if c == "let-off-pressure"] == ["tubs", "edge"]
    assert [s for c, s in steps if c == "hose-off"] == ["outlet"]
    assert ("barrel-empty", "butt") in steps
    assert ("winter-water", "") in steps
    assert ("last-reading", "house") in steps


def test_what_is_not_installed_is_not_asked_for() -> None:
    bare = garden(
        supplies=(Supply(code="main", name="house main"),),
        controllers=(Controller(code="timer", name="box", power="mains"),),
        zones=(Zone(code="tubs", name="tubs", supply="main", controller="timer"),),
        plantings=(
            Planting(
                zone="tubs",
                code="basil",
                since=date(2026, 5, 1),
                name="basil",
                plant_type="herbs",
                in_pots=True,
                pot_width=Measured("12", "in", "length"),
                planted_on=date(2026, 5, 1),
            ),
        ),
    )
    found = {c for c, _ in codes(checklist("shutdown", 2026, bare, []))}
    missing = {"backflow-drain", "filter-off", "regulator-off", "manifold-drain", "batteries-out"}
    assert not found & (missing | {"hose-off", "barrel-empty", "winter-water"})
    assert "controller-off" in found


def test_new_plants_in_the_ground_want_water_in_a_dry_winter() -> None:
    young = Planting(
        zone="edge",
        code="sage",
        since=date(2026, 6, 1),
        name="sage",
        plant_type="perennial",
        canopy=Measured("1", "ft", "length"),
        planted_on=date(2026, 6, 1),
    )
    assert garden(plantings=(young,)).parts("woody")
    assert not garden(plantings=(young,), day=date(2027, 10, 1)).parts("woody")


def test_a_list_is_taken_up_where_it_stopped() -> None:
    empty = checklist("shutdown", 2026, garden(), [])
    first, second = empty.steps[:2]
    half = checklist(
        "shutdown",
        2026,
        garden(),
        [settle(empty, first, "done", DAY), settle(empty, second, "skipped", DAY, "valve stuck")],
    )
    assert half.next_step is not None
    assert (half.next_step.kind.code, half.next_step.subject) == ("let-off-pressure", "edge")
    assert half.water_turned == DAY
    required = sum(not s.kind.optional for s in half.steps)
    spare = len(half.steps) - required
    assert spare > 0
    told = f"2 of {required} steps settled (1 skipped), {spare} more may apply"
    assert half.progress.sentence == told, "the list is numbered to the last of all its steps"
    assert half.progress.open == required - 2
    optional = next(s for s in half.steps if s.kind.optional)
    more = checklist("shutdown", 2026, garden(), [settle(empty, optional, "done", DAY)])
    assert more.progress.sentence.startswith(f"1 of {required + 1} steps settled"), "one that was settled counts as any"


def test_steps_of_other_years_and_of_parts_taken_out_do_not_mix_in() -> None:
    empty = checklist("shutdown", 2025, garden(), [])
    old = settle(empty, empty.steps[0], "done", date(2025, 10, 12))
    gone = ChecklistStep(season="shutdown", year=2026, step="open-ends", subject="lawn", state="done", day=DAY)
    now = checklist("shutdown", 2026, garden(), [old, gone])
    assert now.progress.done == 0
    assert now.others == (gone,)


def test_skipping_needs_a_reason() -> None:
    empty = checklist("shutdown", 2026, garden(), [])
    with pytest.raises(EntryError, match="say why"):
        settle(empty, empty.steps[0], "skipped", DAY)


def test_blowing_out_is_a_choice_and_carries_its_caution() -> None:
    (blow,) = [s for s in checklist("shutdown", 2026, garden(), []).steps if s.kind.code == "blow-out"]
    assert blow.kind.optional
    for word in ("eye protection", "50 psi", "professional", "licensed"):
        assert word in blow.caution


def test_every_step_says_why_and_where_it_is_from() -> None:
    kinds = [k for season in STEPS.values() for k in season]
    assert all(k.why and k.words and k.source and set(k.cautions) <= set(CAUTIONS) for k in kinds)
    for season in STEPS.values():
        assert len({k.code for k in season}) == len(season)


def test_every_caution_defers_to_someone() -> None:
    for caution in CAUTIONS.values():
        assert caution.sources
        assert caution.text.endswith(caution.defers_to)
    assert "licensed" in CAUTIONS["backflow"].text
    assert "811" in CAUTIONS["digging"].text
    assert "GFCI" in CAUTIONS["electricity"].text


def test_a_shutdown_ends_in_a_winter_pause_from_the_day_the_water_was_shut() -> None:
    proposal = finish_shutdown(settled("shutdown"), [])
    (pause,) = proposal.add
    assert isinstance(pause, Pause)
    assert (pause.scope, pause.since, pause.until, pause.reason) == ("all", DAY, None, "winter")
    assert proposal.words == "Shut down from 14 October 2026: no runs are expected until the start-up is finished."


def test_a_list_with_open_steps_cannot_be_finished() -> None:
    with pytest.raises(EntryError, match=r"2 steps are still open: Wrap .*; Store "):
        finish_shutdown(settled("shutdown", skip=("wrap", "store")), [])
    with pytest.raises(EntryError, match="not a start-up list"):
        finish_startup(settled("shutdown"), [])


def test_without_a_day_the_list_asks_for_it() -> None:
    empty = checklist("shutdown", 2026, garden(), [])
    records = [settle(empty, s, "not_needed", DAY) for s in empty.steps]
    unknown = checklist("shutdown", 2026, garden(), records)
    with pytest.raises(EntryError, match="On which day"):
        finish_shutdown(unknown, [])
    assert finish_shutdown(unknown, [], day=date(2026, 10, 12)).add[0].since == date(2026, 10, 12)  # type: ignore[attr-defined]


def test_a_shutdown_ends_an_absence_that_was_running() -> None:
    away = Pause(scope="all", since=date(2026, 10, 10), reason="away")
    zone = Pause(scope="tubs", since=date(2026, 10, 1), reason="repair")
    proposal = finish_shutdown(settled("shutdown"), [away, zone])
    assert proposal.correct == (away.model_copy(update={"until": DAY}),)
    same_day = Pause(scope="all", since=DAY, until=date(2026, 10, 16), reason="rain")
    proposal = finish_shutdown(settled("shutdown"), [same_day])
    assert [(p.since, p.until, p.reason) for p in proposal.correct] == [(DAY, None, "winter")]  # type: ignore[attr-defined]
    assert proposal.add == ()


def test_a_shutdown_already_written_is_left_alone_and_a_stale_one_is_told() -> None:
    winter = Pause(scope="all", since=date(2026, 10, 12), reason="winter")
    proposal = finish_shutdown(settled("shutdown"), [winter])
    assert (proposal.add, proposal.correct) == ((), ())
    assert "12 October" in proposal.words
    stale = Pause(scope="all", since=date(2025, 10, 12), reason="winter")
    with pytest.raises(EntryError, match="never ended"):
        finish_shutdown(settled("shutdown"), [stale])
    planned = Pause(scope="all", since=date(2026, 12, 20), until=date(2026, 12, 27), reason="away")
    with pytest.raises(EntryError, match="20 December"):
        finish_shutdown(settled("shutdown"), [planned])


def test_a_startup_ends_every_winter_pause() -> None:
    spring = date(2027, 4, 18)
    winter = Pause(scope="all", since=DAY, reason="winter")
    outlet = Pause(scope="outlet", since=DAY, reason="winter")
    last = Pause(scope="all", since=date(2025, 10, 10), until=date(2026, 4, 20), reason="winter")
    repair = Pause(scope="tubs", since=date(2027, 3, 1), reason="repair")
    proposal = finish_startup(settled("startup", year=2027, day=spring), [last, winter, outlet, repair])
    assert [(p.scope, p.since, p.until) for p in proposal.correct] == [  # type: ignore[attr-defined]
        ("all", DAY, spring),
        ("outlet", DAY, spring),
    ]
    with pytest.raises(EntryError, match="must come after"):
        finish_startup(settled("startup", year=2027, day=DAY), [winter])


def test_care_done_on_the_way_is_written_as_done_once() -> None:
    spring = date(2027, 4, 18)
    tasks = [Task(code="rinse-filter", name="Rinse"), Task(code="flush-lines", name="Flush")]
    list_ = settled("startup", year=2027, day=spring)
    proposal = finish_startup(list_, [], tasks, [Upkeep(task="rinse-filter", day=spring)])
    assert [(u.task, u.day) for u in proposal.add] == [("flush-lines", spring)]  # type: ignore[attr-defined]
