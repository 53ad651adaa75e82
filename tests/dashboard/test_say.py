"""What is told once something was undone."""

from __future__ import annotations

import pytest

from dashboard.parts.say import undone_words


@pytest.mark.parametrize(
    ("told", "undone"),
    [
        ("Stored: rain of 9 mm.", "Taken back: rain of 9 mm."),
        ("Taken back: rain of 9 mm.", "Stored again: rain of 9 mm."),
        ("Removed: rain of 9 mm.", "Back in the book: rain of 9 mm."),
        ("Put right: rain of 9 mm.", "Taken back: “Put right: rain of 9 mm”."),
        ("Taken back: “Put right: rain of 9 mm”.", "Stored again: “Put right: rain of 9 mm”."),
        ("The shutdown of 2026 is finished.", "Taken back: “The shutdown of 2026 is finished”."),
        ("brought in 5 rain from rain.csv", "Taken back: “Brought in 5 rain from rain.csv”."),
        ("undid: shutdown 2026 finished", "Stored again: “Shutdown 2026 finished”."),
        ("did again: shutdown 2026 finished", "Taken back: “Shutdown 2026 finished”."),
    ],
)
def test_undone_in_plain_words(told: str, undone: str) -> None:
    assert undone_words(told) == undone
