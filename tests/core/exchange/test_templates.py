"""Templates: each reads back as it stands, and all of them together make a book."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from core.book.kinds import KINDS, fields_of
from core.exchange.folder import new_from_folder
from core.exchange.sheets import read_sheet
from core.exchange.templates import EXAMPLES, template
from core.units import System


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("kind", KINDS)
def test_a_template_reads_back(kind: str, system: System) -> None:
    text = template(kind, system)
    sheet = read_sheet(text, kind, ZoneInfo("America/Los_Angeles"))
    assert [p.sentence() for p in sheet.problems] == []
    ((row, record),) = sheet.rows
    assert row == 2
    assert isinstance(record, KINDS[kind])
    header, example = list(csv.reader(io.StringIO(text)))
    assert len(header) == len(fields_of(KINDS[kind])), "one column for every field"
    assert len(example) == len(header)


@pytest.mark.parametrize("kind", KINDS)
def test_an_example_names_only_fields_there_are(kind: str) -> None:
    assert EXAMPLES[kind].keys() <= {f.name for f in fields_of(KINDS[kind])}


@pytest.mark.parametrize("system", ["us", "metric"])
def test_all_templates_together_make_a_book(system: System, tmp_path: Path) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    for kind in KINDS:
        (folder / f"{kind}.csv").write_text(template(kind, system), encoding="utf-8", newline="")
    book, brought = new_from_folder(tmp_path / "invented.rillbook", folder)
    assert brought.added == len(KINDS) - 1, "the home is there before the rest comes in"
    assert [kind for kind in KINDS if len(book.records(KINDS[kind])) != 1] == []


def test_us_and_metric_examples_are_about_the_same_amount() -> None:
    """Each pair is one size told twice, rounded as a person would: within a tenth."""
    zone = ZoneInfo("America/Los_Angeles")
    for kind in KINDS:
        us, metric = (read_sheet(template(kind, s), kind, zone).rows[0][1] for s in ("us", "metric"))
        for field in fields_of(KINDS[kind]):
            if field.cell.form == "measured" and getattr(us, field.name) is not None:
                assert getattr(us, field.name).base == pytest.approx(getattr(metric, field.name).base, rel=0.1)


def test_a_metric_template_is_of_a_metric_home() -> None:
    rows = {k: next(csv.DictReader(io.StringIO(template(k, "metric")))) for k in ("home", "meter", "tariff")}
    assert (rows["home"]["display"], rows["home"]["currency"]) == ("metric", "€")
    assert not rows["home"]["timezone"].startswith("America/")
    assert (rows["meter"]["unit"], rows["tariff"]["unit"]) == ("m3", "m3")
    assert "us,3,$" in template("home", "us")
