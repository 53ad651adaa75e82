"""Bringing in: the preview says what would happen, nothing is stored before, and it can be taken back."""

from __future__ import annotations

from datetime import date

import pytest

from core.book.kinds import KINDS, MeterReading, Pause, Planting, Program, Rain, Record
from core.book.store import Book
from core.errors import RefusedError
from core.exchange.intake import bring, preview, refused_csv
from core.exchange.sheets import read_sheet
from tests.core.exchange.looked import look


def everything(book: Book) -> dict[str, list[Record]]:
    return {name: [s.record for s in book.records(kind)] for name, kind in KINDS.items()}


READINGS = "meter,at,register_value\ncurb,2026-07-14 07:30,1000\ncurb,2026-07-15 07:30,1180\n"


def test_new_rows_are_stored_in_one_change_set_that_can_be_undone(garden: Book) -> None:
    before, number = everything(garden), garden.number()
    planned = look(garden, meter_reading=READINGS)
    assert (len(planned.new), planned.good) == (2, True)
    assert everything(garden) == before, "a preview stores nothing"
    brought = bring(garden, planned)
    assert (brought.number, brought.added, brought.there) == (number + 1, 2, 0)
    assert brought.words == "brought in 2 meter readings from meter_reading.csv"
    assert garden.change_sets(1)[0].what == brought.words
    assert [str(s.record.register_value) for s in garden.records(MeterReading)] == ["1000", "1180"]
    garden.undo(number + 1)
    assert everything(garden) == before


def test_twice_is_once(garden: Book) -> None:
    bring(garden, look(garden, meter_reading=READINGS))
    number = garden.number()
    again = look(garden, meter_reading=READINGS)
    assert (again.new, len(again.there), again.good) == ([], 2, True)
    brought = bring(garden, again)
    assert (brought.number, brought.added, brought.there) == (None, 0, 2)
    assert garden.number() == number


def test_the_same_instant_in_another_offset_is_the_same_reading(garden: Book) -> None:
    bring(garden, look(garden, meter_reading=READINGS))
    planned = look(garden, meter_reading="meter,at,register_value\ncurb,2026-07-14 13:30Z,1000\n")
    assert (planned.new, len(planned.there), planned.conflicts) == ([], 1, [])


def test_the_same_amount_in_another_unit_is_the_same_rain(garden: Book) -> None:
    """0.5 in is 12.7 mm by definition."""
    bring(garden, look(garden, rain="start,end,rain_in\n2026-07-20,2026-07-21,0.5\n"))
    planned = look(garden, rain="start,end,rain_mm\n2026-07-20,2026-07-21,12.7\n")
    assert (len(planned.there), planned.conflicts) == (1, [])


def test_a_conflict_shows_both_values_and_keeps_the_books(garden: Book) -> None:
    bring(garden, look(garden, meter_reading=READINGS))
    before = everything(garden)
    planned = look(
        garden, meter_reading=READINGS.replace("1180", "1190").replace("07:30", "07:30") + "curb,2026-07-16,1300\n"
    )
    (conflict,) = planned.conflicts
    assert conflict.found.row == 3
    assert conflict.differs == {"register_value": ("1180", "1190")}
    assert garden.get(MeterReading, conflict.there).record.register_value == 1180
    assert [p.sentence() for p in planned.problems()] == [
        "meter_reading.csv, row 3, column register_value: “1190”. Expected “1180”, which the book holds for this row."
    ]
    with pytest.raises(RefusedError, match=r"row 3, column register_value.*Nothing was stored"):
        bring(garden, planned)
    assert everything(garden) == before
    assert bring(garden, planned, take_good_rows=True).added == 1
    assert [s.record.register_value for s in garden.records(MeterReading)] == [1000, 1180, 1300]


def test_the_same_key_twice_in_a_file(garden: Book) -> None:
    """The same again is there already; with other values nobody can tell which is right."""
    text = "start,end,rain_in\n2026-07-20,2026-07-21,0.5\n2026-07-20,2026-07-21,12.7\n2026-07-20,2026-07-21,0.50\n"
    planned = look(garden, rain=text)
    assert [f.row for f in planned.new] == [2]
    assert [f.row for f in planned.there] == [4]
    (problem,) = planned.refused
    assert problem.sentence().startswith(
        "rain.csv, row 3, column rain_in: “12.7”. Expected “0.5 in” as in the row above"
    )


READING = ("meter_reading", "meter,at,register_value", "crub,2026-07-14,1")
REFERENCES = [
    (*READING, "column meter: “crub”. Expected the code of a meter: curb, perhaps curb."),
    ("run", "zone,at,ran", "lawn,2026-07-14,no", "column zone: “lawn”. Expected the code of a zone: hedge, tubs."),
    (
        "pause",
        "scope,since",
        "lawn,2026-06-01",
        "column scope: “lawn”. Expected all, or the code of a zone: hedge, tubs.",
    ),
    (
        "pause",
        "scope,since",
        "Front hedge,2026-06-01",
        "“Front hedge”. Expected a short code of small letters, digits, - and _: a zone's code, or all.",
    ),
    ("bill", "supply,since,until,volume_gal,amount", "well,2026-06-01,2026-07-01,1,1", "code of a supply: street."),
    ("upkeep", "task,day", "rinse,2026-06-01", "a task, but there is none yet; bring in task.csv with it."),
    ("meter", "code,name,supply,unit,downstream_of", "sub,S,street,gal,main", "“main”. Expected the code of a meter"),
]


@pytest.mark.parametrize(("kind", "header", "row", "said"), REFERENCES)
def test_a_code_that_is_nowhere_is_refused(garden: Book, kind: str, header: str, row: str, said: str) -> None:
    before = everything(garden)
    planned = look(garden, **{kind: f"{header}\n{row}\n"})
    (problem,) = planned.refused
    assert said in problem.sentence()
    assert planned.new == []
    with pytest.raises(RefusedError):
        bring(garden, planned)
    assert everything(garden) == before


def test_codes_that_come_in_together_count(garden: Book) -> None:
    """Children may stand in files read before their parents', and a meter above the one it is behind."""
    planned = look(
        garden,
        emitter_group="zone,code,since,count,flow_each_gph,waters\npots,b,2026-05-01,4,1,herbs:2 mint:1\n",
        planting="zone,code,since,name,plant_type,canopy_ft\n"
        "pots,herbs,2026-05-01,H,perennial,1\npots,mint,2026-05-01,M,perennial,1\n",
        zone="code,name,supply\npots,Pots,street\n",
        meter="code,name,supply,unit,downstream_of\nsub,S,street,gal,yard\nyard,Y,street,gal,curb\n",
    )
    assert [p.sentence() for p in [*planned.refused, *planned.doubts]] == []
    assert bring(garden, planned).added == 6
    assert [s.record.code for s in garden.records(Planting)] == ["herbs", "mint"]


def test_what_rests_on_a_refused_row_is_refused_too(garden: Book) -> None:
    planned = look(
        garden,
        zone="code,name,supply\nlawn,Lawn,well\n",
        run="zone,at,ran\nlawn,2026-07-14,no\ntubs,2026-07-14,no\n",
    )
    assert [(p.file, p.row, p.value) for p in planned.refused] == [("zone.csv", 2, "well"), ("run.csv", 2, "lawn")]
    assert bring(garden, planned, take_good_rows=True).added == 1


PROGRAM = "zone,label,since,until,days,starts,minutes\n"


def test_versions_that_overlap_are_refused_and_those_that_follow_are_not(garden: Book) -> None:
    bring(garden, look(garden, program=PROGRAM + "tubs,a,2026-05-01,2026-07-01,daily,05:00,10\n"))
    planned = look(
        garden,
        program=PROGRAM
        + "tubs,a,2026-06-15,2026-08-01,daily,05:00,12\n"  # over the book's
        + "tubs,a,2026-07-01,2026-08-01,daily,05:00,12\n"  # from the day the book's ends
        + "tubs,a,2026-07-31,,daily,05:00,14\n"  # over the row above
        + "tubs,b,2026-06-15,,daily,20:00,5\n"  # another label
        + "hedge,a,2026-06-15,,daily,20:00,5\n",
    )
    assert [p.sentence() for p in planned.refused] == [
        "program.csv, row 2, column since: “2026-06-15”. Expected days on which tubs a has no other version; "
        "the book has one from 2026-05-01 to 2026-07-01 already.",
        "program.csv, row 4, column since: “2026-07-31”. Expected days on which tubs a has no other version; "
        "row 3 has one from 2026-07-01 to 2026-08-01 already.",
    ]
    assert bring(garden, planned, take_good_rows=True).added == 3


def test_a_version_after_one_without_an_end_is_a_change_from_its_day(garden: Book) -> None:
    """Minutes changed on 15 June: the program of May ends the day before, as when it is changed by hand; and back."""
    may = PROGRAM + "tubs,a,2026-05-01,,daily,05:00,10\n"
    june = PROGRAM + "tubs,a,2026-06-15,,daily,05:00,14\n"
    bring(garden, look(garden, program=may))
    planned = look(garden, program=june)
    assert planned.good
    assert planned.notes() == [
        "program.csv, row 2: tubs a changes on 2026-06-15; what held until then ends the day before."
    ]
    brought = bring(garden, planned)
    assert brought.added == 1
    assert held(garden) == [("2026-05-01", "2026-06-15", 10), ("2026-06-15", None, 14)]
    assert look(garden, program=may).new == look(garden, program=may).conflicts == []
    assert bring(garden, look(garden, program=june)).number is None
    assert brought.number is not None
    garden.undo(brought.number)
    assert held(garden) == [("2026-05-01", None, 10)]


def test_a_sheet_of_several_versions_without_an_end_is_a_chain_and_the_same_twice(garden: Book) -> None:
    text = PROGRAM + "".join(f"tubs,a,2026-0{m}-01,,daily,05:00,{10 + m}\n" for m in (5, 6, 7))
    assert bring(garden, look(garden, program=text)).added == 3
    assert held(garden) == [
        ("2026-05-01", "2026-06-01", 15),
        ("2026-06-01", "2026-07-01", 16),
        ("2026-07-01", None, 17),
    ]
    assert bring(garden, look(garden, program=text)).number is None


def test_a_row_that_only_ends_what_has_no_end_ends_it_and_the_next_winter_follows(garden: Book) -> None:
    """A winter pause brought in autumn comes again in spring with its end."""
    header = "scope,since,until,reason\n"
    bring(garden, look(garden, pause=f"{header}all,2024-10-26,,winter\ntubs,2024-07-01,,repair\n"))
    closed = f"{header}all,2024-10-26,2025-04-19,winter\n"
    planned = look(garden, pause=f"{closed}all,2025-10-20,,winter\n")
    assert (planned.good, len(planned.new), planned.following) == (True, 2, [])
    assert "row 2: all, in the book from 2024-10-26 on, ends on 2025-04-19." in planned.notes()[0]
    brought = bring(garden, planned)
    assert brought.added == 2
    ends = {(s.record.scope, s.record.since): s.record.until for s in garden.records(Pause)}
    assert ends == {
        ("all", date(2024, 10, 26)): date(2025, 4, 19),
        ("all", date(2025, 10, 20)): None,
        ("tubs", date(2024, 7, 1)): None,
    }
    again = look(garden, pause=closed)
    assert (len(again.new), len(again.there)) == (0, 1)
    other = look(garden, pause=f"{header}all,2024-10-26,2025-05-01,winter\ntubs,2024-07-01,2024-08-01,rain\n")
    assert len(other.conflicts) == 2, "another end, or more than the end, is still a conflict"
    assert brought.number is not None
    garden.undo(brought.number)
    assert {s.record.until for s in garden.records(Pause)} == {None}


def test_a_version_before_one_that_is_there_is_no_change(garden: Book) -> None:
    bring(garden, look(garden, program=PROGRAM + "tubs,a,2026-06-01,,daily,05:00,10\n"))
    assert [p.value for p in look(garden, program=PROGRAM + "tubs,a,2026-05-01,,daily,05:00,8\n").refused] == [
        "2026-05-01"
    ]


def held(book: Book) -> list[tuple[str, str | None, int]]:
    """Since, until and minutes of the programs."""
    programs = sorted((s.record for s in book.records(Program)), key=lambda p: p.since)
    return [(f"{p.since}", f"{p.until}" if p.until else None, int(float(str(p.minutes)))) for p in programs]


def test_a_program_that_begins_in_a_winter_pause_is_told_unless_the_sheets_end_it(garden: Book) -> None:
    pause = "scope,since,until,reason\nall,2025-10-25,,winter\n"
    program = "zone,since,days,starts,minutes\ntubs,2026-04-20,daily,05:00,20\n"
    (doubt,) = look(garden, pause=pause, program=program).doubts
    assert (doubt.file, doubt.row, doubt.column) == ("program.csv", 2, "since")
    assert "that from 2025-10-25 has no end, so that this would never run" in doubt.expected
    bring(garden, look(garden, pause=pause))
    assert look(garden, program=program).good
    assert len(look(garden, program=program).doubts) == 1
    ended = "scope,since,until,reason\nall,2025-10-25,2026-04-20,winter\n"
    assert look(garden, program=program, pause=ended).doubts == []


def test_refused_rows_come_back_as_a_sheet_to_mend(garden: Book) -> None:
    text = (
        "meter,at,register_value,note\n"
        "curb,2026-07-14,1000,fine\n"
        "crub,2026-07-15,1180,\"a, b\"\n"
        "curb,soon,-5,=1+1\n"
    )  # fmt: skip
    planned = look(garden, meter_reading=text)
    bring(garden, planned, take_good_rows=True)
    (back,) = refused_csv(planned).values()
    header, second, third = back.splitlines()
    assert header == "meter,at,register_value,note,problem"
    assert second.startswith('crub,2026-07-15,1180,"a, b","meter: “crub”, expected the code of a meter')
    assert third.startswith("curb,soon,-5,'=1+1,"), "kept from starting a formula, the number as it was"
    assert "at: “soon”, expected a date" in third
    mended = back.replace("crub", "curb").replace("soon", "2026-07-16").replace("-5", "1250")
    planned = look(garden, meter_reading=mended)
    assert planned.good
    bring(garden, planned)
    assert [s.record.note for s in garden.records(MeterReading)] == ["fine", "a, b", "=1+1"]


def test_a_sheet_whose_header_is_wrong_has_nothing_to_mend(garden: Book) -> None:
    planned = look(garden, rain="start,end,rain\n2026-07-20,2026-07-21,0.5\n")
    assert not planned.good
    assert refused_csv(planned) == {}


def test_counts_by_file(garden: Book) -> None:
    bring(garden, look(garden, meter_reading=READINGS))
    text = READINGS.replace("1180", "1181") + "curb,2026-07-16,1300\ncurb,bad,bad\n"
    assert look(garden, meter_reading=text).counts() == [
        {"file": "meter_reading.csv", "kind": "meter_reading", "new": 1, "there": 1, "in_conflict": 1, "refused": 1}
    ]


def test_what_changed_in_the_book_after_the_preview_is_never_written_over(garden: Book) -> None:
    planned = look(garden, meter_reading=READINGS)
    bring(garden, look(garden, meter_reading=READINGS.replace("1180", "1179")))
    before = everything(garden)
    with pytest.raises(Exception, match="already there with other values") as refused:
        bring(garden, planned)
    assert "Nothing was stored" in str(refused.value)
    assert everything(garden) == before


def test_two_files_of_one_kind(garden: Book) -> None:
    zone = garden.zone_info
    sheets = [
        read_sheet(READINGS, "meter_reading", zone, "meter_reading-1.csv"),
        read_sheet(READINGS + "curb,2026-07-16,1300\n", "meter_reading", zone, "meter_reading-2.csv"),
    ]
    planned = preview(garden, sheets)
    assert [(c["new"], c["there"]) for c in planned.counts()] == [(2, 0), (1, 2)]
    assert bring(garden, planned).words == (
        "brought in 2 meter readings from meter_reading-1.csv, 1 meter reading from meter_reading-2.csv"
    )


def test_rain_is_counted_as_rain(garden: Book) -> None:
    days = "".join(f"2026-07-{d:02},2026-07-{d + 1:02},0.1\n" for d in range(1, 31))
    assert bring(garden, look(garden, rain="start,end,rain_in\n" + days)).words == "brought in 30 rain from rain.csv"
    assert len(garden.records(Rain)) == 30


def test_a_day_of_the_year_with_a_slash_is_refused_with_its_place(garden: Book) -> None:
    (problem,) = look(garden, task="code,name,due_by\nbatteries,Batteries,10-15\nfilter,Filter,10/20\n").refused
    assert problem.sentence() == (
        "task.csv, row 3, column due_by: “10/20”. Expected its month and day, such as 10-20 for 20 October."
    )


def test_days_with_slashes_are_refused_with_what_they_would_be(garden: Book) -> None:
    head = "meter,at,register_value\n"
    (only, both) = look(garden, meter_reading=head + "curb,7/14/2026 7:30 AM,1\ncurb,3/4/2026,2\n").refused
    assert only.sentence().endswith(
        "“7/14/2026 7:30 AM”. Expected a date such as 2026-07-14, or with a time 2026-07-14 07:30; "
        "year first, it is 2026-07-14 7:30 AM if it is month/day/year."
    )
    assert both.sentence().endswith(
        "; year first, it is 2026-03-04 if it is month/day/year, since other cells of the column can only be "
        "month/day/year."
    )
    (either,) = look(garden, meter_reading=head + "curb,3/4/2026,2\n").refused
    assert either.sentence().endswith(
        "; year first, it is 2026-03-04 if it is month/day/year or 2026-04-03 if it is day/month/year."
    )
    assert not look(garden, meter_reading=head + "curb,2026-07-14 7:30 AM,1\n").refused
