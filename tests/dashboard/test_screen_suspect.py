"""A finding's card: cause, harmless, repaired and whether the meter agrees, asked again, and the way to the hunt."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import Decision, MeterReading
from core.book.store import Book
from tests.dashboard.conftest import ROOT, words
from tests.leaky import leaky_book


@pytest.fixture
def leaky(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Book:
    book = leaky_book(tmp_path / "leaky.rillbook")
    monkeypatch.setenv("RILLBOOK_BOOK", str(book.path))
    return book


def on(day: str, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """The month's page as on a day of July at 9 in the morning."""
    monkeypatch.setenv("RILLBOOK_AS_OF", f"{day}T09:00:00-06:00")
    at = AppTest.from_file(str(ROOT / "dashboard" / "app.py"), default_timeout=60)
    at.query_params["month"] = day[:7]
    at.run()
    assert not at.exception
    return at


def press(at: AppTest, label: str) -> AppTest:
    next(b for b in at.button if b.label == label).click().run()
    assert not at.exception
    return at


def repaired(at: AppTest, day: str) -> AppTest:
    next(d for d in at.date_input if d.label == "Day of the repair").set_value(datetime.fromisoformat(day).date())
    return press(at, "Write it down")


def test_a_leak_has_a_way_to_the_hunt(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = on("2026-07-26", monkeypatch)
    assert "Water that runs all the time" in words(at)
    links = [e.proto.label for e in at.get("page_link")]
    assert "Find it with the meter, one valve at a time" in links


def test_the_cause_is_written_with_its_words(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = on("2026-07-26", monkeypatch)
    next(t for t in at.text_input if t.label.startswith("In your own words")).input("the *softener*")
    press(at, "Write down the cause")
    decision = leaky.records(Decision)[0].record
    assert (decision.verdict, decision.note, decision.finding) == ("explained", "the *softener*", "steady")
    assert "You decided: cause found. Your note: the *softener*" in words(at).replace("**", ""), "text, not markdown"
    press(at, "Undo")
    assert not leaky.records(Decision)


def test_a_repair_waits_for_readings_and_is_then_contradicted(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = repaired(on("2026-07-25", monkeypatch), "2026-07-25")
    assert leaky.records(Decision)[0].record.verdict == "repaired"
    assert "No reading since the repair yet, so the meter cannot say." in words(at)
    at = on("2026-07-30", monkeypatch)
    assert "The meter contradicts the repair" in words(at)
    assert "Everything found in this month is settled." not in words(at), "it waits for an answer again"
    press(at, "Ask me again")
    assert [s.record.verdict for s in leaky.records(Decision)] == ["repaired", "ask_again"]


def test_a_repair_that_held_is_confirmed(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """The readings of the last five days taken out, and five quiet ones put in their place."""
    rows = sorted(leaky.records(MeterReading), key=lambda s: s.record.at.utc)
    value = int(rows[55].record.register_value)
    with leaky.change("it was repaired") as change:
        for stored in rows[56:]:
            value += 133
            change.correct(stored.id, stored.record.model_copy(update={"register_value": value}))
    at = repaired(on("2026-07-26", monkeypatch), "2026-07-26")
    at = on("2026-07-31", monkeypatch)
    assert "The meter confirms the repair: nothing of it in " in words(at)
    assert "Everything found in this month is settled." in words(at)


def test_what_to_do_next_leads_to_the_card_of_its_finding(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = on("2026-07-26", monkeypatch)
    step = next(m.value for m in at.markdown if "](#" in m.value)
    card = step.rpartition("](#")[2].rstrip(")")
    assert step.startswith("[Water that runs all the time")
    assert any(f'id="{card}"' in h.proto.body for h in at.get("html")), "there is a place of that name"


def test_a_card_says_what_to_check_and_what_to_mind_in_the_open_and_folds_the_evidence(
    leaky: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = on("2026-07-26", monkeypatch)
    (fold,) = [e for e in at.expander if e.label == "The evidence"]
    folded = " ".join(m.value for m in fold.markdown)
    assert "more than the house and the runs explain" in folded
    assert "**Mind:**" not in folded
    assert any(m.value.startswith("**Mind:**") for m in at.markdown)
    press(at, "Harmless")
    assert not any(m.value.startswith("**Mind:**") for m in at.markdown), "settled, nothing is to be done"


def card() -> None:
    from dashboard import data
    from dashboard.parts.suspect import show_suspect
    from tests.dashboard import invented

    show_suspect(data.book(), invented.month(zones=()), invented.finding(), 1, "metric")


def test_a_zone_that_did_nothing_in_the_month_has_its_name(leaky: Book) -> None:
    at = AppTest.from_function(card).run()
    assert not at.exception
    assert "Quince hedge: a valve that did not close" in words(at)


def gone() -> None:
    from dashboard import data
    from dashboard.parts.suspect import show_suspect
    from tests.dashboard import invented

    missed = invented.finding(kind="not_delivered", rate_lph=-276.9, volume=invented.volume(-821.0))
    show_suspect(data.book(), invented.month(zones=()), missed, 1, "metric")


def test_runs_that_brought_no_water_have_no_rate(leaky: Book) -> None:
    said = words(AppTest.from_function(gone).run())
    assert "About 821 L less than expected" in said
    assert "while it lasts" not in said


def test_a_decision_is_told_beside_the_cards_with_its_undo(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever pressed a button at a card does not look at the top of the page."""
    at = press(on("2026-07-26", monkeypatch), "Harmless")
    kinds = [e.value for e in at.main if e.type in ("subheader", "success")]
    place = kinds.index("What it may have been")
    assert kinds[place + 1].startswith("Harmless")
    press(at, "Undo")
    assert not leaky.records(Decision)


def test_the_later_of_two_decisions_within_a_minute_holds_and_undo_brings_the_first_back(
    leaky: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = press(on("2026-07-26", monkeypatch), "Harmless")
    at = press(at, "Ask me again")
    assert [s.record.verdict for s in leaky.records(Decision)] == ["ask_again"]
    assert not at.error
    press(at, "Undo")
    assert [s.record.verdict for s in leaky.records(Decision)] == ["harmless"]


def test_a_settled_card_says_the_day_and_no_longer_what_to_check(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = on("2026-07-26", monkeypatch)
    assert "Check first:" in words(at)
    at = repaired(at, "2026-07-25")
    said = words(at).replace("**", "")
    assert "You decided: repaired on 25 July 2026." in said
    assert "Check first:" not in said


def test_each_line_of_evidence_stands_on_a_card_once(leaky: Book) -> None:
    assert words(AppTest.from_function(card).run()).count("The night of 14 July took 900 L more") == 1


def late() -> None:
    from dashboard import data
    from dashboard.parts.suspect import show_suspect
    from tests.dashboard import invented

    moved = invented.finding(kind="another_schedule")
    show_suspect(data.book(), invented.month(zones=()), moved, 1, "metric")


def test_water_at_other_times_is_not_called_more_than_expected(leaky: Book) -> None:
    said = words(AppTest.from_function(late).run())
    assert "About 1,550 L at other times than the book says" in said
    assert "more than expected" not in said


def settled() -> None:
    import streamlit as st

    from dashboard.words import settled_words
    from tests.dashboard import invented

    for litres in ({}, {"explained": 1550.0}, {"harmless": 550.0}):
        st.text(settled_words(invented.month(settled=litres), "metric") or "nothing")


def test_the_tile_says_what_is_settled_in_the_words_of_the_month() -> None:
    """1,550 L of the invented month are left over."""
    assert [t.value for t in AppTest.from_function(settled).run().text] == [
        "nothing",
        "you found its cause",
        "550 L you called harmless, the rest nobody can explain",
    ]
