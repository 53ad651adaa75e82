"""The dashboard under AppTest: always from the entry script, on a book of its own, at a fixed present."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from core.book.kinds import (
    Controller,
    EmitterGroup,
    Home,
    Measured,
    Meter,
    MeterReading,
    Normal,
    Planting,
    Program,
    Rain,
    Supply,
    Task,
    Zone,
)
from core.book.store import Book
from core.days import parse_moment

ROOT = Path(__file__).resolve().parents[2]
DENVER = ZoneInfo("America/Denver")
NOW = "2026-07-20T18:00:00-06:00"

Open = Callable[..., AppTest]


@pytest.fixture(autouse=True)
def _fresh(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No book, no passphrase, no kept month from elsewhere; the user's data folder is the test's own."""
    for name in ("RILLBOOK_BOOK", "RILLBOOK_PASSPHRASE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("RILLBOOK_AS_OF", NOW)
    st.cache_data.clear()


@pytest.fixture
def garden(tmp_path: Path) -> Book:
    """A small garden with three weeks of readings every other day, made by hand."""
    home = Home(
        name="Alder <b>house</b>",
        latitude=40.0,
        longitude=-111.5,
        timezone="America/Denver",
        people=2,
        shutdown_due="10-20",
        startup_due="04-20",
    )
    book = Book.create(tmp_path / "alder.rillbook", home)
    with book.change("laid out the garden") as change:
        change.add(Supply(code="town", name="Town water", backflow="vacuum breaker", filter="150 mesh"))
        change.add(Meter(code="curb", name="Curb meter", supply="town", unit="gal", digits=7, resolution=Decimal(1)))
        change.add(Controller(code="shed", name="Shed timer"))
        change.add(Zone(code="hedge", name="Quince *hedge*", supply="town", controller="shed"))
        since = date(2026, 5, 1)
        change.add(
            Planting(
                zone="hedge",
                code="quince",
                since=since,
                name="Quinces",
                plant_type="shrub",
                count=8,
                canopy=Measured("4", "ft", "length"),
            )
        )
        change.add(
            EmitterGroup(
                zone="hedge",
                code="buttons",
                since=since,
                count=16,
                flow_each=Measured("1", "gph", "flow"),
                waters="quince",
            )
        )
        change.add(Program(zone="hedge", since=since, days="mon wed fri", starts="05:00", minutes=60))
        for month in range(1, 13):
            change.add(
                Normal(
                    month=month,
                    tmin=Measured("50", "f", "temperature"),
                    tmax=Measured("85", "f", "temperature"),
                    rain=Measured("0.8", "in", "depth"),
                )
            )
        for day in range(1, 20, 2):
            at = parse_moment(f"2026-07-{day:02d} 07:00", DENVER)
            change.add(MeterReading(meter="curb", at=at, register_value=Decimal(412_000 + 130 * day)))
        change.add(
            Rain(
                start=parse_moment("2026-07-10 07:00", DENVER),
                end=parse_moment("2026-07-11 07:00", DENVER),
                rain=Measured("0.20", "in", "depth"),
            )
        )
        change.add(Task(code="rinse", name="Rinse the filter", every_days=30, how="Shut the water first."))
    return book


@pytest.fixture
def opened(garden: Book, monkeypatch: pytest.MonkeyPatch) -> Open:
    """Opens a page of the garden's dashboard: ``opened("write")``."""
    monkeypatch.setenv("RILLBOOK_BOOK", str(garden.path))

    def open_page(page: str = "month", **query: str) -> AppTest:
        at = AppTest.from_file(str(ROOT / "dashboard" / "app.py"), default_timeout=30)
        for key, value in query.items():
            at.query_params[key] = value
        at.run()
        if page != "month":
            at.switch_page(f"views/{page}.py")
            for key, value in query.items():
                at.query_params[key] = value
            at.run()
        assert not at.exception
        assert not [e.value for e in at.error if "Something went wrong" in e.value], "a page failed"
        return at

    return open_page


def words(at: AppTest) -> str:
    """Everything the page says, one string, markdown's escapes taken off, spaces that do not break as any other."""
    parts = [*at.title, *at.header, *at.subheader, *at.markdown, *at.caption, *at.text]
    parts += [*at.error, *at.warning, *at.success, *at.info]
    return "\n".join(str(p.value) for p in parts).replace("\\", "").replace("\u00a0", " ")
