"""Hypothesis strategies: any record of any kind, made from the kind's declaration, and a small garden to hold it."""

from __future__ import annotations

import typing
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from annotated_types import Ge, Gt, Le
from hypothesis import strategies as st
from pydantic import ValidationError
from pydantic.fields import FieldInfo as PydanticField

from core.book.kinds import KINDS, Controller, FieldInfo, Measured, Meter, Record, Supply, Task, Zone, fields_of
from core.days import Moment
from core.units import QUANTITIES

MEMORY = Path("/dev/shm") if Path("/dev/shm").is_dir() else None  # noqa: S108
"""A disk that need not be waited for, where there is one: for tests that write hundreds of times."""

GARDEN: tuple[Record, ...] = (
    Supply(code="main", name="Main"),
    Supply(code="barrel", name="Barrel", source="barrel", metered=False),
    Meter(code="house", name="House", supply="main", unit="gal"),
    Meter(code="drip", name="Drip", supply="main", unit="gal", downstream_of="house"),
    Controller(code="shed", name="Shed"),
    Zone(code="tubs", name="Tubs", supply="main", controller="shed"),
    Zone(code="hedge", name="Hedge", supply="main"),
    Task(code="filter", name="Rinse the filter", every_days=60),
)
"""What the records refer to: two of most things."""

CODES = {kind: [r.code for r in GARDEN if kind == r.KIND] for kind in ("supply", "meter", "controller", "zone", "task")}

NOTATIONS = {
    "days": ["daily", "mon wed fri", "odd", "even", "every 3 from 2026-05-01"],
    "starts": ["05:00", "05:00 20:30"],
    "waters": ["tubs", "tubs:3 herbs:1", "a:1 b:1 c:1"],
    "shutdown_due": ["", "10-20", "02-29"],
    "startup_due": ["", "04-20"],
    "due_by": ["", "10-15"],
    "prices": ["3.65", "to 4: 3.65 / to 10: 5.10 / rest: 6.17"],
}

texts = st.text(st.characters(exclude_categories=["Cs", "Cc"], include_characters="\t\n"), max_size=30)
codes = st.from_regex(r"[a-z0-9][a-z0-9_-]{0,8}", fullmatch=True)
days = st.dates(date(1900, 1, 1), date(2199, 12, 20))
instants = st.datetimes(datetime(1900, 1, 1), datetime(2199, 12, 20), timezones=st.just(UTC)).map(
    lambda t: t.replace(fold=0)
)
moments = st.builds(Moment, instants, st.integers(-720, 840), st.sampled_from(["minute", "hour", "day"]))


def records(kind: type[Record]) -> st.SearchStrategy[Record]:
    """Any record the kind admits that refers only to codes of the garden."""
    fields = {info.name: _values(kind, info) for info in fields_of(kind)}
    made = st.fixed_dictionaries(fields).map(_in_order).map(lambda values: _try(kind, values))
    return made.filter(lambda record: record is not None)


def _values(kind: type[Record], info: FieldInfo) -> st.SearchStrategy[Any]:
    values = _some(kind, info)
    optional = not info.required and info.default is None
    return st.none() | values if optional else values


def _some(kind: type[Record], info: FieldInfo) -> st.SearchStrategy[Any]:  # noqa: PLR0911
    form = info.cell.form
    low, high = _limits(kind, info.name)
    if kind.KIND == "home" and info.name in ("code", "timezone"):
        return st.just("home") if info.name == "code" else st.sampled_from(["America/Denver", "Europe/London"])
    if info.name == "scope":  # of a pause: everything, or a zone that is there
        return st.sampled_from(["all", *CODES["zone"]])
    if form == "choice":
        return st.sampled_from(info.choices)
    if form == "ref":
        return st.sampled_from(CODES[info.cell.to])
    if form == "notation":
        return st.sampled_from(NOTATIONS[info.name])
    if form == "whole":
        return st.integers(int(max(low, -(10**12))), int(min(high, 10**12)))
    if form == "number":
        return st.floats(max(low, -1e300), min(high, 1e300)).map(lambda x: x + 0.0)  # SQLite keeps no -0
    if form == "decimal":
        smallest = Decimal("0.001") if low == 0 else Decimal(0)
        return st.decimals(smallest, 10**9, allow_nan=False, allow_infinity=False)
    if form == "measured":
        return measures(info.cell.quantity)
    if form == "text":
        return texts.map(lambda text: text.strip() or "x")
    return {"code": codes, "yesno": st.booleans(), "day": days, "moment": moments}[form]


def measures(quantity: str) -> st.SearchStrategy[Measured]:
    """A measure as somebody might type it: any digits, in any unit of the quantity."""
    typed = st.decimals(0, 10**6, places=3).map(str) | st.sampled_from(["0", "12.50", "007", "0.35", "1e2"])
    return st.builds(Measured, typed, st.sampled_from(sorted(QUANTITIES[quantity].units)), st.just(quantity))


def _in_order(values: dict[str, Any]) -> dict[str, Any]:
    """Beginnings before ends, so that few drafts are refused."""
    for first, last in (("start", "end"), ("since", "until"), ("tmin", "tmax")):
        one, other = values.get(first), values.get(last)
        if one is None or other is None:
            continue
        if isinstance(one, Moment) and isinstance(other, Moment) and other.utc <= one.utc:
            values[last] = Moment(one.utc + timedelta(minutes=5), other.offset_minutes, other.exact)
        elif isinstance(one, date) and other <= one:
            values[last] = one + timedelta(days=3)
        elif isinstance(one, Measured):
            values[first], values[last] = sorted((one, other), key=lambda m: m.base)
    return values


def _try(kind: type[Record], values: dict[str, Any]) -> Record | None:
    for left_out in ((), ("species_factor", "density_factor", "microclimate_factor"), ("factor",), ("length",)):
        try:
            return kind(**{name: None if name in left_out else value for name, value in values.items()})
        except ValidationError:
            continue
    return None


def _limits(kind: type[Record], name: str) -> tuple[float, float]:
    low, high = -float("inf"), float("inf")
    field = kind.model_fields[name]
    waiting: list[Any] = [*field.metadata, field.annotation]
    while waiting:
        part = waiting.pop()
        if isinstance(part, PydanticField):
            waiting += part.metadata
        elif isinstance(part, Ge):
            low = max(low, float(part.ge))  # type: ignore[arg-type]
        elif isinstance(part, Gt):
            low = max(low, float(part.gt))  # type: ignore[arg-type]
        elif isinstance(part, Le):
            high = min(high, float(part.le))  # type: ignore[arg-type]
        else:
            waiting += [*typing.get_args(part), *getattr(part, "__metadata__", ())]
    return low, high


KIND_NAMES = list(KINDS)
