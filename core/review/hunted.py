"""What a leak hunt says of the findings it was made for: where the water goes, what it excludes, what to look at next.

A hunt speaks of what went on while it was made. It is judged anew for each finding, by the flow that one needs: a
register that stood still for less time than it takes to show that flow says nothing of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np

from core.accounts.account import MeterAccount
from core.accounts.findings import Cause, Finding, FindingKind
from core.book.frames import Frames
from core.care.leak_hunt import STEPS
from core.review.hunt import LAPSES, Hunt, Setting, Trial, hunt_setting, hunts_at
from core.review.hunt_told import check_words, said_of
from core.review.naming import called, finding_place
from core.units import System

BY_ITSELF = ("steady", "stuck_open", "after_shutdown")  # kinds that run with everything off
WHILE_IT_RUNS = "more_than_set"  # the kind that shows only while its zone runs
ALIKE = 1.5  # times that a rate may be off a measured one to be taken for it; a choice of our own
MOST_OF = 0.5  # a flow that makes so much of a finding's water is taken for it; a choice of our own


def with_hunts(
    accounts: Mapping[str, MeterAccount], frames: Frames, tz: ZoneInfo, as_of: datetime, system: System
) -> dict[str, MeterAccount]:
    """The accounts with what the latest hunt that speaks of each finding says of it."""
    tested = set(frames["leak_test"]["meter"])
    names = dict(zip(frames["zone"]["code"], frames["zone"]["name"], strict=True))
    return {
        meter: replace(
            account,
            findings=tuple(hunted(f, frames, tz, as_of, system, names, account.findings) for f in account.findings),
        )
        if meter in tested
        else account
        for meter, account in accounts.items()
    }


def hunted(
    finding: Finding,
    frames: Frames,
    tz: ZoneInfo,
    as_of: datetime,
    system: System,
    names: Mapping[str, str],
    among: Iterable[Finding] = (),
) -> Finding:
    """A finding as the latest hunt that was made while it went on leaves it; as it was where none was, or where that
    was of another one ``among`` those of its meter.
    """
    found = hunt_of(finding, frames, tz, as_of, among)
    if found is None:
        return finding
    hunt, setting = found
    day = begun(hunt).astimezone(tz).date()
    explains = makes(hunt, finding, as_of)
    told = said_of(hunt, setting, day, system)
    if _mended_since(finding, day):  # it spoke of what was to be mended; what goes on wants a hunt of its own
        again = "Hunt again with everything off: the hunt there was is from before the repair."
        return replace(finding, hunt=told, check_first=again, caution=STEPS["off"].caution)
    own = excludes(hunt, finding.kind, finding.group, explains=explains)
    rivals = tuple(replace(r, excluded=excludes(hunt, r.kind, r.group, explains=explains)) for r in finding.rivals)
    if own and finding.kind == WHILE_IT_RUNS and _as_set(hunt, finding.group):
        told += f" Timed while it ran, {finding_place(finding, names)} took no more than the book says."
    elif own and hunt.place in ("nothing", "line"):
        told += " So it had stopped by then, or water passes only while a zone runs."
    elif own:
        told += f" So it is not {called(finding, names)}."
    elif not explains and hunt.base is not None and hunt.base.volume_l > 0 and not hunt.base.void:
        told += " That is too little to be all of what the readings show."
    finding = replace(finding, hunt_cause=_cause(hunt) if explains or hunt.place == "line" else None)
    check, caution = check_words(hunt, setting, too_old=as_of - begun(hunt) > LAPSES)
    if not check:
        return replace(finding, hunt=told, rivals=rivals)
    return replace(finding, hunt=told, rivals=rivals, check_first=check, caution=caution or finding.caution)


def hunt_of(
    finding: Finding, frames: Frames, tz: ZoneInfo, as_of: datetime, among: Iterable[Finding] = ()
) -> tuple[Hunt, Setting] | None:
    """The latest hunt at a finding's meter that was made while it went on and speaks of its kind or a rival's."""
    kinds, litres = {finding.kind, *(r.kind for r in finding.rivals)}, finding.volume.value or 0.0
    if litres <= 0 or kinds.isdisjoint((*BY_ITSELF, WHILE_IT_RUNS)):
        return None
    ended = finding.until or as_of
    tests = frames["leak_test"]
    if not ((tests["meter"] == finding.meter) & tests["at"].between(finding.since, ended)).any():
        return None
    hours = (ended - finding.since).total_seconds() / 3600
    seek = abs(finding.rate_lph or 0.0) if finding.kind in BY_ITSELF else litres / hours if hours > 0 else 0.0
    setting = hunt_setting(frames, finding.meter, ended.astimezone(tz).date(), seek or None)
    made = [h for h in hunts_at(frames, setting) if finding.since <= begun(h) <= ended and h.place != "open"]
    if kinds.isdisjoint(BY_ITSELF):  # only a zone timed while it ran says something
        zones = {*finding.group, *(z for r in finding.rivals for z in r.group)}
        made = [h for h in made if any(h.latest("run", z) for z in zones)]
    if not made or _of_another(made[-1], finding, among, as_of):
        return None
    return made[-1], setting


def _of_another(hunt: Hunt, finding: Finding, among: Iterable[Finding], as_of: datetime) -> bool:
    """Whether what a hunt measured with everything off is the flow of another finding that went on then, not of this.

    Where only all of them together make what was measured, it is of each.
    """
    base, at = hunt.base, begun(hunt)
    if base is None or base.void or base.low_lph <= 0 or finding.kind not in BY_ITSELF:
        return False
    beside = [g for g in among if g.kind in BY_ITSELF and g.meter == finding.meter and g is not finding]
    rates = [abs(g.rate_lph or 0.0) for g in beside if g.since <= at <= (g.until or as_of)]
    mine = abs(finding.rate_lph or 0.0)
    nearest = min((_apart(base, rate) for rate in rates), default=np.inf)
    if _apart(base, mine) <= nearest:
        return False
    return nearest <= ALIKE or _apart(base, mine + sum(rates)) > ALIKE


def _apart(base: Trial, rate_lph: float) -> float:
    """How many times a rate is off the range of a measured one; 1 within it."""
    return max(base.low_lph / max(rate_lph, 1e-9), rate_lph / base.high_lph, 1.0)


def makes(hunt: Hunt, finding: Finding, as_of: datetime) -> bool:
    """Whether what moved with everything off makes most of a finding's water."""
    base = hunt.base
    if base is None or base.void or base.low_lph <= 0:
        return False
    hours = ((finding.until or as_of) - finding.since).total_seconds() / 3600
    return base.high_lph * hours >= MOST_OF * (finding.volume.value or 0.0) > 0


def excludes(hunt: Hunt, kind: FindingKind, zones: tuple[str, ...], *, explains: bool) -> bool:
    """Whether a hunt excludes an explanation. ``explains``: what moved with everything off makes most of the water."""
    if kind == WHILE_IT_RUNS and _as_set(hunt, zones):
        return True
    if hunt.place in ("nothing", "line"):
        still = hunt.base is not None and hunt.base.volume_l == 0 and not hunt.base.void
        return still and kind in BY_ITSELF
    if not explains or kind == "steady":  # which may be anywhere
        return False
    # what goes on with everything off is no use that is over, nor only of a run
    return kind not in BY_ITSELF or _elsewhere(hunt, zones)


def _elsewhere(hunt: Hunt, zones: tuple[str, ...]) -> bool:
    if hunt.place == "service" or (hunt.place == "inside" and hunt.sure):
        return True  # it goes on with the drip line shut
    if hunt.place == "zone":
        return bool(zones) and hunt.zone not in zones
    shut = [hunt.latest("zone", z) for z in zones]
    return bool(shut) and all(t is not None and t.verdict == "same" for t in shut)


def _cause(hunt: Hunt) -> Cause | None:
    """What a hunt that ends at a zone found there."""
    if hunt.zone is None or hunt.place not in ("zone", "line"):
        return None
    return Cause("stuck_open" if hunt.place == "zone" else WHILE_IT_RUNS, hunt.zone)


def begun(hunt: Hunt) -> datetime:
    """When its first test began."""
    return hunt.tests[0].at


def _as_set(hunt: Hunt, zones: tuple[str, ...]) -> bool:
    """Whether each of these zones, timed while it ran, took no more than the book says."""
    runs = [hunt.latest("run", z) for z in zones]
    return bool(runs) and all(t is not None and t.verdict in ("same", "less") for t in runs)


def _mended_since(finding: Finding, day: date) -> bool:
    return finding.contradicted and finding.repaired_on is not None and day < finding.repaired_on
