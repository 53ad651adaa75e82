"""What a leak hunt says of a finding: where it is, what it excludes, and what to look at because of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from core.accounts.findings import Cause, Finding, FindingKind, Rival
from core.book.kinds import LeakTest, Measured
from core.book.store import Book
from core.care.leak_hunt import Code
from core.days import Moment
from core.figures import Figure
from core.review.causes import may_be
from core.review.hunt import Hunt, Setting, Trial, hunts
from core.review.hunt_told import check_words, said_of
from core.review.hunted import begun, excludes, hunted, makes
from tests.core.review.trials import GALLON_L, GARDEN, HOUSE_ONLY, NIGHT, at, trial

DENVER = ZoneInfo("America/Denver")
DAY = date(2026, 9, 1)  # NIGHT is 04:00 UTC of the 2nd: 22:00 on the 1st in Denver
NAMES = {"hedge": "Hedge", "tubs": "Tubs"}

OFF = trial("off", 8, 2)  # 8 gal in 2 h: 3.5 to 4.5 gal/h
BEHIND_HOUSE = (OFF, trial("house", 0, 1), trial("manifold", 4, 1))
IN_GARDEN = (OFF, trial("manifold", 0, 1))
STILL = trial("off", 0, 2)


def leak(kind: FindingKind = "steady", rate_gal: float = 4.0, days: int = 10, **over: object) -> Finding:
    """A finding of so many gallons an hour for ten days, in the midst of which the hunt is made."""
    values: dict[str, object] = {
        "kind": kind, "meter": "curb", "zone": None, "group": (), "since": NIGHT - timedelta(days=days / 2),
        "until": NIGHT + timedelta(days=days / 2), "rate_lph": rate_gal * GALLON_L, "strength": "strong", "score": 9.0,
        "volume": Figure(rate_gal * GALLON_L * 24 * days, "volume"),
    }  # fmt: skip
    return Finding(**(values | over))  # type: ignore[arg-type]


def ruled_out(hunt: Hunt, found: Finding) -> set[tuple[str, str]]:
    """Kind and zone of what a hunt excludes, of the kinds that take more water than expected."""
    explains = makes(hunt, found, NIGHT)
    of_zones: tuple[FindingKind, ...] = ("stuck_open", "more_than_set")
    other: tuple[FindingKind, ...] = ("steady", "one_off", "misread")
    sorts = [(k, z) for k in of_zones for z in NAMES] + [(k, "") for k in other]
    return {(k, z) for k, z in sorts if excludes(hunt, k, (z,) if z else (), explains=explains)}


LINES = {("more_than_set", "hedge"), ("more_than_set", "tubs")}
VALVES = {("stuck_open", "hedge"), ("stuck_open", "tubs")}
OVER = {("one_off", ""), ("misread", "")}


@pytest.mark.parametrize(
    ("tests", "place", "excluded"),
    [
        (BEHIND_HOUSE, "inside", LINES | VALVES | OVER),
        ((OFF, trial("house", 4, 1), trial("manifold", 4, 1)), "service", LINES | VALVES | OVER),
        ((OFF, trial("house", 0, 1)), "inside", LINES | OVER),  # the drip line may take its water there
        (IN_GARDEN, "garden", LINES | OVER),
        ((*IN_GARDEN, trial("zone", 4, 1, zone="hedge")), "garden", LINES | OVER | {("stuck_open", "hedge")}),
        ((*IN_GARDEN, trial("zone", 0, 1, zone="hedge")), "zone", LINES | OVER | {("stuck_open", "tubs")}),
        ((OFF,), "moving", LINES | OVER),
        ((STILL,), "nothing", {("steady", "")} | VALVES),
    ],
)
def test_what_a_hunt_excludes(tests: tuple[Trial, ...], place: str, excluded: set[tuple[str, str]]) -> None:
    """By reason: what goes on with everything off is no line that leaks only while it runs, and no use that is over;
    what goes on with the drip line shut is no valve of it.
    """
    hunt = at(GARDEN, *tests)
    assert hunt.place == place
    assert ruled_out(hunt, leak()) == excluded


def test_a_zone_timed_while_it_ran_excludes_its_line_and_no_other() -> None:
    """The hedge takes 160 L/h by the book: 7 gal in ten minutes are 159 L/h."""
    hunt = at(GARDEN, STILL, trial("run", 7, 1 / 6, zone="hedge", step_l=GALLON_L / 10))
    hunt = at(GARDEN, STILL, replace(hunt.tests[1], volume_l=26.5, rate_lph=159.0, low_lph=157.0, high_lph=161.0))
    assert hunt.tests[1].verdict == "same"
    assert ("more_than_set", "hedge") in ruled_out(hunt, leak())
    assert ("more_than_set", "tubs") not in ruled_out(hunt, leak())


def test_a_drip_beside_a_large_leak_excludes_nothing() -> None:
    """What moves with everything off is 4 gal/h; the readings show 40."""
    assert ruled_out(at(GARDEN, *BEHIND_HOUSE), leak(rate_gal=40.0)) == set()


@pytest.mark.parametrize(
    ("setting", "tests", "said"),
    [
        (GARDEN, BEHIND_HOUSE, "puts it inside the house, not in the zones: it stops with the house valve shut"),
        (HOUSE_ONLY, (OFF, trial("house", 0, 1)), "puts it inside the house: it stops with the house valve shut."),
        (GARDEN, (OFF, trial("house", 0, 1)), "puts it behind the house valve, which stops it. Whether"),
        (GARDEN, (OFF, trial("house", 4, 1), trial("manifold", 4, 1)), "puts it between the meter and the house, not"),
        (GARDEN, IN_GARDEN, "puts it in the garden, not in the house"),
        (GARDEN, (*IN_GARDEN, trial("zone", 0, 1, zone="hedge")), "puts it at Hedge, whose valve lets water through"),
        (GARDEN, (OFF,), "1 September 2026: water moves with everything off: 3.5 to 4.5 gph. Where is not tested"),
        (GARDEN, (STILL,), "1 September 2026: in 2 h the register did not move: there is no leak above"),
    ],
)
def test_where_a_hunt_puts_it(setting: Setting, tests: tuple[Trial, ...], said: str) -> None:
    words = said_of(at(setting, *tests), setting, DAY, "us")
    assert words.startswith("The hunt of 1 September 2026")
    assert said in words


@pytest.mark.parametrize(
    ("tests", "too_old", "check"),
    [
        (BEHIND_HOUSE, True, "Look at the toilets first"),
        (
            (*IN_GARDEN, trial("zone", 0, 1, zone="hedge")),
            False,
            "Look at the valve of Hedge. Grit on",
        ),
        ((OFF,), False, "Go on with the leak hunt: shut the house valve."),
        (IN_GARDEN, False, "Go on with the leak hunt: shut Hedge alone."),
        ((OFF,), True, "Hunt again with everything off"),
        ((trial("off", 1, 2),), False, "Make the hunt's first test again: everything off, and wait "),
    ],
)
def test_what_to_check_first_follows_from_the_hunt(tests: tuple[Trial, ...], too_old: bool, check: str) -> None:
    words, caution = check_words(at(GARDEN, *tests), GARDEN, too_old=too_old)
    assert words.startswith(check)
    assert caution


# In a book


def minutes(after: float) -> Moment:
    return Moment(NIGHT + timedelta(minutes=after), -360)


def step(after: float, hours: float, gallons: int, shut: Code | str = "nothing") -> LeakTest:
    return LeakTest.model_validate(
        {
            "meter": "curb", "at": minutes(after), "before": 1000, "after": 1000 + gallons, "shut": shut,
            "duration": Measured(f"{hours}", "h", "duration"),
        }
    )  # fmt: skip


def of(book: Book, found: Finding, now: datetime = NIGHT + timedelta(days=5), *others: Finding) -> Finding:
    return hunted(found, book.frames(now), DENVER, now, "us", NAMES, (found, *others))


@pytest.fixture
def found_indoors(garden_book: Book) -> Book:
    """Everything off 8 gal in 2 h, house valve shut none in an hour, drip line shut 4 gal in an hour."""
    with garden_book.change("a hunt") as change:
        change.add(step(0, 2, 8))
        change.add(step(130, 1, 0, "house"))
        change.add(step(200, 1, 4, "manifold"))
    return garden_book


def test_a_finding_is_told_with_the_hunt_that_was_made_for_it(found_indoors: Book) -> None:
    line = Rival("more_than_set", "hedge", ("hedge",), "It could also be a line off or broken at Hedge, 900 gal.")
    told = of(found_indoors, leak(rivals=(line, Rival("steady", None, (), ""))))
    assert told.hunt.startswith("The hunt of 1 September 2026 puts it inside the house, not in the zones")
    assert [r.excluded for r in told.rivals] == [True, False]
    assert told.check_first.startswith("Look at the toilets first")
    assert "not turn is work for a licensed plumber" in told.caution


def test_a_valve_that_the_hunt_excludes_is_said_not_to_be_it(found_indoors: Book) -> None:
    told = of(found_indoors, leak("stuck_open", zone="hedge", group=("hedge",)))
    assert told.hunt.endswith("So it is not a valve that did not close at Hedge.")


def test_a_hunt_says_nothing_of_what_was_over_or_had_not_begun(found_indoors: Book) -> None:
    for since, until in ((-9, -1), (1, 4)):
        other = leak(since=NIGHT + timedelta(days=since), until=NIGHT + timedelta(days=until))
        assert of(found_indoors, other) == other
    less = leak("less_than_set", zone="hedge", group=("hedge",), volume=Figure(-900.0, "volume"))
    assert of(found_indoors, less) == less
    going = leak(until=None)
    assert of(found_indoors, going, NIGHT - timedelta(hours=1)).hunt == "", "it had not been made by then"
    assert of(found_indoors, going).hunt


def test_a_register_too_coarse_for_the_leak_clears_nothing(garden_book: Book) -> None:
    """In 2 h a register of a gallon is sure to show half a gallon an hour; a fifth of it may pass unseen."""
    with garden_book.change("a hunt") as change:
        change.add(step(0, 2, 0))
    slow = of(garden_book, leak(rate_gal=0.2, rivals=(Rival("stuck_open", "hedge", ("hedge",), ""),)))
    assert "too short to show" in slow.hunt
    assert not slow.rivals[0].excluded
    assert of(garden_book, leak()).hunt.endswith("So it had stopped by then, or water passes only while a zone runs.")


def test_a_hunt_from_before_the_repair_asks_for_another(found_indoors: Book) -> None:
    contradicted = leak(
        until=None, decision="repaired", repaired_on=date(2026, 9, 3), after="The meter contradicts the repair: ..."
    )
    told = of(found_indoors, contradicted)
    assert told.check_first.startswith("Hunt again with everything off")
    again = of(found_indoors, replace(contradicted, repaired_on=date(2026, 8, 30)))
    assert again.check_first.startswith("Look at the toilets first")


def test_what_a_hunt_found_at_a_zone_can_be_named_as_the_cause(garden_book: Book) -> None:
    with garden_book.change("a hunt") as change:
        change.add(step(0, 2, 8))
        change.add(step(130, 1, 0, "manifold"))
        change.add(step(200, 1, 0, "zone").model_copy(update={"zone": "hedge"}))
    told = of(garden_book, leak())
    assert told.hunt_cause == Cause("stuck_open", "hedge")
    assert may_be(told, NAMES)[Cause("stuck_open", "hedge")] == "a valve that did not close at Hedge"
    assert of(garden_book, leak(rate_gal=40.0)).hunt_cause is None, "too little to be it"


def test_a_hunt_begins_with_its_first_test() -> None:
    (hunt,) = hunts([OFF], GARDEN)
    assert begun(hunt) == NIGHT


@pytest.mark.parametrize(
    ("mine", "others", "told"),
    [
        (4.0, (0.6,), True),  # 3.5 to 4.5 gal/h moved with everything off
        (0.6, (4.0,), False),
        (0.6, (), True),  # nothing else was there: it may have grown
        (2.0, (2.0,), True),  # both of them together
        (1.0, (3.0,), False),  # which is the whole of it by itself, nearly
        (0.2, (0.8,), False),  # neither, but sooner the other
    ],
)
def test_of_two_leaks_at_once_a_hunt_is_of_the_one_whose_flow_it_measured(
    found_indoors: Book, mine: float, others: tuple[float, ...], told: bool
) -> None:
    found, now = leak(rate_gal=mine, days=60), NIGHT + timedelta(days=35)
    assert bool(of(found_indoors, found, now, *(leak(rate_gal=rate) for rate in others)).hunt) == told


def test_what_was_over_before_a_hunt_takes_nothing_from_it(found_indoors: Book) -> None:
    over = leak(since=NIGHT - timedelta(days=20), until=NIGHT - timedelta(days=10))
    assert of(found_indoors, leak(rate_gal=1.0), NIGHT + timedelta(days=5), over).hunt
