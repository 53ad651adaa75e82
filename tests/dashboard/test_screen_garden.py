"""The garden: plain forms from the declarations, the two verbs, removal and its limits."""

from __future__ import annotations

from datetime import date

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import KINDS, Controller, EmitterGroup, Home, Household, Planting, Program, Supply, Zone
from core.book.store import Book
from dashboard.words import GARDEN
from tests.dashboard.conftest import Open, words


def field(at: AppTest, label: str, nth: int = 0) -> object:
    """A text field by the beginning of its label."""
    return [t for t in at.text_input if t.label.startswith(label)][nth]


def press(at: AppTest, label: str) -> None:
    next(b for b in at.button if b.label == label).click().run()
    assert not at.exception


def at_part(opened: Open, kind: str) -> AppTest:
    at = opened("garden")
    at.pills(key="part").set_value(kind).run()
    assert not at.exception
    return at


@pytest.mark.parametrize("kind", list(GARDEN))
def test_every_part_shows_its_records_and_a_form(opened: Open, kind: str) -> None:
    at = at_part(opened, kind)
    assert at.subheader[0].value == GARDEN[kind]
    assert KINDS[kind].HELP.split(".")[0] in words(at)


def test_the_program_changed_on_a_day_leaves_may_as_it_was(opened: Open, garden: Book) -> None:
    at = at_part(opened, "program")
    old = garden.records(Program)[0]
    at.button(key=f"row-change-program-{old.id}").click().run()
    assert at.radio[0].value == "It changed on a day"
    at.date_input[0].set_value(date(2026, 7, 6))
    field(at, "Minutes each start").input("45")  # type: ignore[attr-defined]
    press(at, "Store the change")
    versions = [(s.record.since, s.record.until, s.record.minutes) for s in garden.records(Program)]
    assert versions == [(date(2026, 5, 1), date(2026, 7, 6), 60.0), (date(2026, 7, 6), None, 45.0)]
    assert "Changed from 2026-07-06 on" in words(at)
    press(at, "Undo")
    assert [s.record for s in garden.records(Program)] == [old.record]


def test_the_program_wrong_all_along_is_corrected(opened: Open, garden: Book) -> None:
    at = at_part(opened, "program")
    old = garden.records(Program)[0]
    at.button(key=f"row-change-program-{old.id}").click().run()
    at.radio[0].set_value("It was written wrong all along").run()
    field(at, "Minutes each start").input("45")  # type: ignore[attr-defined]
    press(at, "Store the change")
    assert [(s.record.since, s.record.minutes) for s in garden.records(Program)] == [(date(2026, 5, 1), 45.0)]


def test_a_measured_value_untouched_keeps_its_digits(opened: Open, garden: Book) -> None:
    at = at_part(opened, "emitter_group")
    old = garden.records(EmitterGroup)[0]
    at.button(key=f"row-change-emitter_group-{old.id}").click().run()
    at.radio[0].set_value("It was written wrong all along").run()
    field(at, "How many").input("18")  # type: ignore[attr-defined]
    press(at, "Store the change")
    new = garden.get(EmitterGroup, old.id).record
    assert new.count == 18
    assert (new.flow_each.typed, new.flow_each.unit) == ("1", "gph")  # type: ignore[union-attr]


def test_a_zone_is_written_down_and_its_code_made(opened: Open, garden: Book) -> None:
    at = at_part(opened, "zone")
    field(at, "Name").input("Herb *spiral*")  # type: ignore[attr-defined]
    press(at, "Store")
    stored = garden.latest(Zone, 1)[0].record
    assert (stored.code, stored.name, stored.supply) == ("herb-spiral", "Herb *spiral*", "town")


def test_what_is_missing_is_said_and_the_rest_stays(opened: Open, garden: Book) -> None:
    at = at_part(opened, "planting")
    field(at, "Name").input("Rosemary")  # type: ignore[attr-defined]
    field(at, "How many plants").input("2,5")  # type: ignore[attr-defined]
    press(at, "Store")
    said = words(at)
    assert "“2,5” is not a whole number." in said
    assert "Nothing was stored." in said
    assert field(at, "Name").value == "Rosemary"  # type: ignore[attr-defined]
    assert len(garden.records(Planting)) == 1


def test_a_rule_between_fields_is_told_as_a_sentence(opened: Open, garden: Book) -> None:
    at = at_part(opened, "planting")
    field(at, "Name").input("Rosemary")  # type: ignore[attr-defined]
    press(at, "Store")
    assert "A width of the plant, of the pot or an area of the bed is needed." in words(at)


def test_what_others_rest_on_is_not_removed(opened: Open, garden: Book) -> None:
    at = at_part(opened, "zone")
    hedge = garden.find(Zone, "hedge")
    assert hedge is not None
    at.button(key=f"row-remove-zone-{hedge.id}").click().run()
    assert at.error
    assert "hedge" in at.error[0].value
    assert garden.find(Zone, "hedge") is not None


def test_the_supply_keeps_its_code(opened: Open, garden: Book) -> None:
    at = at_part(opened, "supply")
    town = garden.find(Supply, "town")
    assert town is not None
    at.button(key=f"row-change-supply-{town.id}").click().run()
    field(at, "Static pressure").input("62,5")  # type: ignore[attr-defined]
    press(at, "Store the change")
    changed = garden.get(Supply, town.id).record
    assert changed.code == "town"
    assert changed.static_pressure is not None
    assert changed.static_pressure.base == pytest.approx(62.5 * 6.894757293, rel=1e-6)  # psi (NIST SP 811)
    assert changed.backflow == town.record.backflow, "fields in the fold keep what they said"


def test_the_home_is_changed(opened: Open, garden: Book) -> None:
    at = at_part(opened, "home")
    home = garden.records(Home)[0]
    at.button(key=f"row-change-home-{home.id}").click().run()
    field(at, "Name").input("Birch house")  # type: ignore[attr-defined]
    press(at, "Store the change")
    assert garden.home().name == "Birch house"
    assert garden.home().people == home.record.people


def test_a_second_group_of_like_emitters_gets_a_code_of_its_own(opened: Open, garden: Book) -> None:
    for count in ("4", "6"):
        at = at_part(opened, "emitter_group")
        field(at, "How many").input(count)  # type: ignore[attr-defined]
        field(at, "Rated flow of one").input("0,5")  # type: ignore[attr-defined]
        field(at, "Plantings it waters").input("quince")  # type: ignore[attr-defined]
        press(at, "Store")
    codes = [s.record.code for s in garden.records(EmitterGroup)]
    assert codes == ["button", "button-2", "buttons"]


def test_a_new_controller_is_asked_about_summer_time_and_shows_it_unless_said_otherwise(
    opened: Open, garden: Book
) -> None:
    """Taken for winter time, every run of a summer would be looked for an hour late."""
    for name, set_by_somebody in (("Shelf box", True), ("Old box", False)):
        at = at_part(opened, "controller")
        asked = next(c for c in at.checkbox if c.label.startswith("Its clock is set to summer time"))
        assert "if nobody does, it shows winter time all the year" in asked.label
        fold = next(e for e in at.expander if e.label == "More, where you know it")
        assert asked.label not in [c.label for c in fold.checkbox]
        field(at, "Name").input(name)  # type: ignore[attr-defined]
        if not set_by_somebody:
            asked.uncheck()
        press(at, "Store")
        stored = next(s.record for s in garden.records(Controller) if s.record.name == name)
        assert stored.follows_dst is set_by_somebody


def test_what_needs_another_thing_says_so_first(opened: Open, garden: Book) -> None:
    bare = at_part(opened, "clock_check")
    assert any(t.label.startswith("Minutes fast") for t in bare.text_input)
    with garden.change("no controller") as change:
        zone = change.find(Zone, "hedge")
        assert zone is not None
        change.correct(zone.id, zone.record.model_copy(update={"controller": None}))
        change.remove(change.records(KINDS["controller"])[0].id, "controller")
    at = at_part(opened, "clock_check")
    assert "A clock check needs a controller. Write that down first." in words(at)


def test_a_height_nobody_gave_is_asked_for_in_feet_and_its_unit_may_stand_with_it(opened: Open, garden: Book) -> None:
    """A book of gallons and feet; 1,207 m are 3,960 ft (exact: 0.3048 m)."""
    at = at_part(opened, "home")
    home = garden.records(Home)[0]
    at.button(key=f"row-change-home-{home.id}").click().run()
    assert next(s for s in at.selectbox if s.label == "Unit of elevation").value == "ft"
    field(at, "Elevation").input("1207.008 m")  # type: ignore[attr-defined]
    press(at, "Store the change")
    stored = garden.home().elevation
    assert (str(stored), stored.base) == ("1207.008 m", 1207.008)
    at.button(key=f"row-change-home-{home.id}").click().run()
    assert next(s for s in at.selectbox if s.label == "Unit of elevation").value == "m", "as it was typed"


def test_another_number_of_people_is_asked_since_when_and_the_past_keeps_its_own(opened: Open, garden: Book) -> None:
    """The garden's readings begin on 1 July 2026."""
    home = garden.records(Home)[0]

    def send(people: str) -> AppTest:
        at = at_part(opened, "home")
        at.button(key=f"row-change-home-{home.id}").click().run()
        field(at, "People usually at home").input(people)  # type: ignore[attr-defined]
        press(at, "Store the change")
        return at

    at = send("1")
    assert "1 person is usually at home, no longer 2. From when?" in words(at)
    assert garden.home().people == 2, "nothing before it is answered"
    press(at, "From that day on")
    assert "Enter the day" in at.error[0].value
    at.date_input(key="since-when-day").set_value(date(2026, 7, 12))
    press(at, "From that day on")
    rows = [(s.record.since, s.record.until, s.record.people) for s in garden.records(Household)]
    assert (garden.home().people, rows) == (1, [(date(2026, 7, 1), date(2026, 7, 12), 2)])
    press(at, "Undo")
    assert (garden.home().people, garden.records(Household)) == (2, [])
    at = send("3")
    press(at, "It was always 3: 2 was wrong")
    assert (garden.home().people, garden.records(Household)) == (3, [])
    assert "From when?" not in words(at)
