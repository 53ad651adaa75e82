"""One meter's intervals as arrays, with what is known to have run, been used and been at home in each of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from core.accounts.accrual import Accrual
from core.accounts.hourly import FINE_HOURS, by_the_hour, intervals_until
from core.accounts.instants import HOUR_MS, Flags, Floats, Ints, from_ms, local_days, local_times, to_ms
from core.accounts.logged import logged_uses
from core.accounts.presence import presence
from core.accounts.remarks import ANOTHER, UNFIT, remarked
from core.accounts.winters import Spans, winter_spans

FLOW_SHARE_SD = 0.15  # of a flow nobody gave a spread for


@dataclass(frozen=True, slots=True)
class Runs:
    """Runs as arrays: zone (index), start and end (hours since 1970 UTC), litres on paper, and their basis."""

    zone: Ints
    start: Floats
    end: Floats
    litres: Floats
    flow: Floats
    counted: Flags  # presumed or recorded to have run
    recorded: Flags  # somebody vouches for it
    day: npt.NDArray[np.datetime64]

    def of(self, keep: Flags) -> Runs:
        """Only the runs for which ``keep`` holds."""
        return Runs(*(getattr(self, name)[keep] for name in self.__slots__))


@dataclass(frozen=True, slots=True)
class Ledger:
    """One meter up to a date, ready for arithmetic. Volumes in litres, times in hours since 1970 UTC.

    Attributes:
        start, end, hours, volume, read_sd, step: per interval; ``volume`` NaN where it cannot be known, ``step``
            the smallest step of the register.
        usable: the volume may be reasoned from (known, not estimated).
        left_out, mixed: the registers already set an odd reading within it aside, or readings of another register.
        zones, paper, spread: zone codes, litres each zone's counted runs should have brought in each interval,
            and the relative sd of each zone's paper flow.
        other, other_sd: logged other use.
        runs: every run, counted or not.
        hour_edges, hour_of_week, season, people, unsure, lasting, residents: the local hours of the record: edges,
            0..167 from Monday 0 h, the angle of the year, and who is at home, see :mod:`core.accounts.presence`.
        warmest_c: the highest temperature of the day of each of these hours, NaN where nobody wrote it down.
        south: of the equator, where the year turns the other way.
        drawn: per zone and for other use, the Accrual behind ``paper`` and ``other``.
        held, drawn_held: as ``paper`` and ``drawn``, of the runs that the shutdown for winter holds off.
        winter: when the system was shut down, see :func:`core.accounts.winters.winter_spans`.
        as_of: hours since 1970 UTC.
    """

    meter: str
    zone: ZoneInfo
    as_of: float
    home_people: int
    start: Floats
    end: Floats
    hours: Floats
    volume: Floats
    read_sd: Floats
    step: Floats
    usable: Flags
    notes: tuple[str, ...]
    left_out: Flags
    mixed: Flags
    zones: tuple[str, ...]
    paper: Floats
    spread: Floats
    other: Floats
    other_sd: Floats
    runs: Runs
    hour_edges: Floats
    hour_of_week: Ints
    season: Floats
    people: Floats
    unsure: Flags
    lasting: Floats
    residents: Floats
    warmest_c: Floats
    south: bool
    drawn: tuple[Accrual, ...]
    drawn_other: Accrual
    held: Floats
    drawn_held: tuple[Accrual, ...]
    winter: Spans

    @property
    def visiting(self) -> Floats:
        """Who is at home against the household of those months, per local hour."""
        result: Floats = self.people / self.lasting
        return result

    @property
    def fine(self) -> Flags:
        """Intervals of about an hour."""
        result: Flags = (self.hours >= FINE_HOURS[0]) & (self.hours <= FINE_HOURS[1])
        return result

    def later(self, minutes: int) -> Ledger:
        """The same with every run that counts so many minutes later."""
        shift, runs = minutes / 60, self.runs
        drawn, held = (tuple(Accrual(d.at + shift, d.total) for d in each) for each in (self.drawn, self.drawn_held))
        moved = np.where(runs.counted, shift, 0.0)
        return replace(
            self,
            drawn=drawn,
            paper=_per_interval(drawn, self.start, self.end),
            drawn_held=held,
            held=_per_interval(held, self.start, self.end),
            runs=replace(runs, start=runs.start + moved, end=runs.end + moved),
        )

    @property
    def paper_total(self) -> Floats:
        """Litres all zones should have brought, per interval."""
        result: Floats = self.paper @ np.ones(len(self.zones))  # many times faster than a sum over so few columns
        return result

    def hour_of(self, at: npt.ArrayLike) -> Ints:
        """Index into the local hours for instants within the record."""
        return np.clip(np.searchsorted(self.hour_edges, at, side="right") - 1, 0, len(self.hour_of_week) - 1)

    def when(self, at: float) -> datetime:
        """An instant as an aware UTC datetime, to the minute."""
        stamp: datetime = from_ms(np.round(np.asarray([at]) * 60) * 60_000)[0].to_pydatetime()
        return stamp


def make_ledger(
    intervals: pd.DataFrame,
    runs: pd.DataFrame,
    flows: pd.DataFrame,
    other_use: pd.DataFrame,
    household: pd.DataFrame,
    home_people: int,
    zone: ZoneInfo,
    as_of: datetime,
    pauses: pd.DataFrame | None = None,
    held: pd.DataFrame | None = None,
    warmest: pd.DataFrame | None = None,
    *,
    south: bool = False,
) -> Ledger:
    """Arrays of one meter's intervals that ended by ``as_of``; the other frames as an account takes them.

    Intervals shorter than an hour are joined to hours, see :func:`core.accounts.hourly.by_the_hour`.

    Raises:
        ValueError: intervals of more than one meter.
    """
    now = as_of.timestamp() / 3600
    meters = intervals["meter"].astype(str).unique()
    if len(meters) > 1:
        raise ValueError("an account is of one meter; give each meter its own call")
    each = by_the_hour(intervals_until(intervals, now), zone)
    start, end = each.start, each.end

    kept, off = (_begun(each, now) for each in (runs, runs.iloc[:0] if held is None else held))
    codes = tuple(sorted({*flows["zone"].astype(str), *kept["zone"].astype(str), *off["zone"].astype(str)}))
    run = _runs(kept, flows, codes, now)
    drawn = _drawn(run, len(codes))
    drawn_held = _drawn(_runs(off, flows, codes, now), len(codes))
    drawn_other, variance = _other(other_use, meters[0] if len(meters) else "", zone, as_of.astimezone(zone).date())

    first = min([*start[:1], now - 1])
    edges, how, season = _hours_between(first, max(now, first + 1), zone)
    at_home = presence(household, home_people, edges, zone)
    return Ledger(
        meter=str(meters[0]) if len(meters) else "",
        zone=zone,
        as_of=now,
        home_people=home_people,
        start=start,
        end=end,
        hours=end - start,
        volume=each.volume,
        read_sd=each.read_sd,
        step=each.step,
        usable=each.usable,
        notes=tuple(each.notes),
        left_out=remarked(each.notes, UNFIT),
        mixed=remarked(each.notes, ANOTHER),
        zones=codes,
        paper=_per_interval(drawn, start, end),
        spread=_spreads(flows, codes),
        other=drawn_other.between(start, end),
        other_sd=np.sqrt(variance.between(start, end).clip(0)),
        runs=run,
        hour_edges=edges,
        hour_of_week=how,
        season=season,
        people=at_home.share,
        unsure=at_home.unsure,
        lasting=at_home.lasting,
        residents=at_home.residents,
        warmest_c=_warmest(warmest, edges, zone),
        south=south,
        drawn=drawn,
        drawn_other=drawn_other,
        held=_per_interval(drawn_held, start, end),
        drawn_held=drawn_held,
        winter=winter_spans(pauses, zone),
    )


def _begun(runs: pd.DataFrame, now: float) -> pd.DataFrame:
    return runs.loc[_hours(runs["start"]) < now] if len(runs) else runs


def _drawn(runs: Runs, zones: int) -> tuple[Accrual, ...]:
    """Litres of the runs that count, as they accrued in each zone."""
    each = [runs.of(runs.counted & (runs.zone == k)) for k in range(zones)]
    return tuple(Accrual.of_spans(r.start, r.end, r.litres) for r in each)


def _hours(instants: pd.Series) -> Floats:
    result: Floats = to_ms(instants) / HOUR_MS
    return result


def _runs(runs: pd.DataFrame, flows: pd.DataFrame, codes: tuple[str, ...], now: float) -> Runs:
    start, end = _hours(runs["start"]), _hours(runs["end"])
    zone = np.searchsorted(np.array(codes, dtype=str), runs["zone"].astype(str).to_numpy(str))
    day = pd.to_datetime(runs["day"]).to_numpy().astype("datetime64[D]")
    flow = np.full(len(runs), np.nan)
    for row in flows.to_dict("records"):
        held = zone == codes.index(str(row["zone"]))
        if not pd.isna(row["since"]):
            held &= day >= np.datetime64(pd.Timestamp(row["since"]), "D")
        if not pd.isna(row["until"]):
            held &= day < np.datetime64(pd.Timestamp(row["until"]), "D")
        flow[held] = row["flow_lph"]
    flow = np.nan_to_num(flow, nan=0.0)
    basis = runs["basis"].astype(str).to_numpy(str)
    sound = end > start
    whole = Runs(
        zone=zone.astype(np.int64),
        start=start,
        end=np.where(sound, np.minimum(end, np.maximum(now, start + 1e-6)), start + 1e-6),
        litres=flow * np.clip(np.minimum(end, now) - start, 0, None),
        flow=flow,
        counted=basis != "did_not",
        recorded=basis != "presumed",
        day=day,
    )
    return whole.of(sound)


def _per_interval(drawn: tuple[Accrual, ...], start: Floats, end: Floats) -> Floats:
    """Litres by interval and zone."""
    return np.column_stack([d.between(start, end) for d in drawn]) if drawn else np.zeros((len(start), 0))


def _spreads(flows: pd.DataFrame, codes: tuple[str, ...]) -> Floats:
    spread = np.full(len(codes), FLOW_SHARE_SD)
    for k, code in enumerate(codes):
        given = flows.loc[flows["zone"].astype(str) == code, "sd_share"].dropna()
        if len(given):
            spread[k] = float(given.iloc[-1])
    return spread


def _other(other_use: pd.DataFrame, meter: str, zone: ZoneInfo, today: date) -> tuple[Accrual, Accrual]:
    """Logged other use through this meter, and its variance, as they accrued."""
    uses = logged_uses(other_use.loc[other_use["meter"].astype("string").fillna("") == meter], zone, today)
    start, end = _hours(uses["start"]), _hours(uses["end"])
    litres, sd = (uses[name].to_numpy(dtype=np.float64) for name in ("volume_l", "sd_l"))
    return Accrual.of_spans(start, end, litres), Accrual.of_spans(start, end, sd**2)


def _hours_between(first: float, last: float, zone: ZoneInfo) -> tuple[Floats, Ints, Floats]:
    edges = np.arange(np.floor(first), np.ceil(last) + 1)
    local = pd.DatetimeIndex(local_times((edges[:-1] * HOUR_MS).astype(np.int64), zone))
    how = local.day_of_week.to_numpy() * 24 + local.hour.to_numpy()
    return edges, how.astype(np.int64), 2 * np.pi * (local.day_of_year.to_numpy() - 1) / 365.25


def _warmest(warmest: pd.DataFrame | None, edges: Floats, zone: ZoneInfo) -> Floats:
    if warmest is None or warmest.empty:
        return np.full(len(edges) - 1, np.nan)
    days = local_days((edges[:-1] * HOUR_MS).astype(np.int64), zone)
    by_day = warmest.set_index("day")["tmax_c"]
    result: Floats = by_day.reindex(pd.DatetimeIndex(days)).to_numpy(np.float64)
    return result


def local_day(at: float, zone: ZoneInfo) -> date:
    """The local day of an instant in hours since 1970 UTC."""
    return datetime.fromtimestamp(at * 3600, zone).date()
