"""Rows that look like a slip: told when they are brought in, and taken."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from core.book.store import Book
from core.exchange.intake import bring, preview
from core.exchange.sheets import read_sheet
from tests.core.exchange.looked import look

NOW = datetime(2026, 7, 20, 18, tzinfo=UTC)  # noon in the garden
DOUBTS = [
    (
        "emitter_group",
        "zone,code,since,count,flow_each_gph,waters",
        "tubs,b,2026-05-01,4,1,herbs",
        "in tubs, but there",
    ),
    ("other_use", "start,what,volume_gal,planting", "2026-07-01,hose,20,herbs", "planting: “herbs”. Expected the"),
    (
        "factor_month",
        "zone,planting,month,factor,reason",
        "tubs,herbs,7,0.5,cut",
        "column planting: “herbs”. Expected the code of",
    ),
]


@pytest.mark.parametrize(
    ("kind", "header", "row", "said"),
    [
        ("meter_reading", "meter,at,register_value", "curb,2062-07-14 07:00,412350", "column at: “2062-07-14 07:00”."),
        ("meter_reading", "meter,at,register_value", "curb,2026-07-20 13:30,412350", "Expected a time that has come"),
        ("meter_reading", "meter,at,register_value", "curb,2026-07-21,412350", "today is 2026-07-20."),
        ("meter_reading", "meter,at,register_value", "curb,2026-07-20,412350", ""),
        ("meter_reading", "meter,at,register_value", "curb,2026-07-20 12:30,412350", ""),
        ("rain", "start,end,rain_in", "2026-07-10 07:00,2026-07-13 17:00,12", "rain_in: “12”. Expected less rain"),
        ("rain", "start,end,rain_in", "2026-07-10 07:00,2026-07-13 17:00,1.2", ""),
    ],
)  # fmt: skip
def test_a_time_to_come_and_very_much_rain_are_doubted_and_taken(
    garden: Book, kind: str, header: str, row: str, said: str
) -> None:
    planned = preview(garden, [read_sheet(f"{header}\n{row}\n", kind, garden.zone_info)], NOW)
    doubts = [p.sentence() for p in planned.doubts]
    assert len(doubts) == bool(said)
    assert all(said in doubt for doubt in doubts)
    assert bring(garden, planned).added == 1


@pytest.mark.parametrize(("kind", "header", "row", "said"), DOUBTS)
def test_a_name_the_book_does_not_insist_on_is_told_and_taken(
    garden: Book, kind: str, header: str, row: str, said: str
) -> None:
    """A book may hold the name of a planting since removed; it must come out of its own sheets again."""
    planned = look(garden, **{kind: f"{header}\n{row}\n"})
    assert [p.sentence() for p in planned.refused] == []
    (doubt,) = planned.doubts
    assert said in doubt.sentence()
    assert planned.good
    assert bring(garden, planned).added == 1


def test_a_width_and_a_flow_beyond_belief_are_told(garden: Book) -> None:
    planned = look(
        garden,
        planting="zone,code,since,name,plant_type,canopy_ft\ntubs,a,2026-05-01,A,shrub,36\ntubs,b,2026-05-01,B,tree,36\n",
        emitter_group="zone,code,since,count,flow_each_gpm,waters\ntubs,e,2026-05-01,4,2,a\n",
    )
    assert [p.sentence() for p in planned.doubts] == [
        "planting.csv, row 2, column canopy_ft: “36”. Expected the width of one plant, in the unit the column names.",
        "emitter_group.csv, row 2, column flow_each_gpm: “2”. "
        "Expected the flow of one emitter, in the unit the column names.",
    ]


def test_a_plant_type_or_a_soil_of_no_table_is_told_with_those_near_it(garden: Book) -> None:
    header = "zone,code,since,name,plant_type,canopy_m,soil\n"
    rows = "tubs,a,2026-05-01,Naranjo,naranjo,2,arcilla\ntubs,b,2026-05-01,Olives,olives,2,loam\n"
    planned = look(garden, planting=header + rows + "tubs,c,2026-05-01,Orange,citrus,2,clay\n")
    said = [p.sentence() for p in planned.doubts]
    where = [(p.row, p.column, p.value) for p in planned.doubts]
    assert where == [(2, "plant_type", "naranjo"), (2, "soil", "arcilla"), (3, "plant_type", "olives")]
    assert "Expected a plant type of the tables, near it: olive; rillbook bring --columns planting" in said[2]
    assert all("rillbook bring --columns planting lists them all" in sentence for sentence in said)
    assert bring(garden, planned).added == 3
