"""A planting goes only when nothing names it any more: no foreign key holds it, since a code spans its versions."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from core.book.kinds import EmitterGroup, FactorMonth, Measured, OtherUse, Planting, Record, Supply, Zone
from core.book.store import Book
from core.days import Moment
from core.errors import InUseError

CAN = {
    "start": Moment(datetime(2026, 7, 1, 13, tzinfo=UTC), -360, "minute"),
    "what": "can",
    "volume": Measured("2", "gal", "volume"),
    "planting": "herbs",
}
RESTING: list[tuple[Record, str]] = [
    (
        EmitterGroup(
            zone="tubs",
            code="drip",
            since=date(2026, 5, 1),
            count=4,
            flow_each=Measured("1", "gph", "flow"),
            waters="herbs:3 mint:1",
        ),
        "emitter group tubs, drip, 2026-05-01",
    ),
    (
        FactorMonth(zone="tubs", planting="herbs", month=7, factor=0.5, reason="cut"),
        "plant factor of a month tubs, herbs, 7",
    ),
    (OtherUse(**CAN, zone="tubs"), "other use 2026-07-01"),
]


def planting(since: str, until: str | None = None) -> Planting:
    return Planting(
        zone="tubs",
        code="herbs",
        since=date.fromisoformat(since),
        until=date.fromisoformat(until) if until else None,
        name="Herbs",
        plant_type="perennial",
        canopy=Measured("1", "ft", "length"),
    )


@pytest.fixture
def tubs(book: Book) -> Book:
    write(book, Supply(code="street", name="Street"))
    write(book, *(Zone(code=code, name=code.title(), supply="street") for code in ("tubs", "hedge")))
    return book


def write(book: Book, *records: Record) -> list[int]:
    with book.change("wrote") as change:
        return [change.add(record) for record in records]


@pytest.mark.parametrize(("rests", "named"), RESTING)
def test_a_planting_that_others_name_is_not_removed(tubs: Book, rests: Record, named: str) -> None:
    old, new = write(tubs, planting("2026-05-01", "2026-06-01"), planting("2026-06-01"))
    (other,) = write(tubs, rests)
    with tubs.change("an earlier version may go") as change:
        change.remove(old, Planting)
    with pytest.raises(InUseError) as refused, tubs.change("x") as change:
        change.remove(new, Planting)
    said = str(refused.value)
    assert said.startswith(f"Planting tubs, herbs, 2026-06-01 cannot be removed: {named}")
    assert said.endswith(" refers to it. Remove that first, or give it a last day.")
    with tubs.change("first what rests on it") as change:
        change.remove(other, type(rests))
        change.remove(new, Planting)
    assert tubs.records(Planting) == []


def test_what_names_a_planting_of_another_zone_does_not_hold_it(tubs: Book) -> None:
    (herbs,) = write(tubs, planting("2026-05-01"))
    write(tubs, OtherUse(**CAN, zone="hedge"))
    with tubs.change("gone") as change:
        change.remove(herbs, Planting)
    assert tubs.records(Planting) == []
