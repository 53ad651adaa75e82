"""Too much: one meaning, one figure, one threshold, whoever tells it. Gardens as in test_plants: 30 L a day needed.

The threshold is the edge of the bin "on target" in WRF 4309's executive report: 1.3 of the need, so that 0.3 of it may
drain.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from core.cli.month_json import month_as_data
from core.cli.month_text import month_in_words
from core.cli.plants_json import plants_as_data
from core.cli.plants_text import plants_in_words
from core.review import month_of
from core.review.enough import is_too_much, too_much_sentence
from core.review.month import MonthReview
from core.review.picture import draw
from core.review.plants import PlantsMonth, plants_month
from tests.core.review.gardens import begin, drip, metered, normals, program, shrubs, weather, zone

BEYOND_L = 30  # of a month: half of the bed is wetted, and the other half gives a little as long as it is moist
END = datetime(2026, 8, 1, 6, tzinfo=UTC)  # midnight in Denver


def july(folder: Path, minutes: float, *, priced: bool = False) -> tuple[MonthReview, PlantsMonth]:
    """A daily run since May at 60 L/h: a minute is a litre, of which 30 a day are needed, 930 L in July."""
    first = date(2026, 5, 1)
    setting = program(days="daily", minutes=minutes)
    book = begin(folder, zone(), shrubs(), drip(), setting, *weather(first, date(2026, 7, 31)), *normals())
    if priced:
        metered(book, date(2026, 6, 25), 36, litres_a_day=500)
    picture = draw(book, END)
    return month_of(picture, "2026-07"), plants_month(picture, "2026-07")


@pytest.mark.parametrize(("excess", "much"), [(300.0, False), (301.0, True), (0.0, False)])
def test_the_threshold(excess: float, much: bool) -> None:
    """Of 1,500 L needed and 500 L by rain, 30 % of 1,000 L."""
    assert is_too_much(1500.0, 500.0, excess) is much


def test_without_any_need_a_litre_is_too_much_and_what_rounds_to_nothing_is_not() -> None:
    assert is_too_much(500.0, 900.0, 1.0)
    assert not is_too_much(500.0, 900.0, 0.4)


def test_below_it_drained_water_is_told_and_not_called_too_much(tmp_path: Path) -> None:
    """35 L a day for 30: 5 x 31 = 155 L drain, 17 % of the need, and what the ground beyond the drip gives of it."""
    month, plants = july(tmp_path, 35)
    (bed,), (row,), (shrub,) = month.zones, plants.zones.to_dict("records"), plants.plantings
    for figure in (bed.excess.value, row["excess_l"], shrub.excess.value):
        assert figure == pytest.approx(bed.excess.value)
        assert 155 <= figure <= 155 + BEYOND_L
    assert [bed.too_much, row["too_much"], shrub.too_much] == [False] * 3
    assert "about right" in bed.sentence
    assert "given about the rest" in shrub.sentence
    for text in (*month.sentences, *plants.sentences):
        assert "oo much" not in text


def test_above_it_every_place_says_so_with_one_figure(tmp_path: Path) -> None:
    """60 L a day for 30: 30 x 31 = 930 L drain, and as above."""
    month, plants = july(tmp_path, 60)
    litres = month.zones[0].excess.value or 0
    assert 930 <= litres <= 930 + BEYOND_L
    said = f"Too much in Bed: {litres:.0f} L drained below the roots."
    assert said in month.sentences
    assert said in plants.sentences
    assert f"too much, {litres:.0f} L drained" in month.zones[0].sentence
    data, other = month_as_data(month)["zones"][0], plants_as_data(plants)
    assert data["excess"]["value_l"] == other["zones"][0]["excess_l"] == litres
    assert other["plantings"][0]["excess"]["value_l"] == pytest.approx(litres)
    assert data["too_much"] is other["zones"][0]["too_much"] is other["plantings"][0]["too_much"] is True
    for text in (month_in_words(month), plants_in_words(plants)):
        row = next(line for line in text.splitlines() if line.startswith("Bed ") and f"{litres:.0f} L" in line)
        assert "yes" in row


def test_its_money_is_one_as_well(tmp_path: Path) -> None:
    """At 10 a cubic metre every litre is 0.01, whatever flow the meter learned."""
    month, plants = july(tmp_path, 60, priced=True)
    (bed,), (row,) = month.zones, plants.zones.to_dict("records")
    assert bed.excess.value is not None
    assert bed.excess_money == row["excess_money"] == pytest.approx(bed.excess.value / 100)
    said = [s for s in month.sentences if "Too much in Bed" in s]
    assert said == [s for s in plants.sentences if "Too much in Bed" in s]
    assert f"(${bed.excess.value / 100:.2f})" in said[0]


def test_water_that_fills_a_dry_soil_is_not_too_much(tmp_path: Path) -> None:
    """Set on 9 July after weeks without any: its first water is kept, so less drains than is given beyond the need."""
    sky = weather(date(2026, 5, 1), date(2026, 7, 31))
    setting = program(days="daily", minutes=55, since=date(2026, 7, 9))
    book = begin(tmp_path, zone(), shrubs(), drip(), setting, *sky, *normals())
    bed = month_of(draw(book, END), "2026-07").zones[0]
    given = 23 * 55
    assert bed.applied.value == pytest.approx(given)
    assert given > 1.3 * 930
    assert (bed.excess.value or 0) < 0.3 * 930
    assert not bed.too_much
    assert "filled the soil" in bed.sentence


def test_several_zones_are_summed_and_the_worst_is_named() -> None:
    found = [("Bed", 100.0, 1.0), ("Tubs", 300.0, None), ("Hedge", 50.4, 0.25)]
    said = too_much_sentence(found, "metric", "€")
    assert said == "Too much in 3 zones: 450 L (€1.25) drained below the roots, most of it in Tubs (300 L)."
    assert too_much_sentence([], "metric", "€") == ""
