"""What would be normal: baseline, delivery factors and spread learned together, findings taken off first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.accounts.accrual import Accrual
from core.accounts.baseline import (
    DAY_SPREAD,
    USUAL_COURSE,
    Baseline,
    drinking_hours,
    indoor_shape,
    learn_course,
    prior_level,
)
from core.accounts.delivery import FLOW_SD, Ridge, ridge
from core.accounts.instants import Flags, Floats
from core.accounts.ledger import Ledger
from core.accounts.noise import Noise, make_noise
from core.accounts.presence import UNSURE_SD
from core.units import to_base

ENOUGH_OWN_HOURS = 28 * 24  # of hourly readings that no finding touches, to learn the house from them alone
EDGE_HOURS = 2 / 60  # how far a run's edge strays from day to day; common practice, no source
DRIFT = 0.01  # how far the level of a month strays from the year's, until the readings tell; common practice, no source
SEASON_SD = 0.02  # how far indoor use swings over the year; common practice, no source
WEEKDAY_SD = 0.12  # how far a weekday strays from the week's mean; common practice, no source
COOLER_SD = to_base(4, "gph", "flow")  # draw of a cooler in the hottest hours; common practice, no source


@dataclass(frozen=True, slots=True)
class Design:
    """The regression behind the reference: columns per interval, their priors, and which column is which.

    Columns: level, season (2), weekdays (7), appliances, then one per zone (from ``zones`` on).
    """

    x: Floats
    prior: Floats
    prior_sd: Floats
    lowest: Floats
    zones: int


@dataclass(frozen=True, slots=True)
class Reference:
    """Everything learned about a meter when nothing is wrong.

    Attributes:
        indoor, zones: expected litres per interval, and per interval and zone.
        factor, factor_sd, factor_covariance: delivery per zone.
        left: metered less zones and other use (fine intervals) or less everything expected (others): what the
            noise speaks about.
        unexplained: metered less everything expected; NaN where nothing was metered.
        sigma: standard deviation of ``unexplained``; run_sd: the part of it that comes from runs and logged use.
        estimate: of the design's columns.
        drinks: appliances that use water by themselves, as the home record says.
        wander: how far the level of a month strays from the year's, share of the level.
    """

    baseline: Baseline
    factor: Floats
    factor_sd: Floats
    factor_covariance: Floats
    indoor: Floats
    zones: Floats
    left: Floats
    unexplained: Floats
    sigma: Floats
    run_sd: Floats
    noise: Noise
    design: Design
    estimate: Floats
    wander: float
    drinks: str


def learn(ledger: Ledger, drinks: str, explained: Floats, aside: Flags) -> Reference:
    """Learn what is normal.

    Args:
        drinks: appliances that use water by themselves, as written in the home record.
        explained: litres per interval that findings account for; taken off before learning.
        aside: intervals to learn nothing from.
    """
    usable = ledger.usable & ~aside
    fine = ledger.fine & usable
    metered = ledger.volume - ledger.other - explained
    quiet = fine & (ledger.paper_total < 1e-6) & (ledger.other < 1e-6)
    # hours less a leak are no hours of the house: a register shows whole steps, and the leak is not known to the litre
    own = quiet & (np.abs(explained) < 1e-6)
    quiet = own if own.sum() >= ENOUGH_OWN_HOURS else quiet
    level, level_sd = prior_level(ledger.home_people)
    own_course = learn_course(ledger, metered, quiet)
    course = USUAL_COURSE if own_course is None else own_course
    readings = 0
    if own_course is not None:
        level, level_sd = _fine_level(ledger, metered, quiet, course)
        readings = int(quiet.sum())

    drinking = drinking_hours(ledger, drinks)
    design = _design(ledger, course, level, level_sd, drinking)
    slow = usable & ~ledger.fine
    teach = slow | (fine & (ledger.paper_total > 0))
    noise = make_noise(ledger, metered, quiet)
    factor = np.ones(len(ledger.zones))
    day_sd = DAY_SPREAD * level * 24
    relative = design.x[:, 0]
    steadiness = 1.0
    of_runs = _run_variance(ledger)
    for _ in range(2):
        runs = _scattered(ledger, of_runs, factor, steadiness)
        sigma = _spread(ledger, noise, relative * level, relative, day_sd, runs)
        fit = ridge(design.x[teach], metered[teach], sigma[teach], design.prior, design.prior_sd, design.lowest)
        factor = fit.value[design.zones :]
        day_sd = _day_sd(ledger, fit.residual, teach, slow, relative, day_sd, sigma)
        steadiness *= _steadiness((fit.residual / sigma[teach])[ledger.fine[teach]])
    if own_course is None and slow.any():
        level_sd, readings = float(fit.sd[0]), int(slow.sum())
    base = _baseline(ledger, fit, design, drinking, course, level, level_sd, day_sd, readings)

    indoor = base.accrued.between(ledger.start, ledger.end)
    zones = ledger.paper * factor
    runs = _scattered(ledger, of_runs, factor, steadiness)
    sigma = _spread(ledger, noise, indoor, indoor / max(base.level, 1e-9), day_sd, runs)
    use = ledger.volume - ledger.other - zones.sum(axis=1)
    unexplained = use - indoor
    left = unexplained - explained
    # between runs the densities hold the reading error already
    reading = np.where(ledger.paper_total > 0, ledger.read_sd**2, 0.0)
    run_sd = np.sqrt(runs + ledger.other_sd**2 + reading)
    return Reference(
        baseline=base,
        factor=factor,
        factor_sd=fit.sd[design.zones :],
        factor_covariance=fit.covariance[design.zones :, design.zones :],
        indoor=indoor,
        zones=zones,
        left=np.where(ledger.fine, use, unexplained),
        unexplained=unexplained,
        sigma=sigma,
        run_sd=run_sd,
        noise=noise.weighing(run_sd, sigma, (left / sigma)[slow]),
        design=design,
        estimate=fit.value,
        wander=_wander(ledger, left, slow, sigma, indoor),
        drinks=drinks.lower(),
    )


def _wander(ledger: Ledger, left: Floats, slow: Flags, sigma: Floats, indoor: Floats) -> float:
    """How far four-week means of slow readings stray beyond what single readings explain, share of the level."""
    rows = np.flatnonzero(slow)
    if not len(rows):
        return DRIFT
    block = ((ledger.start[rows] - ledger.start[rows[0]]) // (28 * 24)).astype(np.int64)
    z = np.clip(left[rows] / sigma[rows], -3, 3) * sigma[rows]
    base = np.bincount(block, indoor[rows])
    full = (np.bincount(block) >= 3) & (base > 0)
    if full.sum() < 4:
        return DRIFT
    stray = (np.bincount(block, z)[full] / base[full]) ** 2
    chance = np.bincount(block, sigma[rows] ** 2)[full] / base[full] ** 2
    own = float(np.quantile(stray, 0.4) / 0.275 - np.median(chance))  # 0.275: chi-squared of one, its 40 % point
    count = float(full.sum())
    return float(np.clip(np.sqrt(max((count * max(own, 0) + 30 * DRIFT**2) / (count + 30), 0)), DRIFT / 2, 0.03))


def _fine_level(ledger: Ledger, use: Floats, quiet: Flags, course: Floats) -> tuple[float, float]:
    """Litres an hour by the hourly readings without irrigation, the largest cut back."""
    shape = Accrual.of_rates(ledger.hour_edges, indoor_shape(ledger, course)).between(ledger.start, ledger.end)[quiet]
    litres = np.clip(use[quiet], 0, np.quantile(use[quiet], 0.998))
    level = float(litres.sum() / max(shape.sum(), 1e-9))
    # hours of one day go together: what days have shown counts, not hours
    days = max(float(ledger.hours[quiet].sum()) / 24, 1.0)
    return level, float(level * np.hypot(DAY_SPREAD / np.sqrt(days), 0.02))


def _design(ledger: Ledger, course: Floats, level: float, level_sd: float, drinking: dict[str, Floats]) -> Design:
    shape = indoor_shape(ledger, course)
    weekday = ledger.hour_of_week // 24
    rates = [shape, *(level * shape * f(ledger.season) for f in (np.cos, np.sin))]
    rates += [level * shape * (weekday == d) for d in range(7)]
    rates += list(drinking.values())
    columns = [Accrual.of_rates(ledger.hour_edges, r).between(ledger.start, ledger.end) for r in rates]
    count, drinks = len(ledger.zones), len(drinking)
    return Design(
        x=np.column_stack([*columns, ledger.paper]),
        prior=np.concatenate([[level], np.zeros(9 + drinks), np.ones(count)]),
        prior_sd=np.concatenate(
            [[max(level_sd, 1e-3)], [SEASON_SD] * 2, [WEEKDAY_SD] * 7, [COOLER_SD] * drinks, ledger.spread]
        ),
        lowest=np.concatenate([[0.0], [-0.5] * 9, np.zeros(drinks + count)]),
        zones=10 + drinks,
    )


def _baseline(
    ledger: Ledger,
    fit: Ridge,
    design: Design,
    drinking: dict[str, Floats],
    course: Floats,
    scale: float,
    level_sd: float,
    day_sd: float,
    readings: int,
) -> Baseline:
    level, cos, sin = (float(v) for v in fit.value[:3])
    share = scale / max(level, 1e-9)
    season = (cos * share, sin * share)
    weekdays = 1 + fit.value[3:10] * share
    course = course * np.repeat(weekdays, 24)
    level = level * float(course.mean())
    course = course / max(float(course.mean()), 1e-9)
    drawn = np.zeros(len(ledger.hour_of_week))
    for k, each in enumerate(drinking.values()):
        drawn = drawn + fit.value[10 + k] * each
    wave = 1 + season[0] * np.cos(ledger.season) + season[1] * np.sin(ledger.season)
    accrued = Accrual.of_rates(ledger.hour_edges, level * indoor_shape(ledger, course) * wave + drawn)
    return Baseline(level, level_sd, day_sd, readings, accrued)


def _indoor_variance(ledger: Ledger, indoor: Floats, relative: Floats, day_sd: float) -> Floats:
    """Variance of indoor use per interval: a day's own, grown by time, the level's drift, and days of leaving home."""
    unsure = Accrual.of_rates(ledger.hour_edges, ledger.unsure.astype(np.float64)).between(ledger.start, ledger.end)
    day = 24 * float(indoor.sum()) / max(float(relative.sum()), 1e-9)
    result: Floats = day_sd**2 * np.maximum(relative, 0.05 * ledger.hours) / 24 + (DRIFT * indoor) ** 2
    result += (UNSURE_SD * day) ** 2 * unsure / 24
    return result


def _spread(ledger: Ledger, noise: Noise, indoor: Floats, relative: Floats, day_sd: float, runs: Floats) -> Floats:
    """Standard deviation per interval of what is left when nothing is wrong; ``runs``: their variance."""
    variance = _indoor_variance(ledger, indoor, relative, day_sd) + ledger.read_sd**2
    rows = np.flatnonzero(ledger.fine)
    if noise.learned:
        variance[rows] = noise.spread(rows) ** 2
    result: Floats = np.sqrt(variance + ledger.other_sd**2 + runs)
    return result


def _steadiness(z: Floats) -> float:
    """How much less (below 1) or more hourly readings with runs scatter than was assumed, as a variance ratio."""
    if len(z) < 20:
        return 1.0
    own = (1.4826 * float(np.median(np.abs(np.diff(z)))) / np.sqrt(2)) ** 2
    return float(np.clip((len(z) * own + 40) / (len(z) + 40), 0.3, 3.0))


def _run_variance(ledger: Ledger) -> Floats:
    """Variance per interval and zone of what runs bring when they bring what they should: their flow from run to run,
    and minutes that spill over their ends.
    """
    variance = np.zeros_like(ledger.paper)
    for k in range(len(ledger.zones)):
        mine = ledger.runs.of(ledger.runs.counted & (ledger.runs.zone == k))
        if not len(mine.start):
            continue
        flow = float(np.median(mine.flow))
        runs_in = ledger.paper[:, k] / max(float(np.median(mine.litres)), 1e-9)
        edges = np.sort(np.concatenate([mine.start, mine.end]))
        variance[:, k] = (FLOW_SD * ledger.paper[:, k]) ** 2 / np.maximum(runs_in, 1)
        variance[:, k] += (flow * EDGE_HOURS) ** 2 * (_near_edge(ledger, edges) & ledger.fine)
    return variance


def _scattered(ledger: Ledger, of_runs: Floats, factor: Floats, steadiness: float) -> Floats:
    """Variance per interval of what all zones bring, by what they really bring and how steady they are."""
    result: Floats = np.where(ledger.fine, steadiness, 1.0) * (of_runs @ factor**2)
    return result


def _near_edge(ledger: Ledger, edges: Floats) -> Flags:
    """Whether a run starts or ends within minutes of the interval's own ends, where it may spill over."""
    spill = EDGE_HOURS * 2
    near = np.zeros(len(ledger.start), dtype=bool)
    for ends in (ledger.start, ledger.end):  # intervals are in order of time, and far more than runs
        first = np.searchsorted(ends, edges - spill, side="right")
        last = np.searchsorted(ends, edges + spill, side="right")
        for a, b in zip(first[first < last], last[first < last], strict=True):
            near[a:b] = True
    return near


def _day_sd(
    ledger: Ledger, residual: Floats, teach: Flags, slow: Flags, relative: Floats, before: float, sigma: Floats
) -> float:
    """Spread of one day from the slow readings, drawn towards what was assumed while they are few."""
    rows = slow[teach]
    if rows.sum() < 3:
        return before
    days = np.maximum(relative, 0.05 * ledger.hours)[teach][rows] / 24
    other = np.clip(sigma[teach][rows] ** 2 - before**2 * days, 0, None)
    # from one reading to the next, so that steps and seasons the fit has missed do not widen it
    size = np.abs(np.diff(residual[rows] / np.sqrt(days))) / np.sqrt(2) * 1.4826
    own = np.sqrt(np.clip(np.median(size) ** 2 - np.median(other / days), 0.04 * before**2, None))
    weight = rows.sum() / (rows.sum() + 5.0)
    return float(np.sqrt(weight * own**2 + (1 - weight) * before**2))
