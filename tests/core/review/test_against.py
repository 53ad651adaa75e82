"""A saving is named as what it is: no headline of a negative saving."""

from __future__ import annotations

import pytest

from core.figures import Figure, Line
from core.review.against import against_words, as_said, is_more


@pytest.mark.parametrize(
    ("litres", "words"), [(-296.0, "296 L more"), (120.0, "120 L less"), (0.0, "0 L"), (None, "not known")]
)
def test_each_zone_is_said_with_its_way(litres: float | None, words: str) -> None:
    assert against_words(Figure(litres, "volume"), "metric") == words


def test_what_is_more_is_told_as_its_amount_with_its_range_and_its_zones() -> None:
    """−296 L, likely −375 to −208, of 196 and 100 L: by hand."""
    lines = (Line("efficiency", 0.71, ""), Line("Shrubs", -196.0, "l"), Line("Beds", -100.0, "l"))
    more = as_said(Figure(-296.0, "volume", -375.0, -208.0, lines), added_up=True)
    assert (more.value, more.low, more.high) == (296.0, 208.0, 375.0)
    assert [line.value for line in more.working] == [0.71, 196.0, 100.0]


def test_the_working_of_one_zone_keeps_its_inputs() -> None:
    lines = (Line("sprinklers would have used", 40.0, "l"), Line("applied", 60.0, "l"))
    assert [line.value for line in as_said(Figure(-20.0, "volume", working=lines)).working] == [40.0, 60.0]


def test_a_saving_stays_as_it_is() -> None:
    saved = Figure(120.0, "volume", -10.0, 250.0)
    assert (as_said(saved), is_more(saved), is_more(Figure(None, "volume"))) == (saved, False, False)
