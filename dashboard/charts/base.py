"""What every chart shares: how it is looked at, what it hands back, and the stripes of unexplained use."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass, field
from typing import Any

import altair as alt
import pandas as pd

from core.review.month import LEFT_OVER, PART_NAMES, MonthReview
from core.units import System, from_base, shown_unit
from dashboard.colours import Palette


@dataclass(frozen=True)
class Look:
    """How a reader looks at a month: units, colours, the zones' names and shades, and what is left over is called."""

    system: System
    palette: Palette
    names: dict[str, str]
    shades: dict[str, str]
    left: str = PART_NAMES["unexplained"]

    @classmethod
    def of(cls, review: MonthReview, system: System, palette: Palette) -> Look:
        """The look of a review; a zone keeps its shade from month to month as long as the zones stay."""
        names = review.zone_names
        return cls(system, palette, names, palette.zones(list(names)), review.left_name)

    def unit(self, quantity: str) -> str:
        """Symbol of the unit a quantity is shown in."""
        return shown_unit(quantity, self.system).symbol

    def values(self, base: pd.Series[float], quantity: str) -> pd.Series[float]:
        """Metric base values in the reader's unit."""
        code = shown_unit(quantity, self.system).code
        zero = from_base(0.0, code, quantity)
        return base * (from_base(1.0, code, quantity) - zero) + zero

    @property
    def left_use(self) -> str:
        """What is left over, as a sentence begins with it."""
        return "What is left over" if self.left == LEFT_OVER else "Unexplained use"

    def part_name(self, part: str) -> str:
        """A part of the metered total in words."""
        code = part.removeprefix("zone:")
        if part == "unexplained":
            return self.left
        return PART_NAMES.get(part) or self.names.get(code, code)


@dataclass(frozen=True)
class Drawing:
    """A chart with the sentence and the table that say the same.

    Attributes:
        title: what the chart shows, as a finding.
        text: the text alternative.
        spec: the chart as Vega-Lite, None when there is nothing to draw.
        table: the numbers, in the reader's units, ready to show.
        key: words, colour and manner of what is drawn: "fill", "edged" with a second
            colour, "stripes", "wash", "line", "dashes", or a sign.
    """

    title: str
    text: str
    spec: dict[str, Any] | None
    table: pd.DataFrame
    key: tuple[tuple[str, str, str], ...] = field(default=())


AXIS = 56  # pixels an axis with its title takes below the rows


MARKS = 7  # dates on an axis, as many as a phone has room for


def row_axis(grid: bool = False) -> alt.Axis:
    """The axis of rows named by :func:`wrapped`."""
    return alt.Axis(
        labelExpr="split(datum.label, '\\n')",
        # Two lines stand on either side of their row's middle, not on the row below.
        labelOffset={"condition": {"test": "indexof(datum.label, '\\n') >= 0", "value": -6}, "value": 0},
        labelLimit=120,
        labelOverlap=False,
        ticks=False,
        domain=False,
        grid=grid,
    )


def wrapped(name: str) -> str:
    """A name on at most two lines, so that it stands whole beside its row on a phone."""
    return "\n".join(textwrap.wrap(name, 16, max_lines=2, placeholder=" …")) or name


def dates_axis(first: pd.Timestamp, last: pd.Timestamp) -> alt.Axis:
    """The midnights between two instants, each labelled once and few enough for a phone.

    Left to itself a span of a few days gets marks within the day, all labelled with the same date.
    """
    days = pd.date_range(first.ceil("D"), last, freq="D")
    marks = days[:: max(-(-len(days) // MARKS), 1)] if len(days) else [first]
    values = [alt.DateTime(year=t.year, month=t.month, date=t.day, hours=t.hour, minutes=t.minute) for t in marks]
    return alt.Axis(format="%-d %b", values=values, labelAngle=0)


def spec_of(
    *layers: alt.Chart, data: pd.DataFrame | None = None, height: float, description: str, ink: str
) -> dict[str, Any]:
    """Layers as one Vega-Lite chart; those with nothing to draw are left out.

    ``data`` is what the layers share that bring none of their own.
    """
    layers = tuple(x for x in layers if not (isinstance(x.data, pd.DataFrame) and x.data.empty))
    layered = alt.layer(*layers) if data is None else alt.layer(*layers, data=data)
    told = layered.properties(height=height, description=description).configure_axis(labelColor=ink, titleColor=ink)
    spec: dict[str, Any] = told.to_dict(validate=False)
    return spec


def stripes(colour: str, ground: str, bands: int = 7) -> dict[str, Any]:
    """A fill of slanting stripes, so that unexplained use is seen without its colour."""
    stops = []
    for band in range(bands):
        tint = colour if band % 2 == 0 else ground
        stops += [{"offset": band / bands, "color": tint}, {"offset": (band + 1) / bands, "color": tint}]
    return {"gradient": "linear", "x1": 0, "y1": 0, "x2": 1, "y2": 1, "stops": stops}


def key_entries(parts: list[str], look: Look) -> tuple[tuple[str, str, str], ...]:
    """The key of a chart of parts."""
    return tuple(
        (
            look.part_name(part),
            look.palette.part(part, look.shades),
            "stripes" if part == "unexplained" else "fill",
        )
        for part in parts
    )


def part_order(parts: list[str], zones: list[str]) -> list[str]:
    """Parts from the ground up: indoor, the zones in their order, other, unexplained."""
    wanted = ["indoor", *(f"zone:{z}" for z in zones), "other", "unexplained"]
    return [p for p in wanted if p in parts] + [p for p in parts if p not in wanted]


def round_table(frame: pd.DataFrame, places: int = 0) -> pd.DataFrame:
    """Numbers as text with thousands marks; a gap stays a gap."""
    shown = frame.copy()
    for column in shown.columns:
        if pd.api.types.is_float_dtype(shown[column]):
            shown[column] = shown[column].map(
                lambda v: "" if pd.isna(v) else f"{v + 0.0:,.{places}f}".replace("-", "−")
            )
    return shown


def day_axis(review: MonthReview) -> alt.X:
    """The days of the month as places on a line, labelled few enough for a phone."""
    last = pd.Period(review.month).days_in_month
    return alt.X(
        "date:O",
        title=f"Day of {review.first:%B %Y}",
        scale=alt.Scale(domain=list(range(1, last + 1)), padding=0.2),
        axis=alt.Axis(values=[d for d in (1, 5, 10, 15, 20, 25, 30) if d <= last], labelAngle=0, ticks=False),
    )
