"""Codes that no foreign key holds: a planting that is watered, a zone with a pause. Undo and correcting heed them."""

from __future__ import annotations

from datetime import date

import pytest

from core.book.kinds import EmitterGroup, FactorMonth, OtherUse, Pause, Planting, Record, Supply, Zone
from core.book.store import Book
from core.errors import InUseError, UndoError
from tests.core.book.test_book_planting_removed import CAN, RESTING, planting, tubs, write

__all__ = ["tubs"]
GROUP = RESTING[0][0]
SHED = Zone(code="shed", name="Shed", supply="street")
OFF = Pause(scope="shed", since=date(2026, 7, 1), until=date(2026, 7, 8), reason="repair")


def did(book: Book, what: str, *records: Record) -> int:
    with book.change(what) as change:
        for record in records:
            change.add(record)
    assert change.number is not None
    return change.number


def gone(book: Book, what: str, kind: type[Record]) -> int:
    """Remove the only record of a kind."""
    with book.change(what) as change:
        change.remove(book.records(kind)[0].id, kind)
    assert change.number is not None
    return change.number


@pytest.mark.parametrize(("rests", "named"), RESTING)
def test_the_addition_of_a_planting_that_others_name_is_not_undone(tubs: Book, rests: Record, named: str) -> None:
    added = did(tubs, "planted", planting("2026-05-01"))
    later = did(tubs, "wrote what rests on it", rests)
    with pytest.raises(UndoError) as refused:
        tubs.undo(added)
    said = str(refused.value)
    assert said.startswith(
        f"Change set {added} (“planted”) cannot be undone: planting tubs, herbs, 2026-05-01 is used by {named}"
    )
    assert said.endswith(
        f", written by change set {later} (“wrote what rests on it”). Undo that first. Nothing was changed."
    )
    assert len(tubs.records(Planting)) == 1
    tubs.undo(later)
    tubs.undo(added)
    assert tubs.records(Planting) == []


def test_a_planting_and_what_names_it_go_together(tubs: Book) -> None:
    both = did(tubs, "laid out", planting("2026-05-01"), *(record for record, _ in RESTING))
    again = tubs.undo(tubs.undo(both))
    assert len(tubs.records(Planting)) == 1
    assert len(tubs.records(EmitterGroup)) == 1
    tubs.undo(again)
    assert tubs.records(Planting) == tubs.records(EmitterGroup) == []


def test_a_later_version_is_undone_while_an_earlier_one_stays(tubs: Book) -> None:
    write(tubs, planting("2026-05-01", "2026-06-01"))
    later = did(tubs, "grown", planting("2026-06-01"))
    write(tubs, GROUP)
    tubs.undo(later)
    assert len(tubs.records(Planting)) == 1


def test_what_names_a_planting_of_another_zone_does_not_hold_the_undo(tubs: Book) -> None:
    added = did(tubs, "planted", planting("2026-05-01"))
    write(tubs, OtherUse(**CAN, zone="hedge"))
    tubs.undo(added)
    assert tubs.records(Planting) == []


def test_the_code_of_a_planting_that_others_name_is_not_corrected(tubs: Book) -> None:
    (row,) = write(tubs, planting("2026-05-01"))
    write(tubs, GROUP)
    for other in ({"code": "thyme"}, {"zone": "hedge"}):
        with pytest.raises(InUseError) as refused, tubs.change("x") as change:
            change.correct(row, planting("2026-05-01").model_copy(update=other))
        assert str(refused.value) == (
            "Planting tubs, herbs, 2026-05-01 cannot get another zone or code: emitter group tubs, drip, 2026-05-01 "
            "refers to it. Change its name, or remove that first."
        )
    with tubs.change("its name, and when it was planted") as change:
        change.correct(row, planting("2026-04-01").model_copy(update={"name": "Thyme"}))


def test_a_correction_of_a_code_is_not_undone_once_others_name_it(tubs: Book) -> None:
    (row,) = write(tubs, planting("2026-05-01").model_copy(update={"code": "hrebs"}))
    with tubs.change("misspelt") as change:
        change.correct(row, planting("2026-05-01"))
    write(tubs, GROUP)
    assert change.number is not None
    with pytest.raises(UndoError, match=r"planting tubs, herbs, 2026-05-01 is used by emitter group tubs, drip"):
        tubs.undo(change.number)
    assert tubs.records(Planting)[0].record.code == "herbs"


@pytest.mark.parametrize(("rests", "named"), RESTING)
def test_what_names_a_planting_that_is_gone_does_not_come_back(tubs: Book, rests: Record, named: str) -> None:
    write(tubs, planting("2026-05-01"), planting("2026-05-01").model_copy(update={"code": "mint"}), rests)
    removed = gone(tubs, "dug out", type(rests))
    with tubs.change("herbs are over") as change:
        change.remove(tubs.find(Planting, "tubs", "herbs", date(2026, 5, 1)).id, Planting)  # type: ignore[union-attr]
    with pytest.raises(UndoError) as refused:
        tubs.undo(removed)
    said = str(refused.value)
    assert f"(“dug out”) cannot be undone: {named}" in said
    assert change.number is not None
    assert said.endswith(
        f" needs planting tubs, herbs, which went with change set {change.number} (“herbs are over”). "
        "Undo that first. Nothing was changed."
    )
    tubs.undo(change.number)
    tubs.undo(removed)
    assert len(tubs.records(type(rests))) == 1


def test_what_named_nothing_from_the_first_is_corrected_and_undone_all_the_same(tubs: Book) -> None:
    (row,) = write(tubs, FactorMonth(zone="tubs", planting="nobody", month=7, factor=0.5, reason="cut"))
    with tubs.change("less") as change:
        change.correct(row, FactorMonth(zone="tubs", planting="nobody", month=7, factor=0.4, reason="cut"))
    assert change.number is not None
    tubs.undo(change.number)
    assert tubs.records(FactorMonth)[0].record.factor == 0.5


def test_what_named_it_before_it_was_there_does_not_hold_it(tubs: Book) -> None:
    write(tubs, GROUP)
    tubs.undo(did(tubs, "planted", planting("2026-05-01")))
    assert tubs.records(Planting) == []


def test_what_came_back_later_holds_it(tubs: Book) -> None:
    write(tubs, planting("2026-05-01"), GROUP)
    without = gone(tubs, "no drip", EmitterGroup)
    back = tubs.undo(gone(tubs, "dug out", Planting))
    tubs.undo(without)
    with pytest.raises(UndoError, match=r"planting tubs, herbs, 2026-05-01 is used by emitter group tubs, drip"):
        tubs.undo(back)


def test_a_zone_that_a_pause_names_stays(book: Book) -> None:
    write(book, Supply(code="street", name="Street"))
    added = did(book, "a shed", SHED)
    off = did(book, "pipe broke", OFF, Pause(scope="all", since=date(2026, 10, 1), reason="winter"))
    with pytest.raises(InUseError) as refused:
        gone(book, "x", Zone)
    assert str(refused.value) == (
        "Zone shed cannot be removed: pause shed, 2026-07-01 refers to it. Remove that first, or give it a last day."
    )
    with pytest.raises(UndoError, match=r"zone shed is used by pause shed, 2026-07-01, written by change set 4"):
        book.undo(added)
    book.undo(off)
    book.undo(added)
    with pytest.raises(
        UndoError, match=r"pause shed, 2026-07-01 needs zone shed, which went with change set 6 \(“undid: a shed”\)"
    ):
        book.undo(off + 1)
    assert book.records(Zone) == []
