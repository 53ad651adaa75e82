"""The whole picture a book gives as of an instant, over all its days. Months are cut out of it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pandas as pd

from core.accounts.account import MeterAccount, account
from core.accounts.applied import applied_by_planting, applied_by_zone
from core.accounts.evidence import AGAINST
from core.accounts.flow import planting_shares, zone_flows
from core.accounts.logged import logged_uses
from core.accounts.nested import own_use
from core.accounts.registers import meter_intervals
from core.accounts.runs import runs_between, runs_held
from core.book.frames import Frames
from core.book.kinds import Home
from core.book.store import Book
from core.care.cautions import for_home
from core.care.due import DueItem
from core.care.keeping import care_of
from core.days import day_start
from core.review.brought import evidence_as_told, factors_as_told
from core.review.ends import with_ends
from core.review.growth import Growth, areas, grow, planting_versions
from core.review.half_shut import with_half_shut
from core.review.hunted import with_hunts
from core.review.keep import kept_account
from core.review.lone import without_lone
from core.review.sky import sky, span_days, trusted_weather
from core.review.zone_days import zone_days
from core.units import System


@dataclass(frozen=True)
class Picture:
    """Everything reckoned from a book as of an instant. Metric; naive local days.

    Attributes:
        days: all local days from the first thing written down to as-of.
        sky: see :func:`core.review.sky.sky`.
        runs, flows: see core.accounts.runs and core.accounts.flow.
        accounts: one for each meter, by its code; "" for a book whose meters have no readings.
        uses: other use written down, see core.accounts.logged.
        applied: zone, day, run_minutes, program_l, logged_l, applied_l, sd_l; runs the meter contradicts are left out.
        growth: the plantings; zone_days: see :func:`core.review.zone_days.zone_days`.
        supply_of: meter code to supply code; metered: litres of each supply by local day, days no reading covers
            missing; care: what is due on the day of as-of; left_out: sentences about readings that are left out.
    """

    home: Home
    tz: ZoneInfo
    as_of: datetime
    frames: Frames
    days: pd.DatetimeIndex
    sky: pd.DataFrame
    runs: pd.DataFrame
    flows: pd.DataFrame
    accounts: dict[str, MeterAccount]
    uses: pd.DataFrame
    applied: pd.DataFrame
    growth: Growth
    zone_days: pd.DataFrame
    supply_of: dict[str, str]
    metered: dict[str, pd.Series]
    care: tuple[DueItem, ...]
    left_out: tuple[str, ...]
    planned: pd.DataFrame  # pauses, those written down for later days too, which the frames hide
    programs_planned: pd.DataFrame  # programs, the same

    @property
    def today(self) -> date:
        """The local day of as-of."""
        return self.as_of.astimezone(self.tz).date()

    @property
    def zone_names(self) -> dict[str, str]:
        """The name of every zone by its code, in the book's order."""
        return _named(self.frames["zone"])


def draw(book: Book, as_of: datetime, system: System | None = None) -> Picture:
    """Reckon the whole picture of a book as of an instant (aware), told in units other than the home's if asked."""
    home, tz, frames = book.home(), book.zone_info, book.frames(as_of)
    readings, left_out = without_lone(frames["meter_reading"], frames["meter"], tz)
    shut, planned = (
        with_half_shut(pauses, frames["checklist_step"], frames["zone"])
        for pauses in (frames["pause"], book.frame("pause"))
    )
    frames = _instead(frames, {"meter_reading": readings, "pause": shut})
    if system is not None:
        home = home.model_copy(update={"display": system})
    last = pd.Timestamp(as_of.astimezone(tz).date())
    days = span_days(frames, last, tz)
    above = sky(frames, home, tz, days)
    runs = _runs(frames, tz, days)
    flows = zone_flows(frames["zone"], frames["emitter_group"], frames["flow_test"], frames["supply"])
    accounts = _accounts(book, frames, home, tz, last.date(), runs, flows, _held(frames, tz, days), above)
    accounts = _told_at(home, with_ends(with_hunts(accounts, frames, tz, as_of, home.display)))
    evidence = evidence_as_told(accounts, runs)
    uses = logged_uses(frames["other_use"], tz, last.date())
    applied = applied_by_zone(
        _that_came(runs, evidence, as_of),
        flows,
        tz,
        days[0].date(),
        days[-1].date(),
        factors=factors_as_told(accounts, tz),
        uses=uses,
    )
    versions, problems = planting_versions(
        frames["planting"], frames["factor_month"], frames["emitter_group"], above, days
    )
    problems += trusted_weather(frames["weather"], home)[2]
    by_planting = applied_by_planting(
        applied,
        planting_shares(frames["zone"], frames["emitter_group"], frames["supply"]),
        areas(versions, days),
        tz,
        uses=uses,
    )
    supply_of = dict(zip(frames["meter"]["code"], frames["meter"]["supply"], strict=True))
    growth = grow(versions, problems, by_planting, above, days)
    return Picture(
        home=home,
        tz=tz,
        as_of=as_of,
        frames=frames,
        days=days,
        sky=above,
        runs=runs,
        flows=flows,
        accounts=accounts,
        uses=uses,
        applied=applied,
        growth=growth,
        zone_days=zone_days(
            frames, tz, days, as_of, runs, applied, growth.days, above, evidence, south=home.latitude < 0
        ),
        care=tuple(care_of(book, last.date(), system)),
        supply_of=supply_of,
        metered=_metered(accounts, supply_of),
        left_out=left_out,
        planned=planned,
        programs_planned=book.frame("program"),
    )


def _instead(frames: Frames, others: Mapping[str, pd.DataFrame]) -> Frames:
    """The frames with others in the place of some."""
    return Frames(lambda kind: others[kind] if kind in others else frames[kind])


def _runs(frames: Frames, tz: ZoneInfo, days: pd.DatetimeIndex) -> pd.DataFrame:
    return runs_between(
        frames["program"],
        frames["pause"],
        frames["run"],
        frames["controller"],
        frames["clock_check"],
        frames["zone"],
        tz,
        days[0].date() - timedelta(days=1),
        days[-1].date(),
    )


def _held(frames: Frames, tz: ZoneInfo, days: pd.DatetimeIndex) -> pd.DataFrame:
    return runs_held(
        frames["program"],
        frames["pause"],
        frames["controller"],
        frames["clock_check"],
        frames["zone"],
        tz,
        days[0].date(),
        days[-1].date(),
    )


def _accounts(
    book: Book,
    frames: Frames,
    home: Home,
    tz: ZoneInfo,
    today: date,
    runs: pd.DataFrame,
    flows: pd.DataFrame,
    held: pd.DataFrame,
    above: pd.DataFrame,
) -> dict[str, MeterAccount]:
    """One account for each meter; a meter of the garden alone takes the zones from the meter it stands behind.

    They are as of the end of the day, so that those kept hold for all of it.
    """
    evening = day_start(today + timedelta(days=1), tz)
    meters = frames["meter"]
    intervals = own_use(meter_intervals(frames["meter_reading"], meters, frames["metered_use"]), meters)
    metered = frames["supply"].loc[frames["supply"]["metered"], "code"]
    found: dict[str, MeterAccount] = {}
    for meter in meters.to_dict("records"):
        mine = _of(intervals, "meter", [meter["code"]])
        beside = meters[(meters["supply"] == meter["supply"]) & (meters["counts"] == "garden")]
        garden = meter["counts"] == "garden" or (meter["counts"] == "everything" and beside.empty)
        zones = frames["zone"].loc[frames["zone"]["supply"] == meter["supply"], "code"] if garden else []
        indoor = meter["counts"] != "garden"
        if mine.empty and len(meters) > 1:
            continue
        found[meter["code"]] = kept_account(
            f"{book.path} {meter['code']} {home.display}",
            account,
            mine,
            _of(runs, "zone", zones),
            _of(flows, "zone", zones),
            frames["other_use"],
            frames["household"],
            home.people if indoor else 0,
            home.drinks if indoor else "",
            tz,
            evening,
            pauses=frames["pause"],
            held=_of(held, "zone", zones),
            decisions=frames["decision"],
            system=home.display,
            names=_named(frames["zone"]),
            warmest=_warmest(above, home) if indoor else None,
            south=home.latitude < 0,
        )
    if not found:
        zones = frames["zone"].loc[frames["zone"]["supply"].isin(metered), "code"]
        found[""] = account(
            intervals.iloc[:0],
            _of(runs, "zone", zones),
            _of(flows, "zone", zones),
            frames["other_use"],
            frames["household"],
            home.people,
            home.drinks,
            tz,
            evening,
            system=home.display,
        )
    return found


def _warmest(above: pd.DataFrame, home: Home) -> pd.DataFrame | None:
    """The highest temperature of each day where a cooler goes by it; else nothing, so that weather changes nothing."""
    return above["tmax_c"].dropna().rename_axis("day").reset_index() if "cooler" in home.drinks.lower() else None


def _told_at(home: Home, accounts: dict[str, MeterAccount]) -> dict[str, MeterAccount]:
    """The accounts with the cautions of their findings said for this home."""
    return {
        meter: replace(
            account,
            findings=tuple(
                replace(f, caution=for_home(f.caution, home.timezone, home.display)) for f in account.findings
            ),
        )
        for meter, account in accounts.items()
    }


def _named(frame: pd.DataFrame) -> dict[str, str]:
    return dict(zip(frame["code"], frame["name"], strict=True))


def _of(frame: pd.DataFrame, column: str, codes: Collection[str]) -> pd.DataFrame:
    """The rows of some meters or zones, numbered anew: what others are in the book makes no difference to them."""
    return frame[frame[column].isin(codes)].reset_index(drop=True)


def _metered(accounts: dict[str, MeterAccount], supply_of: dict[str, str]) -> dict[str, pd.Series]:
    days = [a.by_day.assign(supply=supply_of.get(m, "")) for m, a in accounts.items() if len(a.by_day)]
    if not days:
        return {}
    every = pd.concat(days, ignore_index=True)
    total = every[every["kind"] == "metered"].groupby(["supply", "day"])["volume_l"].sum()
    return {str(supply): rows.droplevel("supply") for supply, rows in total.groupby("supply")}


def _that_came(runs: pd.DataFrame, evidence: pd.DataFrame, as_of: datetime) -> pd.DataFrame:
    """Runs that brought water as far as anybody can tell: begun by as-of, not recorded as missed, and not presumed on
    a day for which the meter contradicts them.
    """
    against = evidence.loc[evidence["evidence"] == AGAINST, ["zone", "day"]]
    contradicted = pd.MultiIndex.from_frame(runs[["zone", "day"]]).isin(pd.MultiIndex.from_frame(against))
    came = (runs["basis"] == "ran") | ((runs["basis"] == "presumed") & ~contradicted)
    return runs[came.to_numpy(bool) & (runs["start"] <= pd.Timestamp(as_of)).to_numpy(bool)]


def between(frame: pd.DataFrame, first: date, last: date) -> pd.DataFrame:
    """The rows of a frame by local ``day`` from ``first`` to ``last``."""
    return frame[frame["day"].between(pd.Timestamp(first), pd.Timestamp(last))].reset_index(drop=True)
