"""What goes in comes out: book to folder to book to folder, byte for byte, whatever was written down."""

from __future__ import annotations

import tempfile
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, Phase, assume, given, note, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from core.book.kinds import KINDS, FieldInfo, Measured, Record, fields_of
from core.days import Moment, parse_moment
from core.errors import BookError
from core.exchange.export import export_folder, sheet_text
from core.exchange.folder import new_from_folder, read_files, sheets_in
from core.exchange.intake import bring, preview
from core.exchange.sheets import read_sheet
from core.exchange.templates import template
from core.units import quantity

DENVER = ZoneInfo("America/Denver")
# Anything a person may paste into a note, formulas and broken lines among it.
texts = st.one_of(
    st.text(st.characters(exclude_categories=("Cs", "Cc"), include_characters="\t\n\r"), max_size=30),
    st.sampled_from(
        ["=1+1", "'=1+1", "-", "@x", "a;b,c", 'say "so"', "two\r\nlines", "tab\tbed", "'", "''", "+1", "é€✓"]
    ),
)
decimals = st.decimals(0, 10**9, allow_nan=False, places=3).map(lambda d: d.quantize(Decimal("0.001")))
days = st.dates(date(2000, 1, 1), date(2030, 1, 1))


@st.composite
def moments(draw: st.DrawFn) -> Moment:
    """Instants in the home's offset and in others, of every exactness, also in the two doubled hours."""
    utc = draw(
        st.one_of(
            st.datetimes(datetime(2000, 1, 1), datetime(2030, 1, 1)),
            st.datetimes(datetime(2026, 11, 1, 6), datetime(2026, 11, 1, 10)),  # clocks in Denver go back at 08:00 UTC
        )
    ).replace(microsecond=0, tzinfo=UTC)
    exact = draw(st.sampled_from(["minute", "hour", "day"]))
    zone = draw(st.sampled_from([DENVER, ZoneInfo("Europe/Madrid"), ZoneInfo("UTC")]))
    if exact == "day":
        return parse_moment(f"{utc.astimezone(zone):%Y-%m-%d}", zone)
    if exact == "hour":
        utc = utc.replace(minute=0, second=0)
    offset = utc.astimezone(zone).utcoffset() or timedelta()
    return Moment(utc, int(offset.total_seconds() // 60), exact)


def values(field: FieldInfo) -> st.SearchStrategy[Any]:
    """Values for one field; a record made of them may still not hold together."""
    cell = field.cell
    by_form: dict[str, st.SearchStrategy[Any]] = {
        "text": texts,
        "code": st.from_regex(r"[a-z0-9][a-z0-9_-]{0,6}", fullmatch=True),
        "ref": st.just(REFS.get(cell.to, "")),
        "whole": st.integers(1, 12),
        "number": st.one_of(st.integers(0, 24).map(float), st.floats(0, 2, allow_subnormal=False)),
        "decimal": decimals.map(lambda d: d + 1),
        "yesno": st.booleans(),
        "day": days,
        "moment": moments(),
        "choice": st.sampled_from(field.choices or ("",)),
        "notation": st.just(NOTATIONS.get(field.name, "")),
    }
    if cell.form == "measured":
        units = st.sampled_from(list(quantity(cell.quantity).units))
        return st.builds(lambda d, u: Measured(str(d), u, cell.quantity), decimals.map(lambda d: d / 1000), units)
    return by_form[cell.form]


REFS = {"supply": "street", "meter": "curb", "controller": "shed", "zone": "tubs", "task": "rinse-filter"}
NOTATIONS = {"days": "mon wed fri", "starts": "05:00 20:30", "prices": "to 4: 3.65 / rest: 5", "waters": "pepper"}
OPEN_KINDS = [k for k in KINDS if k not in ("home", "supply", "meter", "controller", "zone", "task", "planting")]
# What else must be so for a record of the kind to hold together.
ELSE: dict[str, dict[str, Any]] = {
    "run": {"ran": False},
    "weather": {"tmin": Measured("50", "f", "temperature"), "tmax": Measured("21.50", "c", "temperature")},
    "planting": {"bed": Measured("12.0", "ft2", "area"), "factor": None},
    "emitter_group": {"exponent": 0.5, "count": 3, "flow_each": Measured("0.50", "gph", "flow"), "length": None},
    "pause": {"scope": "tubs"},
    "checklist_step": {"year": 2026},
}


@st.composite
def records(draw: st.DrawFn, kind_name: str) -> Record:
    """A record of a kind with every sort of value its fields may hold; empty ones too."""
    kind = KINDS[kind_name]
    filled: dict[str, Any] = {}
    for field in fields_of(kind):
        optional = not field.required and field.default is None
        if not (optional and draw(st.booleans())):
            filled[field.name] = draw(values(field))
    start, end = ("since", "until") if "since" in filled else ("start", "end")
    if filled.get(end) is not None and start in filled:
        moment = isinstance(filled[start], Moment)
        filled[start], filled[end] = sorted((filled[start], filled[end]), key=lambda v: v.utc if moment else v)
        assume(filled[start] != filled[end])
    if "name" in filled:
        filled["name"] = f"{filled['name']}.".strip()
    filled |= {"digits": 7} if kind_name == "meter" else ELSE.get(kind_name, {})
    if kind_name == "planting" and filled.get("species_factor") is None:
        filled |= {"density_factor": None, "microclimate_factor": None}
    try:
        return kind(**filled)
    except ValidationError as error:  # two instants alike but for their seconds, and the like
        note(f"{kind_name}: {error}")
        return draw(st.nothing())


@settings(
    deadline=None,
    max_examples=25,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],  # what a kind refuses is no record
)
@given(data=st.data())
@pytest.mark.parametrize("kind", [k for k in KINDS if k != "home"])
def test_a_sheet_reads_back_to_the_records_it_was_written_from(kind: str, data: st.DataObject) -> None:
    written = data.draw(st.lists(records(kind), min_size=1, max_size=4))
    text = sheet_text(kind, written, DENVER, "us")
    sheet = read_sheet(text, kind, DENVER)
    assert [p.sentence() for p in sheet.problems] == []
    read = [record for _, record in sheet.rows]
    assert read == written
    for one, other in zip(written, read, strict=True):
        for field in fields_of(KINDS[kind]):
            if field.cell.form == "measured" and getattr(one, field.name) is not None:
                kept, came = getattr(one, field.name), getattr(other, field.name)
                assert (came.typed, came.unit) == (kept.typed, kept.unit), "to the digits typed, in the unit typed"


def base_folder(folder: Path) -> Path:
    """The templates of everything that others refer to."""
    folder.mkdir()
    for kind in ("supply", "meter", "controller", "zone", "planting", "task"):
        (folder / f"{kind}.csv").write_text(template(kind), encoding="utf-8", newline="")
    home = template("home").replace("America/Los_Angeles", "America/Denver")
    (folder / "home.csv").write_text(home, encoding="utf-8", newline="")
    return folder


# Shrinking would make hundreds of books; the first failing one says enough.
@settings(
    deadline=None,
    max_examples=12,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
@given(data=st.data())
def test_a_book_made_from_its_own_export_is_the_same_again(data: st.DataObject) -> None:
    written = [
        record
        for kind in data.draw(st.lists(st.sampled_from(OPEN_KINDS), min_size=1, max_size=3, unique=True))
        for record in data.draw(st.lists(records(kind), min_size=1, max_size=3, unique_by=slot_of))
    ]
    with tempfile.TemporaryDirectory() as place:
        where = Path(place)
        book, _ = new_from_folder(where / "a.rillbook", base_folder(where / "base"))
        with book.change("wrote all sorts") as change:
            change.add_many(written)
        export_folder(book, where / "one")
        again, _ = new_from_folder(where / "b.rillbook", where / "one")
        export_folder(again, where / "two")
        assert folder_bytes(where / "one") == folder_bytes(where / "two")
        number = book.number()
        planned = preview(book, read_files(sheets_in(where / "one"), book.zone_info))
        assert (planned.new, planned.problems()) == ([], []), "everything is there already"
        assert bring(book, planned).number is None
        assert book.number() == number
        for kind in KINDS.values():
            assert [s.record for s in again.records(kind)] == [s.record for s in book.records(kind)]


def slot_of(record: Record) -> object:
    """One version a slot is enough here; elsewhere the instant of the key alone tells records apart."""
    names = record.SLOT or record.KEY
    return tuple(v.utc if isinstance(v := getattr(record, n), Moment) else v for n in names)


def folder_bytes(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_text_that_is_empty_on_purpose_stays_empty(tmp_path: Path) -> None:
    folder = base_folder(tmp_path / "base")
    (folder / "home.csv").write_text(
        "name,latitude,timezone,currency\nA,40,America/Denver,'\n", encoding="utf-8", newline=""
    )
    book, _ = new_from_folder(tmp_path / "a.rillbook", folder)
    assert book.home().currency == ""
    export_folder(book, tmp_path / "one")
    again, _ = new_from_folder(tmp_path / "b.rillbook", tmp_path / "one")
    assert again.home() == book.home()


def test_an_export_leaves_other_sheets_alone_unless_told(tmp_path: Path) -> None:
    book, _ = new_from_folder(tmp_path / "a.rillbook", base_folder(tmp_path / "base"))
    out = tmp_path / "out"
    written = export_folder(book, out)
    assert written == {f"{k}.csv": 1 for k in ("home", "supply", "meter", "controller", "zone", "planting", "task")}
    (out / "rain.csv").write_text("start,end,rain_in\n2026-07-20,2026-07-21,0.5\n", encoding="utf-8")
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    before = folder_bytes(out)
    with pytest.raises(BookError, match=r"already holds home\.csv, supply\.csv.*Nothing was written"):
        export_folder(book, out)
    assert folder_bytes(out) == before
    assert export_folder(book, out, replace=True)["rain.csv"] == 0
    assert (out / "rain.csv").read_text(encoding="utf-8") == "gauge,start,end,rain_in,trace\n"
    assert (out / "notes.txt").read_text(encoding="utf-8") == "mine"


def test_a_folder_that_makes_no_book_leaves_none(tmp_path: Path) -> None:
    folder = base_folder(tmp_path / "base")
    (folder / "rain.csv").write_text("start,end,rain_in\n2026-07-20,2026-07-19,0.5\n", encoding="utf-8")
    with pytest.raises(Exception, match=r"rain\.csv, row 2.*Nothing was stored"):
        new_from_folder(tmp_path / "a.rillbook", folder)
    (folder / "rain.csv").rename(folder / "rian.csv")
    with pytest.raises(Exception, match=r"rian\.csv.*perhaps rain.*Nothing was stored"):
        new_from_folder(tmp_path / "a.rillbook", folder)
    (folder / "rian.csv").unlink()
    (folder / "home.csv").unlink()
    with pytest.raises(BookError, match=r"must hold one home\.csv"):
        new_from_folder(tmp_path / "a.rillbook", folder)
    assert [p.name for p in tmp_path.iterdir()] == ["base"]


def test_a_book_that_is_there_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "a.rillbook").write_bytes(b"mine")
    with pytest.raises(BookError, match="is there already"):
        new_from_folder(tmp_path / "a.rillbook", base_folder(tmp_path / "base"))
    assert (tmp_path / "a.rillbook").read_bytes() == b"mine"
