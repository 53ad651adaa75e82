"""A bar far higher than the others is cut, says so, and stays true: expected heights by hand."""

from __future__ import annotations

import altair as alt
import pandas as pd
import pytest

from dashboard.charts import use_drawing
from dashboard.charts.cut import cut_bars
from tests.dashboard import invented
from tests.dashboard.drawn import data_of, look


def bars(*days: tuple[float, ...]) -> list[list[float]]:
    """What is drawn of the parts of some days."""
    frame = pd.DataFrame([(k, value) for k, day in enumerate(days) for value in day], columns=["day", "value"])
    return [group.tolist() for _, group in cut_bars(frame).groupby("day")["drawn"]]


@pytest.mark.parametrize(
    ("days", "drawn"),
    [
        (((60.0, 40.0), (50.0,)), [[60.0, 40.0], [50.0]]),
        # 1.3 times 100 is the height; what stands beside the pool keeps its own
        (((60.0, 40.0), (60.0, 2900.0, -20.0)), [[60.0, 40.0], [60.0, 70.0, -20.0]]),
        (((100.0,), (1000.0, 40.0, 2000.0)), [[100.0], [45.0, 40.0, 45.0]]),
        (((100.0,), (1000.0,), (900.0,)), [[100.0], [130.0], [130.0]]),
        (((100.0,), (1000.0,), (900.0,), (800.0,)), [[100.0], [1000.0], [900.0], [800.0]]),
        (((100.0,), (400.0,)), [[100.0], [400.0]]),
    ],
)
def test_what_is_cut(days: tuple[tuple[float, ...], ...], drawn: list[list[float]]) -> None:
    for some, wanted in zip(bars(*days), drawn, strict=True):
        assert some == pytest.approx(wanted)


def test_a_cut_bar_says_its_amount_beside_it_and_in_words() -> None:
    """A pool of 20,000 L on 9 July, where other days have about 1,000."""
    days = invented.days_frame()
    pool = (days["part"] == "other") & (days["day"].dt.day == 9)
    days.loc[pool, "volume_l"] = 20_000.0
    whole = days.loc[days["day"].dt.day == 9, "volume_l"].clip(lower=0).sum()
    drawing = use_drawing(invented.month(days=days), look("metric"))
    alt.LayerChart.from_dict(drawing.spec, validate=True)
    assert drawing.text.endswith(f"The bar of 9 July 2026, {whole:,.0f} L, is drawn cut.")
    rows = data_of(drawing.spec)
    assert rows.loc[rows["words"].notna(), "words"].tolist()[0] == f"{whole:,.0f} L, cut"
    others = rows.loc[rows["date"].ne(9) & rows["part"].notna(), "to"].max()
    bar = rows[rows["date"].eq(9) & rows["part"].notna()]
    assert bar["to"].max() == pytest.approx(1.3 * others)
    assert "20,000 L" in bar.loc[bar["part"].eq("other"), "spoken"].item()
    assert any("20,000" in str(cell) for cell in drawing.table.to_numpy().ravel())


def test_a_month_without_such_a_day_is_drawn_as_it_is() -> None:
    drawing = use_drawing(invented.month(), look("metric"))
    assert "cut" not in drawing.text
    assert not any("cut" in str(cell) for cell in data_of(drawing.spec).get("words", []))
