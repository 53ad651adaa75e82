"""What of the water left over a person has settled: by its time in the month."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from core.accounts.findings import Finding
from core.book.kinds import MeterReading
from core.book.store import Book
from core.days import Moment
from core.figures import Figure
from core.review import review_month, see
from core.review.decide import decide
from core.review.settled import settled_of, settled_words
from tests.leaky import DAY, FIRST, LEAK, leaky_book

OPENS, CLOSES = datetime(2026, 7, 1, tzinfo=UTC), datetime(2026, 8, 1, tzinfo=UTC)
THROUGH = datetime(2026, 8, 5, tzinfo=UTC)


def finding(first: str, last: str | None, decision: str = "harmless", **over: object) -> Finding:
    """Of 100 L, from midnight to midnight of two days."""
    values: dict[str, object] = {
        "kind": "steady", "meter": "curb", "zone": None, "group": (), "since": datetime.fromisoformat(f"{first}T00Z"),
        "until": datetime.fromisoformat(f"{last}T00Z") if last else None, "rate_lph": 1.0, "strength": "strong",
        "volume": Figure(100.0, "volume"), "score": 9.0, "decision": decision,
    }  # fmt: skip
    return Finding(**(values | over))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("found", "left", "settled"),
    [
        (finding("2026-07-03", "2026-07-05"), 300.0, {"harmless": 100.0}),
        (finding("2026-07-03", "2026-07-05", "explained"), 300.0, {"explained": 100.0}),
        (finding("2026-07-03", "2026-07-05", ""), 300.0, {}),
        (finding("2026-07-27", "2026-08-06"), 300.0, {"harmless": 50.0}),  # five of its ten days
        (finding("2026-07-26", None), 300.0, {"harmless": 60.0}),  # six of the ten days it is metered
        (finding("2026-08-02", "2026-08-04"), 300.0, {}),
        (finding("2026-07-03", "2026-07-05"), 60.0, {"harmless": 100.0}),  # 40 L less came at other times
        (finding("2026-07-03", "2026-07-05"), -300.0, {}),  # never of the other sign
        (finding("2026-07-03", "2026-07-05", kind="another_schedule"), 300.0, {}),  # it came, at another time
        (finding("2026-07-03", "2026-07-05", kind="another_schedule", share=0.5), 300.0, {"harmless": 100.0}),
        (finding("2026-07-03", "2026-07-05", "repaired", after="The meter contradicts the repair: ."), 300.0, {}),
    ],
)
def test_what_is_settled_of_a_month(found: Finding, left: float, settled: dict[str, float]) -> None:
    assert settled_of([found], left, OPENS, CLOSES, THROUGH) == pytest.approx(settled)


@pytest.mark.parametrize(
    ("left", "words"),
    [
        (298.0, "394 L whose cause you found, and at other times 96 L less than expected"),
        (-298.0, "394 L whose cause you found, and at other times 96 L more than expected"),
        (394.0, "you found its cause"),
        (400.0, "394 L whose cause you found, the rest nobody can explain"),
    ],
)
def test_what_is_settled_is_told_by_the_amount_on_its_card(left: float, words: str) -> None:
    """394 less 298 is 96."""
    assert settled_words({"explained": 394.0}, left, "metric") == words


def test_a_month_calls_settled_water_left_over_and_still_closes(tmp_path) -> None:  # type: ignore[no-untyped-def]
    """A leak that goes on into August, called harmless, is no longer water that nobody can explain in July."""
    book: Book = leaky_book(tmp_path / "leaky.rillbook")
    with book.change("it goes on") as change:
        last = max(s.record.register_value for s in book.records(MeterReading))
        for day in range(61, 70):
            last += 375
            change.add(MeterReading(meter="curb", at=Moment(FIRST + day * DAY, -360), register_value=last))
    at = LEAK + 18 * DAY
    before = review_month(book, "2026-07", at)
    assert "that nobody can explain" in before.sentences[0]
    (leak,) = [f for f in see(book, at).accounts["curb"].findings if f.kind == "steady"]
    assert leak.until is None
    decide(book, leak, "harmless", Moment(at, -360))
    after = review_month(book, "2026-07", at + timedelta(minutes=15))
    assert "that nobody can explain" not in after.sentences[0]
    assert "left over" in after.sentences[0]
    assert "you called" in after.sentences[0]
    assert [p.name for p in after.parts if p.part == "unexplained"] == ["Left over"]
    assert sum(p.volume.value or 0.0 for p in after.parts) == pytest.approx(after.used.value)
    assert after.unexplained.value == pytest.approx(before.unexplained.value)
