"""Deciding on a finding: which of its causes it was, words that a repair keeps, when a use began, the reading to put
right, and what a leak hunt concluded, with the way back from it.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from core.accounts.findings import Cause
from core.book.kinds import Decision, LeakTest, Measured, MeterReading, OtherUse
from core.book.store import Book
from core.days import Moment
from tests.dashboard.conftest import ROOT, words
from tests.dashboard.test_screen_suspect import on, press, repaired
from tests.leaky import DAY, LEAK, leaky_book


@pytest.fixture
def leaky(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Book:
    book = leaky_book(tmp_path / "leaky.rillbook")
    monkeypatch.setenv("RILLBOOK_BOOK", str(book.path))
    return book


def links(at: AppTest) -> dict[str, str]:
    """The words and the query of every link to another page."""
    return {e.proto.label.replace("\\", ""): e.proto.query_string for e in at.get("page_link")}


def page(name: str, day: str, monkeypatch: pytest.MonkeyPatch, **query: str) -> AppTest:
    """A page as on a day of July at 9 in the morning."""
    monkeypatch.setenv("RILLBOOK_AS_OF", f"{day}T09:00:00-06:00")
    at = AppTest.from_file(str(ROOT / "dashboard" / "app.py"), default_timeout=60)
    at.run()
    for key, value in query.items():
        at.query_params[key] = value
    at.switch_page(f"views/{name}.py").run()
    assert not at.exception
    return at


def test_a_cause_is_chosen_and_stays_with_its_words_beside_the_repair(
    leaky: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = on("2026-07-26", monkeypatch)
    causes = next(r for r in at.radio if r.label == "What was it?")
    assert (causes.options[0], causes.options[-1]) == ("Water that runs all the time", "Something else")
    assert causes.value is None, "nobody has said yet"
    causes.set_value(Cause("steady"))
    next(t for t in at.text_input if t.label.startswith("In your own words")).input("the cistern")
    press(at, "Write down the cause")
    decision = leaky.records(Decision)[0].record
    assert (decision.verdict, decision.cause, decision.note) == ("explained", "steady", "the cistern")
    at = on("2026-07-27", monkeypatch)
    said = "You decided: cause found: water that runs all the time. Your note: the cistern."
    assert said in words(at).replace("**", "")
    at = repaired(at, "2026-07-26")
    told = words(on("2026-07-27", monkeypatch)).replace("**", "")
    assert "You decided: repaired on 26 July 2026. The cause you found: water that runs all the time." in told
    assert "Your note: the cistern." in told


def test_something_else_needs_words(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = on("2026-07-26", monkeypatch)
    next(r for r in at.radio if r.label == "What was it?").set_value(Cause("other"))
    press(at, "Write down the cause")
    assert "say in your own words what it was" in at.error[0].value
    assert not leaky.records(Decision)


def card() -> None:
    from core.accounts.findings import Rival
    from dashboard import data
    from dashboard.parts.suspect import show_suspect
    from tests.dashboard import invented

    rivals = (
        Rival("steady", None, (), "It could also be water that runs all the time, 1,500 L."),
        Rival("one_off", None, (), "It could also be one large use nobody wrote down, 1,550 L.", excluded=True),
    )
    told = invented.finding(rivals=rivals, hunt="The hunt of 5 July 2026 puts it at the tubs.")
    show_suspect(data.book(), invented.month(zones=()), told, 1, "metric")


def test_what_else_it_could_be_stands_on_the_card_and_what_a_hunt_excludes_is_said(leaky: Book) -> None:
    at = AppTest.from_function(card).run()
    folded = "\n".join(m.value for e in at.expander for m in e.markdown)
    said = words(at)
    assert "It could also be:** water that runs all the time, 1,500 L" in said.replace("\u00a0", " ")
    assert "The hunt excludes:** ~~one large use nobody wrote down" in said
    assert "The hunt of 5 July 2026 puts it at the tubs." in said
    assert "could also be" not in folded


def hunt(book: Book) -> None:
    """On 25 July: everything off 20 gal in 2 h, the house valve shut none in an hour."""
    with book.change("a hunt") as change:
        for hours, wait, gallons, shut in ((0, 2, 20, "nothing"), (3, 1, 0, "house")):
            change.add(
                LeakTest(
                    meter="curb",
                    at=Moment(LEAK + 4 * DAY + DAY / 24 * hours, -360),
                    duration=Measured(f"{wait}", "h", "duration"),
                    before=Decimal(420_000),
                    after=Decimal(420_000 + gallons),
                    shut=shut,  # type: ignore[arg-type]
                )
            )


def test_a_hunt_s_conclusion_is_on_the_month_and_the_meter_page_and_the_hunt_leads_back(
    leaky: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The leaky house has no zones: shutting the house valve stops it, so it is indoors."""
    hunt(leaky)
    concluded = "The hunt of 25 July 2026 puts it inside the house: it stops with the house valve shut."
    at = on("2026-07-26", monkeypatch)
    assert concluded in words(at)
    assert "Check first:** Look at the toilets first" in words(at)
    assert "small dial" not in words(at)
    assert "month=2026-07" in links(at)["To the leak hunt"]
    assert concluded in words(page("meter", "2026-07-26", monkeypatch, month="2026-07"))
    back = {w: q for w, q in links(page("hunt", "2026-07-26", monkeypatch)).items() if w.startswith("Back to")}
    assert back == {"Back to water that runs all the time, since 21 July (July 2026)": "month=2026-07"}
    late = links(page("hunt", "2026-08-02", monkeypatch, month="2026-07"))
    assert [q for w, q in late.items() if w.startswith("Back to")] == ["month=2026-07"], "the month one came from"


def test_a_misread_register_has_its_way_to_be_put_right(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reading of 1 July ten thousand gallons too high, as a digit is mistyped."""
    stored = sorted(leaky.records(MeterReading), key=lambda s: s.record.at.utc)[30]
    right = stored.record.register_value
    with leaky.change("mistyped") as change:
        change.correct(stored.id, stored.record.model_copy(update={"register_value": right + 10_000}))
    at = on("2026-07-12", monkeypatch)
    assert "A reading taken or typed wrongly" in words(at)
    assert "0 gal more than expected" not in words(at)
    way = next(q for w, q in links(at).items() if w.startswith("Put right or remove: 42"))
    assert way == f"month=2026-07&right={stored.id}"
    assert sum(q == way for q in links(at).values()) == 2, "in what to do next as well"
    at = page("meter", "2026-07-12", monkeypatch, month="2026-07", right=str(stored.id))
    assert "Put this reading right:" in words(at)
    next(t for t in at.text_input if t.label.startswith("Register")).input(str(right))
    press(at, "Store it put right")
    assert leaky.get(MeterReading, stored.id).record.register_value == right
    assert "Put this reading right:" not in words(at), "done"
    assert "A reading taken or typed wrongly" not in words(on("2026-07-12", monkeypatch))


def test_a_reading_put_right_wrongly_can_be_put_right_again(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """One window: still too high after the first time, the link is followed once more."""
    stored = sorted(leaky.records(MeterReading), key=lambda s: s.record.at.utc)[30]
    at = page("meter", "2026-07-12", monkeypatch, month="2026-07", right=str(stored.id))
    next(t for t in at.text_input if t.label.startswith("Register")).input(str(stored.record.register_value + 9000))
    press(at, "Store it put right")
    press(at, "It is right, store it")
    assert leaky.get(MeterReading, stored.id).record.register_value == stored.record.register_value + 9000
    assert "Put this reading right:" not in words(at), "done"
    at.query_params["right"] = str(stored.id)
    at.run()
    assert "Put this reading right:" in words(at)


def test_a_link_to_a_reading_that_is_gone_shows_no_form(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    for asked in ("99999", "x"):
        at = page("meter", "2026-07-12", monkeypatch, month="2026-07", right=asked)
        assert "Put this reading right:" not in words(at)


def test_a_use_is_logged_at_the_day_and_hour_the_person_says(leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """On 22 July the readings of the 21st and the 22nd, both at 7, look like one use between them."""
    at = on("2026-07-22", monkeypatch)
    day = next(d for d in at.date_input if d.label == "It began on")
    clock = next(t for t in at.text_input if t.key and t.key.startswith("log-time-"))
    assert (str(day.value), clock.value) == ("2026-07-21", "07:00"), "as found"
    next(t for t in at.text_input if t.label == "What was it for?").input("the pool")
    clock.input("16:30")
    press(at, "Store as other use")
    use = leaky.records(OtherUse)[0].record
    assert f"{use.start.local:%Y-%m-%d %H:%M}" == "2026-07-21 16:30"
