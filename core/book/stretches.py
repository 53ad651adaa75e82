"""Water told for a stretch of time: whether two rows of one gauge or meter tell of the same hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.book.kinds import MeteredUse, Rain, Record
from core.book.store import Book
from core.book.whole_days import span

OF: dict[str, str] = {Rain.KIND: "gauge", MeteredUse.KIND: "meter"}
"""Kinds whose rows hold from ``start`` to ``end``, and the field within which no two should hold at once."""

_HALF_A_DAY_S = 43_200  # a day alone is kept as its noon: the hour a gauge was read may be so much earlier or later
_OF_DAYS = ((0, 0), (12, 0))  # where rows by days begin and end
_BEGUN = datetime(1970, 1, 1, tzinfo=UTC)
_SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Overlap:
    """A row that holds at the same time as another.

    Attributes:
        place: which of the records asked about.
        above: which earlier one of them it overlaps; None: one of the book.
        start, end: from when to when the other holds, on the home's clock.
    """

    place: int
    above: int | None
    start: str
    end: str


def overlaps(book: Book, records: Sequence[Record], gone: int | None = None) -> list[Overlap]:
    """Records of one kind, each new to the book, that hold at the same time as one of the book or one before them.

    Of rows that overlap each other the later in the list is told, with one that it meets. Rows that only touch do not
    overlap; nor does rain that may only touch, where one is known to the day alone. Metered use by days is from
    midnight to midnight.

    Args:
        gone: id of the record that is put right, which is no neighbour.
    """
    if not records or records[0].KIND not in OF:
        return []
    of = OF[records[0].KIND]
    zone = book.zone_info  # read once: each asking opens the book
    spans = pd.concat([_of_book(book, records[0].KIND, of, gone), _of_records(records, of, zone)], ignore_index=True)
    spans["of"] = pd.factorize(spans["of"])[0]
    spans = spans.drop_duplicates(["of", "start", "end"])  # the same row once more is told elsewhere
    spans = spans.sort_values(["of", "start", "end"], kind="stable", ignore_index=True)
    group, start, end, place = (spans[name].to_numpy("i8") for name in ("of", "start", "end", "place"))
    day = spans["day"].to_numpy(bool)
    unsure_s = 0 if records[0].KIND == MeteredUse.KIND else _HALF_A_DAY_S
    found = []
    for other in (_reaching_furthest(group, end), _next_within(group)):
        mine = np.flatnonzero((other >= 0) & (place >= 0) & (place[other] < place))
        theirs = other[mine]
        slack = np.where(day[mine] != day[theirs], unsure_s, 0)
        met = (start[mine] + slack < end[theirs]) & (start[theirs] + slack < end[mine])
        found += list(zip(place[mine[met]].tolist(), theirs[met].tolist(), strict=True))
    return [
        Overlap(
            one,
            int(place[other]) if place[other] >= 0 else None,
            *(_shown(int(at[other]), zone, by_day=bool(day[other])) for at in (start, end)),
        )
        for one, other in sorted(dict(reversed(found)).items())
    ]


def _reaching_furthest(group: np.ndarray[Any, Any], end: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """For each row in order of start, the one before it in its group that ends last; -1 for the first."""
    places = np.arange(len(end))
    span = int(end.max() - end.min()) + 1
    lifted = (end - end.min()) + group * span  # so that a group never ends before the one ahead of it
    last = np.maximum.accumulate(lifted)
    furthest = np.maximum.accumulate(np.where(lifted == last, places, 0))
    before = np.concatenate([[-1], furthest[:-1]])
    return np.where((before >= 0) & (group[before] == group), before, -1)


def _next_within(group: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """For each row in order of start, the one after it in its group; -1 for the last."""
    after = np.arange(1, len(group) + 1)
    after[-1] = -1
    return np.where((after >= 0) & (group[after] == group), after, -1)


def _of_book(book: Book, kind: str, of: str, gone: int | None) -> pd.DataFrame:
    rows = book.frame(kind)
    rows = rows if gone is None else rows[rows["id"] != gone]
    spans = {name: rows[name].dt.tz_convert(None).to_numpy("datetime64[s]").astype("i8") for name in ("start", "end")}
    day = (rows["start_exact"] == "day") | (rows["end_exact"] == "day")
    return pd.DataFrame({"of": rows[of].to_numpy(object), **spans, "day": day.to_numpy(bool), "place": -1})


def _of_records(records: Sequence[Any], of: str, zone: ZoneInfo) -> pd.DataFrame:
    held = [span(r.start, r.end, zone) if isinstance(r, MeteredUse) else (r.start.utc, r.end.utc) for r in records]
    return pd.DataFrame(
        {
            "of": np.array([getattr(r, of) for r in records], dtype=object),
            **{n: np.array([(each[k] - _BEGUN) // _SECOND for each in held]) for k, n in enumerate(("start", "end"))},
            "day": ["day" in (r.start.exact, r.end.exact) for r in records],
            "place": np.arange(len(records)),
        }
    )


def _shown(at_s: int, zone: ZoneInfo, *, by_day: bool) -> str:
    local = datetime.fromtimestamp(at_s, zone)
    return f"{local:%Y-%m-%d}" if by_day and (local.hour, local.minute) in _OF_DAYS else f"{local:%Y-%m-%d %H:%M}"
