"""What would be normal: baseline, delivery factors and spread learned together, findings taken off first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.accounts import spreads
from core.accounts.accrual import Accrual
from core.accounts.baseline import (
    DAY_SPREAD,
    USUAL_COURSE,
    Baseline,
    indoor_shape,
    learn_course,
    prior_level,
)
from core.accounts.delivery import Ridge, ridge
from core.accounts.drinkers import drinking_hours, fitful, full_draw, in_season
from core.accounts.instants import Flags, Floats
from core.accounts.ledger import Ledger
from core.accounts.noise import Noise, make_noise, seldom

ENOUGH_OWN_HOURS = 28 * 24  # of hourly readings that no finding touches, to learn the house from them alone
SEASON_SD = 0.02  # how far indoor use swings over the year; common practice, no source
WEEKDAY_SD = 0.12  # how far a weekday strays from the week's mean; common practice, no source
FIXED = 10  # columns of the design before those of appliances: level, season, weekdays
CALM, ENOUGH_CALM = 0.1, 8  # share of a reading's variance, and readings


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

    slow = usable & ~ledger.fine
    drinking = drinking_hours(ledger, drinks)
    design = _design(ledger, course, level, level_sd, drinking)
    noise = make_noise(ledger, metered, quiet)
    told = _regression(ledger, design, drinking, metered, usable, noise, level)
    left = np.where(slow, metered - design.x @ told.fit.value, np.nan)
    used = in_season(ledger, drinking, told.fit.value[FIXED : design.zones], left, told.sigma)
    if used is not None:
        drinking, design = used, _design(ledger, course, level, level_sd, used)
        told = _regression(ledger, design, drinking, metered, usable, noise, level)
    fit, factor, day_sd = told.fit, told.fit.value[design.zones :], told.day_sd
    # an hour in which zones always run, as in a first season, is known by what is left when they are taken off
    unknown = (
        seldom(ledger, quiet) & fine & (ledger.paper_total > 0) & (ledger.other < 1e-6) & (np.abs(explained) < 1e-6)
    )
    if unknown.any():
        left = np.maximum(metered - ledger.paper @ factor, 0.0)
        noise = make_noise(ledger, np.where(unknown, left, metered), quiet | unknown)
    if own_course is None and slow.any():
        level_sd, readings = float(fit.sd[0]), int(slow.sum())
    base = _baseline(ledger, fit, design, drinking, course, level, level_sd, day_sd, readings)

    indoor = base.accrued.between(ledger.start, ledger.end)
    zones = ledger.paper * factor
    runs = told.runs
    sigma = spreads.spread(ledger, noise, indoor, indoor / max(base.level, 1e-9), day_sd, runs)
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
        wander=spreads.wander(ledger, left, slow, sigma, indoor),
        drinks=drinks.lower(),
    )


@dataclass(frozen=True, slots=True)
class _Told:
    """What the regression told: its fit, the spread of a day, the variance of runs and appliances, and of it all."""

    fit: Ridge
    day_sd: float
    runs: Floats
    sigma: Floats


def _regression(
    ledger: Ledger,
    design: Design,
    drinking: dict[str, Floats],
    metered: Floats,
    usable: Flags,
    noise: Noise,
    level: float,
) -> _Told:
    """The regression on slow readings and on hourly ones with runs, twice, as its spread goes by what it finds."""
    slow = usable & ~ledger.fine
    teach = slow | (ledger.fine & usable & (ledger.paper_total > 0))
    day_sd, relative, steadiness = DAY_SPREAD * level * 24, design.x[:, 0], 1.0
    of_runs, of_drinks = spreads.run_variance(ledger), fitful(ledger, drinking)
    runs = spreads.scattered(ledger, of_runs, np.ones(len(ledger.zones)), steadiness)
    for _ in range(2):
        sigma = spreads.spread(ledger, noise, relative * level, relative, day_sd, runs)
        fit = ridge(design.x[teach], metered[teach], sigma[teach], design.prior, design.prior_sd, design.lowest)
        strays = of_drinks @ fit.value[FIXED : design.zones] ** 2
        calm = _calm(slow, strays, sigma)
        day_sd = spreads.day_spread(ledger, fit.residual, teach, calm, relative, day_sd, sigma)
        steadiness *= spreads.steadiness((fit.residual / sigma[teach])[ledger.fine[teach]])
        runs = spreads.scattered(ledger, of_runs, fit.value[design.zones :], steadiness) + strays
    return _Told(fit, day_sd, runs, sigma)


def _calm(slow: Flags, strays: Floats, sigma: Floats) -> Flags:
    """Slow readings that tell how far a day of the house strays: with little of an appliance, if they are enough."""
    calm: Flags = slow & (strays < CALM * sigma**2)
    return calm if calm.sum() >= ENOUGH_CALM else slow


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
    usual, strays = full_draw(drinking)
    count, drinks = len(ledger.zones), len(drinking)
    return Design(
        x=np.column_stack([*columns, ledger.paper]),
        prior=np.concatenate([[level], np.zeros(FIXED - 1), usual, np.ones(count)]),
        prior_sd=np.concatenate([[max(level_sd, 1e-3)], [SEASON_SD] * 2, [WEEKDAY_SD] * 7, strays, ledger.spread]),
        lowest=np.concatenate([[0.0], [-0.5] * (FIXED - 1), np.zeros(drinks + count)]),
        zones=FIXED + drinks,
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
        drawn = drawn + fit.value[FIXED + k] * each
    wave = 1 + season[0] * np.cos(ledger.season) + season[1] * np.sin(ledger.season)
    accrued = Accrual.of_rates(ledger.hour_edges, level * indoor_shape(ledger, course) * wave + drawn)
    return Baseline(level, level_sd, day_sd, readings, accrued)
