"""The card of runs that brought no water: from when to when and of which zones they did not come, in one step."""

from __future__ import annotations

from datetime import date

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import Decision, Run
from core.book.store import Book
from tests.dashboard.conftest import words

LABEL = "Write it down: "


@pytest.fixture
def silent(garden: Book, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """The card of a finding from Wednesday the 8th at 5 to Wednesday the 15th; the hedge runs Mon, Wed, Fri at 5."""
    monkeypatch.setenv("RILLBOOK_BOOK", str(garden.path))
    at = AppTest.from_function(card, default_timeout=30).run()
    assert not at.exception
    return at


def card() -> None:
    from datetime import UTC, datetime

    from dashboard import data
    from dashboard.parts.deciding import SUSPECTS
    from dashboard.parts.say import show_told
    from dashboard.parts.suspect import show_suspect
    from tests.dashboard import invented

    told = invented.finding(
        kind="not_delivered", meter="curb", strength="fair", decision="repaired", note="dead battery",
        since=datetime(2026, 7, 8, 11, tzinfo=UTC), until=datetime(2026, 7, 15, 12, tzinfo=UTC),
    )  # fmt: skip
    show_told(SUSPECTS)
    show_suspect(data.book(), invented.month(zones=()), told, 0, "metric")


def choose(at: AppTest, label: str, day: date, clock: str) -> AppTest:
    next(d for d in at.date_input if d.label == label).set_value(day)
    name = label.lower()
    next(t for t in at.text_input if t.key and t.key.startswith(f"gone-{name}-time-")).set_value(clock)
    return at.run()


def sends(at: AppTest) -> list[str]:
    return [b.label for b in at.button if b.label.startswith(LABEL)]


def test_what_would_be_written_is_shown_then_written_and_taken_back(garden: Book, silent: AppTest) -> None:
    """The 8th, 10th, 13th and 15th."""
    assert "Quince *hedge*: 4 runs from 8 to 15 July 2026." in words(silent)
    assert sends(silent) == [f"{LABEL}4 runs did not come"]
    at = choose(silent, "From", date(2026, 7, 9), "")
    assert "Quince *hedge*: 3 runs from 10 to 15 July 2026." in words(at)
    number = garden.number()
    next(b for b in at.button if b.label.startswith(LABEL)).click().run()
    assert not at.exception
    runs = [s.record for s in garden.records(Run)]
    assert [(r.zone, str(r.at), r.ran, r.why) for r in runs] == [
        ("hedge", f"2026-07-{day}", False, "dead battery") for day in (10, 13, 15)
    ]
    assert not garden.records(Decision), "it was decided"
    assert "Stored: 3 runs of Quince *hedge* from 10 to 15 July 2026 did not come." in words(at)
    at.button(key=f"undo-{number + 1}").click().run()
    assert not garden.records(Run)


def test_what_makes_no_sense_is_said_and_nothing_can_be_sent(garden: Book, silent: AppTest) -> None:
    at = choose(silent, "From", date(2026, 7, 16), "")
    assert "2026-07-16 comes after 2026-07-15 06:00: from when to when? Nothing was stored." in words(at)
    assert sends(at) == []
    at = choose(choose(at, "From", date(2026, 7, 11), ""), "To", date(2026, 7, 12), "")
    assert "No run of Quince *hedge* was set from 11 to 12 July 2026." in words(at)
    at = choose(at, "To", date(2026, 7, 12), "six")
    assert "“2026-07-12 six” is not a date or time." in words(at)
    assert sends(at) == []
    at.pills[0].set_value([]).run()
    at = choose(at, "To", date(2026, 7, 15), "")
    assert "Of which zones?" in words(at)


def test_a_day_typed_last_is_shown_before_it_is_written(garden: Book, silent: AppTest) -> None:
    next(d for d in silent.date_input if d.label == "From").set_value(date(2026, 7, 13))
    next(b for b in silent.button if b.label.startswith(LABEL)).click().run()
    assert "This has changed since it was shown." in words(silent)
    assert not garden.records(Run)
