"""Frames: which columns, of which types, also of nothing."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.book.frames import frame
from core.book.kinds import (
    KINDS,
    Measured,
    Meter,
    MeteredUse,
    MeterReading,
    OtherUse,
    Program,
    Rain,
    Record,
    Run,
    Weather,
    fields_of,
)
from core.book.store import Book
from core.days import Moment
from tests.core.book.written_down import GARDEN, KIND_NAMES, records

T = datetime(2026, 7, 1, 13, 0, tzinfo=UTC)  # 7 in the morning in Denver
MIDNIGHT = datetime(2026, 7, 2, 6, 0, tzinfo=UTC)  # the first instant of 2 July there


def at(hours: float, exact: str = "minute") -> Moment:
    return Moment(T + timedelta(hours=hours), -360, exact)  # type: ignore[arg-type]


def gallons(typed: str) -> Measured:
    return Measured(typed, "gal", "volume")


def write(book: Book, *written: Record) -> None:
    with book.change("wrote") as change:
        change.add_many(written)


COLUMNS = {
    "meter_reading": "id meter at at_offset_min at_exact register_value resolution how first_after_change old_final"
    " note",
    "metered_use": "id meter start start_offset_min start_exact end end_offset_min end_exact volume_l estimated",
    "emitter_group": "id zone code since until device count flow_each_lph length_m flow_along_lph_m rated_pressure_kpa"
    " exponent waters",
    "weather": "id station day tmin_c tmax_c dewpoint_c humidity_min humidity_max wind_mps wind_height_m solar_mj_m2"
    " sunshine_hours reference_et_mm",
    "decision": "id finding meter zone since decided_at decided_at_offset_min decided_at_exact until verdict"
    " repaired_on note cause cause_zone",
}


@pytest.mark.parametrize("kind_name", COLUMNS)
def test_columns_are_field_names_with_the_metric_unit(book: Book, kind_name: str) -> None:
    assert list(book.frame(kind_name).columns) == COLUMNS[kind_name].split()


def _types(table: pd.DataFrame) -> dict[str, str]:
    return {str(name): str(dtype) for name, dtype in table.dtypes.items()}


def test_types_are_the_same_with_and_without_records(garden: Book) -> None:
    empty = {kind: _types(garden.frame(kind)) for kind in ("rain", "other_use", "weather", "program", "run")}
    write(
        garden,
        Rain(start=at(0), end=at(24), rain=Measured("0.5", "in", "depth"), trace=True),
        OtherUse(start=at(0), what="pool", volume=gallons("900"), meter="house", every_days=7),
        OtherUse(start=at(1), what="car", volume=gallons("40"), end=at(2), zone="tubs"),
        Weather(day=date(2026, 7, 1), tmin=Measured("50", "f", "temperature")),
        Program(zone="tubs", since=date(2026, 5, 1), days="daily", starts="05:00", minutes=10.0),
        Run(zone="tubs", at=at(0), duration=Measured("20", "min", "duration")),
    )
    assert {kind: _types(garden.frame(kind)) for kind in empty} == empty
    unit = pd.date_range("2026-01-01", periods=1).unit
    assert empty["other_use"] == {
        "id": "int64",
        "start": f"datetime64[{unit}, UTC]",
        "start_offset_min": "int64",
        "start_exact": "object",
        "nth": "int64",
        "end": f"datetime64[{unit}, UTC]",
        "end_offset_min": "Int64",
        "end_exact": "object",
        "what": "object",
        "volume_l": "float64",
        "spread": "float64",
        "meter": "object",
        "zone": "object",
        "planting": "object",
        "every_days": "Int64",
    }
    assert empty["rain"]["trace"] == "bool"
    assert empty["weather"]["day"] == empty["program"]["until"] == f"datetime64[{unit}]"


def test_values_are_metric_utc_and_empty_where_nothing_was_written(garden: Book) -> None:
    write(
        garden,
        OtherUse(start=at(0), what="pool", volume=gallons("900"), meter="house", every_days=7),
        OtherUse(start=at(1.5), what="car", volume=gallons("40"), end=at(2), zone="tubs"),
        Program(zone="tubs", since=date(2026, 5, 1), days="daily", starts="05:00", minutes=10.0),
        Weather(day=date(2026, 7, 1), tmin=Measured("50", "f", "temperature")),
        MeterReading(meter="house", at=at(0), register_value=Decimal("104200.25"), resolution=Decimal("0.1")),
    )
    pool, car = (row for _, row in garden.frame("other_use").iterrows())
    # 1 US gallon is 3.785411784 L exactly (231 cubic inches; NIST Handbook 44 appendix C)
    assert pool.volume_l == pytest.approx(900 * 3.785411784, rel=1e-12)
    assert (pool.start, pool.start_offset_min, pool.start_exact) == (pd.Timestamp(T), -360, "minute")
    assert pd.isna(pool.end)
    assert pool.end_exact is None
    assert pool.zone is None
    assert (pool.meter, pool.every_days, car.zone, car.end) == (
        "house",
        7,
        "tubs",
        pd.Timestamp(T + timedelta(hours=2)),
    )
    assert pd.isna(car.every_days)
    program = garden.frame("program").iloc[0]
    assert (program.since, program.days, program.percent) == (pd.Timestamp("2026-05-01"), "daily", 100.0)
    assert pd.isna(program.until)
    weather = garden.frame("weather").iloc[0]
    assert weather.tmin_c == pytest.approx(10.0)  # 50 F
    assert np.isnan(weather.tmax_c)
    reading = garden.frame("meter_reading").iloc[0]
    assert (reading.register_value, reading.resolution) == (104200.25, pytest.approx(0.1))
    assert np.isnan(reading.old_final)


@pytest.mark.parametrize("kind_name", KIND_NAMES)
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_each_cell_is_what_the_record_says(garden: Book, kind_name: str, data: st.DataObject) -> None:
    kind = KINDS[kind_name]
    record = data.draw(records(kind))

    class TriedOut(Exception):  # noqa: N818
        pass

    with pytest.raises(TriedOut), garden.change("try out") as change:  # noqa: PT012
        existing = change.find(kind, *record.key())
        if existing is not None:
            change.correct(existing.id, record)
        row_id = existing.id if existing is not None else change.add(record)
        table = frame(change._connection, kind).set_index("id").loc[row_id]
        raise TriedOut
    for info in fields_of(kind):
        said = getattr(record, info.name)
        name = next(n for n in table.index if n == info.name or n.startswith(f"{info.name}_"))
        shown = table[name]
        if said is None:
            assert shown is None or pd.isna(shown)
        elif isinstance(said, Moment):
            if kind is not MeteredUse:  # whose days are midnights: test_whole_days.py
                assert shown == pd.Timestamp(said.utc)
            assert (table[f"{name}_offset_min"], table[f"{name}_exact"]) == (said.offset_minutes, said.exact)
        elif isinstance(said, Measured):
            assert shown == said.base
        elif isinstance(said, Decimal):
            assert shown == pytest.approx(float(said), rel=1e-15)
        elif isinstance(said, date):
            assert shown == pd.Timestamp(said)
        else:
            assert shown == said
            assert type(said) is bool or not isinstance(shown, bool)


def test_rows_come_in_the_order_of_their_keys_whichever_was_written_first(garden: Book) -> None:
    write(
        garden,
        Meter(code="z", name="Z", supply="main", unit="gal"),
        Meter(code="a", name="A", supply="main", unit="gal"),
    )
    readings = [
        (code, hours, hours * 10 + place) for place, code in enumerate(["z", "house", "a"]) for hours in (3, 1, 2)
    ]
    for code, hours, register in readings:
        write(garden, MeterReading(meter=code, at=at(hours), register_value=Decimal(register)))
    table = garden.frame("meter_reading")
    assert table["meter"].tolist() == ["a"] * 3 + ["house"] * 3 + ["z"] * 3
    assert table["register_value"].tolist() == [12, 22, 32, 11, 21, 31, 10, 20, 30]
    early = garden.frame("meter_reading", T + timedelta(hours=2))
    assert early["register_value"].tolist() == [12, 22, 11, 21, 10, 20]
    assert early["id"].tolist() == [table["id"][place] for place in (0, 1, 3, 4, 6, 7)]


def test_odd_cells_among_many_plain_ones_stand_in_their_own_rows(garden: Book) -> None:
    """Most rows of a file are alike; what is written in a few of them is read by itself."""
    plain = [MeterReading(meter="house", at=at(n), register_value=Decimal(n), how="file") for n in range(1, 400)]
    odd = MeterReading(
        meter="house",
        at=Moment(T + timedelta(hours=200.5, microseconds=999_999), 345, "hour"),
        register_value=Decimal("0.7"),
        resolution=Decimal("0.05"),
        how="estimated",
        first_after_change=True,
        old_final=Decimal("199.9"),
        note="1,2, 'three'\n4",
    )
    by_day = MeterReading(meter="house", at=at(300.5, "day"), register_value=Decimal(300), note="nan")
    write(garden, *plain, odd, by_day)
    table = garden.frame("meter_reading")
    assert len(table) == 401
    one, other = table.iloc[200], table.iloc[301]
    assert one["at"] == pd.Timestamp(odd.at.utc)
    assert one["at"].microsecond == 999_999
    assert one[["at_offset_min", "at_exact", "how", "note"]].tolist() == [345, "hour", "estimated", odd.note]
    assert one[["register_value", "resolution", "old_final"]].tolist() == [0.7, 0.05, 199.9]
    assert one["first_after_change"]
    assert other[["at_exact", "how", "note"]].tolist() == ["day", "eye", "nan"]
    rest = table.drop([200, 301])
    assert rest["register_value"].tolist() == list(range(1, 400))
    assert rest["resolution"].isna().all()
    assert set(rest["note"]) == {""}
    assert not rest["first_after_change"].any()


def test_many_codes_are_read_as_few_are(book: Book) -> None:
    write(book, GARDEN[0], *(Meter(code=f"m{n}", name="M", supply="main", unit="gal") for n in range(60)))
    write(book, *(MeterReading(meter=f"m{n}", at=at(0), register_value=Decimal(n)) for n in range(60)))
    assert set(book.frame("meter_reading").meter) == {f"m{n}" for n in range(60)}


# all frames of a book


def test_frames_are_read_when_asked_for_and_then_kept(garden: Book) -> None:
    frames = garden.frames()
    assert list(frames) == KIND_NAMES
    assert len(frames) == len(KINDS)
    assert "rain" in frames
    assert frames["rain"].empty
    write(garden, Rain(start=at(0), end=at(24), rain=Measured("0.5", "in", "depth")))
    assert frames["rain"].empty
    assert len(garden.frames()["rain"]) == 1
    assert garden.frames(T)["rain"].empty
    with pytest.raises(KeyError):
        frames["snow"]
