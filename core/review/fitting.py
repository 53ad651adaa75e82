"""A program that fits, beside what the controller is set to: days, starts and minutes of every zone for a month."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from core.errors import EntryError
from core.figures import Figure
from core.notation import Starts
from core.review.as_set import (
    AsSet,
    given_l,
    holds_on,
    month_looked_at,
    paused_on,
    program_words,
    set_in,
    set_risk,
)
from core.review.conflicts import conflicts_of
from core.review.demand import Demand, Facts, facts_of, zone_demand
from core.review.fitting_told import idle_sentence, month_sentences, zone_sentence
from core.review.outlook import WEEKS, Basis, Outlook, coming, outlook
from core.review.picture import Picture, between
from core.review.placing import Draft, as_placed, start_times
from core.review.seasons import usually_shut
from core.review.spoken import counted
from core.review.waste import still_wasted
from core.review.weeks import money_of
from core.water.clashes import SetProgram
from core.water.program import Fitting, Limits, controller_limits, fitting_program, minutes_by_weekday


@dataclass(frozen=True)
class ZoneFit:
    """One zone's program that fits a month, beside the one that is set.

    Attributes:
        zone, name, controller: codes and the zone's name.
        need: litres to apply a day, with working; None when it cannot be worked out.
        fit, starts: the program that fits and its start times; None when nothing needs watering or none can be found.
        as_set: programs as set in the month looked at.
        fit_l, set_l: litres in the month, were nothing paused; fit_l is 0 where nothing needs watering and None where
            no program can be found.
        gave_l: litres the zone got in the month looked at, from its first day to now: pauses, missed runs and days
            before the program was set count as they were. None where the flow is not known.
        less_l: litres the fitting program gives less than the one set, below zero when it gives more; money: its worth.
        risk: what is wrong with the fitting program; set_risk: with the one set; "" when nothing is.
        note: why there is no program, or what to know about the need.
        demand: how the need came about.
        sentence: both programs, the difference and the risk.
        paused: whether nothing of it runs any more in the month that runs, paused or off: what is set does no harm.
    """

    zone: str
    name: str
    controller: str
    need: Figure
    fit: Fitting | None
    starts: Starts | None
    as_set: tuple[AsSet, ...]
    fit_l: float | None
    set_l: float | None
    gave_l: float | None
    less_l: float | None
    money: float | None
    risk: str
    set_risk: str
    note: str
    demand: Demand | None
    sentence: str
    paused: bool = False

    @property
    def gives_l(self) -> float:
        """Litres in the month as set: none from what is paused now, or not known."""
        return 0.0 if self.paused else self.set_l or 0.0

    @property
    def words(self) -> str:
        """The fitting program in words, "" without one."""
        if self.fit is None or self.starts is None:
            return ""
        return program_words(self.fit.days, self.starts, self.fit.minutes)


@dataclass(frozen=True)
class FittingMonth:
    """The programs that fit one month of the year.

    Attributes:
        month: 1 to 12; first: its next first day (that of the running month when it is running).
        looked_at: first day of the month whose settings are shown beside; running: whether that is now.
        weather: what the need rests on.
        zones: one for each zone with a controller; by_hand: names of zones without.
        conflicts: of the programs that fit; set_conflicts: of those set; each a sentence.
        sentences: the month in words.
    """

    month: int
    first: date
    looked_at: date
    running: bool
    weather: Outlook
    zones: tuple[ZoneFit, ...]
    by_hand: tuple[str, ...]
    conflicts: tuple[str, ...]
    set_conflicts: tuple[str, ...]
    sentences: tuple[str, ...]


def fitting_month(
    picture: Picture, month: int, basis: Basis = "normals", weeks: int = WEEKS, facts: Facts | None = None
) -> FittingMonth:
    """Programs that fit a month of the year, 1 to 12, by the month's normals, the last weeks or a dry spell.

    Raises:
        EntryError: not a month or basis, or no weather is known to go by.
    """
    weather = outlook(picture, month, basis, weeks)
    first, _ = coming(picture.today, month)
    looked_at, ended = month_looked_at(picture, month)
    facts = facts or facts_of(picture)
    limits, problems = _limits(picture)
    drafts, by_hand = [], []
    busy: dict[str, list[float]] = {}
    for zone in picture.frames["zone"].to_dict("records"):
        if not pd.isna(zone["until"]) and zone["until"].date() <= picture.today:
            continue
        if zone["hand"] or not zone["controller"]:
            by_hand.append(str(zone["name"]))
        elif zone["controller"] in limits:
            beside = busy.setdefault(str(zone["supply"]), [0.0] * 7)
            draft = _draft(picture, zone, month, weather, facts, limits[zone["controller"]], beside)
            drafts.append(draft)
            if draft.fit is not None:
                more = minutes_by_weekday(draft.fit, picture.today)
                busy[draft.supply] = [a + b for a, b in zip(beside, more, strict=True)]
    starts, crowded = start_times(drafts, limits, first, picture.zone_names)
    running = looked_at <= picture.today < ended
    when = "set now" if running else f"set in {looked_at:%B %Y}"
    zones = tuple(_zone(picture, d, starts.get(d.zone), (looked_at, ended), when) for d in drafts)
    fits = [p for d in drafts if d.fit and d.zone in starts for p in as_placed(d, starts[d.zone])]
    sets = [SetProgram(d.zone, p.label, p.days, p.starts, p.minutes, d.flow_lph) for d in drafts for p in d.as_set]
    return FittingMonth(
        month=month,
        first=first,
        looked_at=looked_at,
        running=running,
        weather=weather,
        zones=zones,
        by_hand=tuple(by_hand),
        conflicts=(*problems, *facts.problems, *crowded, *conflicts_of(picture, fits, limits, first)),
        set_conflicts=conflicts_of(picture, sets, limits, looked_at),
        sentences=(*_headline(picture, zones, first, weather, when), *(_ahead(picture) if running else ())),
    )


def fitting_year(picture: Picture, basis: Basis = "normals", weeks: int = WEEKS) -> tuple[FittingMonth, ...]:
    """As :func:`fitting_month` for the twelve months from the running one on."""
    facts = facts_of(picture)
    return tuple(fitting_month(picture, (picture.today.month - 1 + n) % 12 + 1, basis, weeks, facts) for n in range(12))


def _draft(
    picture: Picture,
    zone: dict[Hashable, Any],
    month: int,
    weather: Outlook,
    facts: Facts,
    limits: Limits,
    busy: Sequence[float],
) -> Draft:
    code = str(zone["code"])
    demand, fit, note, idle = None, None, "", False
    try:
        shut = usually_shut(picture.home, month)
        demand = None if shut else zone_demand(picture, zone, month, weather, facts)
        if demand is None:
            note = "The system is usually shut down then." if shut else "Nothing grows there then."
        else:
            fit = fitting_program(demand.need, limits, picture.today, busy)
            note = demand.note if fit is not None else "Rain is enough."
        idle = fit is None
    except EntryError as error:
        note = str(error)
    flow, _ = facts.flows[code]
    return Draft(
        code,
        str(zone["name"]),
        str(zone["controller"]),
        str(zone["supply"]),
        flow,
        set_in(picture, code, month),
        demand,
        fit,
        note,
        idle,
    )


def _limits(picture: Picture) -> tuple[dict[str, Limits], list[str]]:
    found, problems = {}, []
    for _, row in picture.frames["controller"].iterrows():
        try:
            found[str(row["code"])] = controller_limits(row)
        except EntryError as error:
            problems.append(f"Controller {row['name']}: {error}")
    return found, problems


def _zone(picture: Picture, draft: Draft, starts: Starts | None, month: tuple[date, date], when: str) -> ZoneFit:
    """A zone with start times, what both programs give in the month, and what is risky about them."""
    first, following = month
    fit, demand, days = draft.fit, draft.demand, (following - first).days
    known = bool(np.isfinite(draft.flow_lph))
    set_l = given_l(draft.as_set, draft.flow_lph, first, following) if known else None
    fit_l = fit.litres_a_week / 7 * days if fit is not None else 0.0 if draft.idle else None
    less = set_l - fit_l if set_l is not None and fit_l is not None else None
    money = None
    if less is not None:
        index = pd.date_range(first, periods=days)
        money = money_of(picture, draft.zone, pd.Series(less / days, index=index))
    now = first <= picture.today < following and (draft.idle or bool(draft.as_set))
    paused = now and _held_off(picture, draft.zone, following)
    made = ZoneFit(
        zone=draft.zone,
        name=draft.name,
        controller=draft.controller,
        need=Figure(demand.need.litres_a_day, "volume", working=demand.lines) if demand else Figure(None, "volume"),
        fit=fit,
        starts=starts if fit is not None else None,
        as_set=draft.as_set,
        fit_l=fit_l,
        set_l=set_l,
        gave_l=_gave_l(picture, draft.zone, first, following) if known else None,
        less_l=less,
        money=money,
        risk=f"{fit.risk}." if fit is not None and fit.risk else "",
        set_risk="" if paused else _set_risk(draft, first, following),
        paused=paused,
        note=draft.note,
        demand=demand,
        sentence=idle_sentence(draft.name, draft.note, draft.as_set, set_l, when, picture.home.display),
    )
    if fit is None:
        return made
    said = zone_sentence(
        made.name,
        made.words,
        made.as_set,
        made.fit_l or 0.0,
        made.set_l or 0.0,
        made.risk,
        made.set_risk,
        when,
        picture.home.display,
    )
    return replace(made, sentence=said)


def _held_off(picture: Picture, zone: str, following: date) -> bool:
    """Whether nothing of a zone runs any more up to the month's end, paused or switched off."""
    tomorrow = np.datetime64(picture.today) + 1
    days = np.arange(tomorrow, max(np.datetime64(following), tomorrow + 1))
    programs, on = picture.programs_planned, ~paused_on(picture, zone, days)
    rows = programs[programs["zone"] == zone].to_dict("records")
    return not any((on & holds_on(row, days)).any() for row in rows)


def _set_risk(draft: Draft, first: date, following: date) -> str:
    if draft.idle:
        return "Nothing needs it then, so all of it is too much." if draft.as_set else ""
    if draft.fit is None or draft.demand is None:
        return ""
    return set_risk(draft.as_set, draft.demand.need, first, following)


def _gave_l(picture: Picture, zone: str, first: date, following: date) -> float:
    days = between(picture.zone_days, first, following - timedelta(days=1))
    return float(days.loc[days["zone"] == zone, "applied_l"].sum())


def _ahead(picture: Picture) -> tuple[str, ...]:
    """What the month's page says of the days to come, so that who follows its link here finds the figure again."""
    wasted = still_wasted(picture)
    return (wasted.sentence,) if wasted else ()


def _headline(
    picture: Picture, zones: tuple[ZoneFit, ...], first: date, weather: Outlook, when: str
) -> tuple[str, ...]:
    unknown = [z.name for z in zones if z.fit_l is None]
    if unknown and not any(z.fit_l for z in zones):  # then nobody can say that nothing needs watering
        who = f"{unknown[0]} needs" if len(unknown) == 1 else f"{counted(len(unknown), 'zone')} need"
        return (weather.words, f"What {who} in {first:%B} cannot be worked out from what is written down.")
    known = [z for z in zones if z.fit_l is not None and z.set_l is not None]
    prices = [z.money for z in known if z.money is not None and not z.paused]
    money = f" ({picture.home.currency}{abs(sum(prices)):,.2f})" if prices and abs(sum(prices)) >= 0.005 else ""
    both = [(z.name, z.fit_l or 0.0, z.gives_l) for z in known]
    paused = any(z.paused and z.as_set for z in known)
    return month_sentences(first, weather.words, both, when, money, picture.home.display, paused)
