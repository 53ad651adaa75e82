"""The daily water balance of the root zone (FAO-56 chapter 8), for one planting or many at once.

    root_zone_balance(need_mm, rain_mm, applied_mm, total_available_mm, depletion_fraction, *, start_depletion_mm=0.0,
                      reference_et_mm=None, wetted_fraction=1.0, adjust_fraction=True, parts=1) -> Balance
    Balance.frame(days, plantings=None) -> DataFrame, one row per day (and planting)
    days_until_start_forgotten(need_mm, rain_mm, applied_mm, total_available_mm, depletion_fraction) -> days or None

The order of the day, always the same: rain below 0.2 of reference ET is dropped (FAO-56 p. 170); the rest of the
rain comes in, then what was applied; what the store cannot hold drains at once; then the plants take theirs, less
when the store is low (FAO-56 eqs. 81, 84). This is the order of FAO-56 Example 38; taking eq. 88 to the letter (plants
first, then drainage) gives other numbers.

Drip wets part of the ground only. The root zone is therefore two stores under the same plants, each balanced by
FAO-56 eq. 85: the wetted part, which gets rain and drip, and the ground outside it, which gets rain alone. Their sizes
are the wetted and the dry share of TAW, so drip can never refill more than the wetted share of TAW, which is how
drip design reckons its greatest net depth (NRCS National Engineering Handbook 623 chapter 7, share wetted Pw [memory]).
Plants draw from both in proportion to the water each still holds, and feel the better one, which is the wetted. With a
wetted fraction of 1 this is FAO-56 to the letter. Depths are over the planting's whole water area, as FAO-56 asks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from core.errors import EntryError
from core.water.rain import drop_light_rain
from core.water.sun import Floats, floats

# Share of the root area a device wets. [published: at least half, better 60 %, Utah State Univ. Extension tree drip;
# sprinkler and basin 1.0, FAO-56 Table 20. FAO-56's 0.3 to 0.4 for trickle is of a field, not of the root area.]
WETTED_FRACTION = {
    "button": 0.5,
    "inline": 0.6,
    "soaker": 0.6,
    "mister": 1.0,
    "sprayer": 1.0,
    "bubbler": 1.0,
    "other": 0.5,
}


@dataclass(frozen=True, slots=True)
class Balance:
    """What the balance found, arrays of one row per day (and one column per planting), mm over the water area.

    Attributes:
        depletion_mm: shortage of the store the system fills (the wetted share) at the end of the day, 0 to its TAW.
        total_available_mm, readily_available_mm: its TAW and RAW (FAO-56 eqs. 82, 83), of the day.
        stress_coefficient: share of the need that was met, Ks (FAO-56 eq. 84), 1 without stress.
        et_mm: water the plants took.
        effective_rain_mm, effective_applied_mm: water that stayed in the root zone.
        percolated_rain_mm, percolated_applied_mm: water that drained below it.
        light_rain_mm: rain dropped as too little to count.
        outside_depletion_mm: shortage of the ground the drip does not wet; 0 when all is wetted.
        stressed: the plants got less than they needed; False where the store is not known.
    """

    depletion_mm: Floats
    total_available_mm: Floats
    readily_available_mm: Floats
    stress_coefficient: Floats
    et_mm: Floats
    effective_rain_mm: Floats
    effective_applied_mm: Floats
    percolated_rain_mm: Floats
    percolated_applied_mm: Floats
    light_rain_mm: Floats
    outside_depletion_mm: Floats
    stressed: NDArray[np.bool_]

    @property
    def percolated_mm(self) -> Floats:
        """All that drained below the roots."""
        return self.percolated_rain_mm + self.percolated_applied_mm

    def frame(self, days: pd.DatetimeIndex, plantings: Sequence[str] | None = None) -> pd.DataFrame:
        """As a frame: day, (planting,) and the attributes above and percolated_mm as columns, by planting then day."""
        names = [f.name for f in fields(self) if f.name != "stressed"]
        columns = {n: getattr(self, n) for n in names} | {
            "percolated_mm": self.percolated_mm,
            "stressed": self.stressed,
        }
        out = pd.DataFrame({n: np.ravel(v, order="F") for n, v in columns.items()})
        copies = 1 if self.depletion_mm.ndim == 1 else self.depletion_mm.shape[1]
        out.insert(0, "day", np.tile(days.to_numpy(), copies))
        if plantings is not None:
            out.insert(1, "planting", np.repeat(np.asarray(plantings, dtype=object), len(days)))
        return out


def total_available(available_mm_m: ArrayLike, root_depth_m: ArrayLike) -> Floats:
    """TAW, mm: water between field capacity and wilting point in the root zone (FAO-56 eq. 82)."""
    return floats(available_mm_m) * floats(root_depth_m)


def fraction_for_demand(fraction: ArrayLike, need_mm: ArrayLike) -> Floats:
    """p on a day of a given need, from its value at 5 mm a day (FAO-56 Table 22 note): held to 0.1 to 0.8."""
    return floats(np.clip(floats(fraction) + 0.04 * (5 - floats(need_mm)), 0.1, 0.8))


def root_zone_balance(
    need_mm: ArrayLike,
    rain_mm: ArrayLike,
    applied_mm: ArrayLike,
    total_available_mm: ArrayLike,
    depletion_fraction: ArrayLike,
    *,
    start_depletion_mm: ArrayLike = 0.0,
    start_outside_mm: ArrayLike | None = None,
    reference_et_mm: ArrayLike | None = None,
    wetted_fraction: ArrayLike = 1.0,
    adjust_fraction: bool = True,
    parts: int = 1,
) -> Balance:
    """Walk the days of one planting, or of many in step.

    Args:
        need_mm: need of each day without stress, mm: shape (days,) for one planting or (days, plantings).
        rain_mm: rain that reaches it, mm; (days,) serves all plantings. Nothing under a roof.
        applied_mm: water applied, mm over the whole water area (litres / m2).
        total_available_mm: TAW of the whole root zone; a number, one per planting, or one per day and planting. It
            may grow as roots do (the new depth is taken as full, FAO-56 Example 38), not shrink.
        depletion_fraction: p at 5 mm a day, a number or one per planting.
        start_depletion_mm: depletion of the whole root zone before the first day (FAO-56 eq. 87; 0 after a soak).
        start_outside_mm: to go on where an earlier balance ended: its ``outside_depletion_mm``; then
            ``start_depletion_mm`` is its ``depletion_mm``, of the wetted share alone.
        reference_et_mm: for the rule of light rain; left out, all rain counts.
        wetted_fraction: share of the root area the system wets, above 0 to 1, a number or one per planting.
        adjust_fraction: let p follow the day's need (FAO-56 Table 22 note).
        parts: walk each day in so many equal parts, for pots watered several times a day: with 2, half of the water,
            then half of the need, twice.

    Returns:
        A :class:`Balance` shaped like ``need_mm``. Where a need or rain is NaN the store is unknown from then on, and
        so is everything that follows, until a soak fills it; nothing unknown is taken as zero.

    Raises:
        EntryError: a fraction outside its range, or a store that shrinks.
    """
    need = floats(need_mm)
    single = need.ndim == 1
    need = need[:, None] if single else need
    shape = need.shape
    rain, light = drop_light_rain(_by_day(rain_mm, shape), None if reference_et_mm is None else floats(reference_et_mm))
    applied = _by_day(applied_mm, shape)
    total, growth = _store(total_available_mm, shape, single)
    wetted = np.broadcast_to(floats(wetted_fraction), shape[1:])
    base = floats(depletion_fraction)
    if not ((wetted > 0) & (wetted <= 1)).all() or not ((base > 0) & (base < 1)).all():
        raise EntryError("A wetted or depletion fraction is out of range. Expected shares above 0 and at most 1.")
    fraction = fraction_for_demand(base, need) if adjust_fraction else np.broadcast_to(base, shape)
    first = total[0] - growth[0]
    start = np.broadcast_to(floats(start_depletion_mm), shape[1:])
    if start_outside_mm is None:
        held = np.clip(first - start, 0.0, first)
        inside, outside = wetted * held, (1 - wetted) * held
    else:
        dry = np.broadcast_to(floats(start_outside_mm), shape[1:])
        inside = np.clip(wetted * first - start, 0.0, wetted * first)
        outside = np.clip((1 - wetted) * first - dry, 0.0, (1 - wetted) * first)
    walked = _walk(
        [np.repeat(a / parts, parts, axis=0) for a in (need, rain, applied)],
        [np.repeat(a, parts, axis=0) for a in (total, fraction)],
        _first_parts(growth, parts),
        wetted,
        (inside, outside),
    )
    depletion, outside_depletion = walked[0][parts - 1 :: parts], walked[1][parts - 1 :: parts]
    et, lost_rain, lost_applied = (a.reshape(shape[0], parts, shape[1]).sum(axis=1) for a in walked[2:5])
    met = np.divide(et, need, out=walked[5][parts - 1 :: parts].copy(), where=need > 0)
    met = np.minimum(met, 1.0)  # sums of parts round
    stressed = et < need * (1 - 1e-9) - 1e-12
    ready = fraction * wetted * total
    balance = Balance(
        depletion_mm=depletion,
        total_available_mm=wetted * total,
        readily_available_mm=ready,
        stress_coefficient=met,
        et_mm=et,
        effective_rain_mm=rain - lost_rain,
        effective_applied_mm=applied - lost_applied,
        percolated_rain_mm=lost_rain,
        percolated_applied_mm=lost_applied,
        light_rain_mm=light,
        outside_depletion_mm=outside_depletion,
        stressed=stressed,
    )
    if not single:
        return balance
    return Balance(**{f.name: getattr(balance, f.name)[:, 0] for f in fields(Balance)})


def days_until_start_forgotten(
    need_mm: ArrayLike,
    rain_mm: ArrayLike,
    applied_mm: ArrayLike,
    total_available_mm: float,
    depletion_fraction: float,
    *,
    within_mm: float = 1.0,
    wetted_fraction: float = 1.0,
) -> int | None:
    """How long the guess of the first day's depletion matters for one planting.

    Returns:
        Days until a balance begun full and one begun empty agree within ``within_mm``; None when they never do.
    """
    full, empty = (
        root_zone_balance(
            need_mm,
            rain_mm,
            applied_mm,
            total_available_mm,
            depletion_fraction,
            start_depletion_mm=start,
            wetted_fraction=wetted_fraction,
        )
        for start in (0.0, total_available_mm)
    )
    apart = np.abs(empty.depletion_mm - full.depletion_mm) + np.abs(
        empty.outside_depletion_mm - full.outside_depletion_mm
    )
    still = np.flatnonzero(~(apart <= within_mm))
    if still.size == 0:
        return 0
    return None if still[-1] == len(apart) - 1 else int(still[-1]) + 1


def _walk(
    flows: Sequence[Floats], limits: Sequence[Floats], growth: Floats, wetted: Floats, held: tuple[Floats, Floats]
) -> tuple[Floats, ...]:
    """The balance itself, step by step over time and at once over plantings; water held rather than water lacking."""
    need, rain, applied = flows
    if need.shape[1] == 1:  # plain numbers are ten times as fast as arrays of one
        columns = [array[:, 0].tolist() for array in (*flows, *limits, growth)]
        one = _walk_one(columns, float(wetted[0]), float(held[0][0]), float(held[1][0]))
        return tuple(np.array(column)[:, None] for column in one)
    capacity, fraction = limits
    inside_cap, outside_cap = wetted * capacity, (1 - wetted) * capacity
    inside_rain, outside_rain = wetted * rain, (1 - wetted) * rain
    inside_growth, outside_growth = wetted * growth, (1 - wetted) * growth
    relief = 1.0 / np.maximum(inside_cap * (1 - fraction), 1e-12)
    out = tuple(np.empty_like(need) for _ in range(6))
    depletion, outside_depletion, et, lost_rain, lost_applied, stress = out
    inside, outside = held
    for t in range(len(need)):
        cap, outer_cap = inside_cap[t], outside_cap[t]
        inside = inside + inside_growth[t] + inside_rain[t]
        outside = outside + outside_growth[t] + outside_rain[t]
        kept, outer_kept = np.minimum(inside, cap), np.minimum(outside, outer_cap)
        lost_rain[t] = inside - kept + outside - outer_kept
        inside = kept + applied[t]
        kept = np.minimum(inside, cap)
        lost_applied[t] = inside - kept
        inside = np.where(inside_rain[t] + applied[t] >= cap, cap, kept)  # a soak makes an unknown store known
        outside = np.where(outside_rain[t] >= outer_cap, outer_cap, outer_kept)
        both = inside + outside
        stress[t] = np.minimum(inside * relief[t], 1.0)
        et[t] = np.minimum(stress[t] * need[t], both)
        left = 1 - et[t] / np.maximum(both, 1e-300)
        inside, outside = inside * left, outside * left
        depletion[t], outside_depletion[t] = cap - inside, outer_cap - outside
    return out


def _walk_one(columns: list[list[float]], wetted: float, inside: float, outside: float) -> tuple[list[float], ...]:
    """:func:`_walk` for one planting, the same steps in plain numbers. Comparisons are turned so that NaN goes on."""
    out: tuple[list[float], ...] = ([], [], [], [], [], [])
    depletion, outside_depletion, et, lost_rain, lost_applied, stress = out
    dry = 1 - wetted
    for need, rain, applied, capacity, fraction, growth in zip(*columns, strict=True):
        cap, outer_cap = wetted * capacity, dry * capacity
        inside += wetted * growth + wetted * rain
        outside += dry * growth + dry * rain
        kept, outer_kept = cap if inside > cap else inside, outer_cap if outside > outer_cap else outside
        lost_rain.append(inside - kept + outside - outer_kept)
        inside = kept + applied
        kept = cap if inside > cap else inside
        lost_applied.append(inside - kept)
        inside = cap if wetted * rain + applied >= cap else kept
        outside = outer_cap if dry * rain >= outer_cap else outer_kept
        both = inside + outside
        share = inside / max(cap * (1 - fraction), 1e-12)
        share = 1.0 if share > 1 else share
        asked = share * need
        taken = asked if asked <= both else both if asked > both else float("nan")
        left = 1 - taken / max(both, 1e-300) if both == both else both  # noqa: PLR0124 - NaN is unlike itself
        inside, outside = inside * left, outside * left
        depletion.append(cap - inside)
        outside_depletion.append(outer_cap - outside)
        et.append(taken)
        stress.append(share)
    return out


def _by_day(values: ArrayLike, shape: tuple[int, ...]) -> Floats:
    array = floats(values)
    return np.broadcast_to(array[:, None] if array.ndim == 1 else array, shape)


def _store(values: ArrayLike, shape: tuple[int, ...], single: bool) -> tuple[Floats, Floats]:
    array = floats(values)
    total = np.broadcast_to(array[:, None] if single and array.ndim == 1 else array, shape)
    growth = np.diff(total, axis=0, prepend=total[:1])
    if (total < 0).any() or (growth < 0).any():
        raise EntryError(
            "The store of a planting is below zero or shrinks. Begin a new balance where a planting changes."
        )
    return total, growth


def _first_parts(growth: Floats, parts: int) -> Floats:
    out = np.zeros((len(growth) * parts, growth.shape[1]))
    out[::parts] = growth
    return out
