"""The account's own arithmetic against scipy: the robust fit, sums over time, and the household's densities."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import integrate, optimize, stats

from core.accounts.accrual import Accrual
from core.accounts.delivery import CLIP, ridge
from core.accounts.noise import Noise
from core.accounts.suspects.one_off import surprise
from tests.core.accounts import books

Floats = NDArray[np.float64]


def loss(
    b: Floats, x: Floats, y: Floats, sigma: Floats, prior: Floats, prior_sd: Floats
) -> float:  # Huber 1964, and a normal prior
    r = np.abs(y - x @ b) / sigma
    bent = np.where(r <= CLIP, 0.5 * r**2, CLIP * r - 0.5 * CLIP**2)
    return float(bent.sum() + 0.5 * (((b - prior) / prior_sd) ** 2).sum())


def problem(seed: int) -> tuple[Floats, ...]:
    """Readings of a few zones with odd ones among them; in two of three some zone brings nothing or less."""
    rng = np.random.default_rng(seed)
    rows, columns = int(rng.integers(12, 60)), int(rng.integers(1, 6))
    x = rng.gamma(1.0, 1.0, (rows, columns)) * (rng.random((rows, columns)) < 0.7)
    true = rng.uniform(0.2, 1.5, columns)
    if seed % 3:
        true[rng.random(columns) < 0.5] = rng.uniform(-1.0, 0.0)
    sigma = rng.uniform(0.1, 0.4, rows)
    y = x @ true + sigma * rng.standard_t(2, rows)
    return x, y, sigma, np.ones(columns), rng.uniform(0.1, 1.0, columns), np.where(rng.random(columns) < 0.8, 0.0, 0.3)


@pytest.mark.parametrize("seed", range(60))
def test_robust_fit_with_bounds_is_the_least_of_its_loss(seed: int) -> None:
    x, y, sigma, prior, prior_sd, lowest = problem(seed)
    found = ridge(x, y, sigma, prior, prior_sd, lowest)
    best = optimize.minimize(
        loss, np.maximum(prior, lowest), (x, y, sigma, prior, prior_sd), "L-BFGS-B", bounds=[(v, None) for v in lowest],
        options={"ftol": 1e-14, "gtol": 1e-9, "maxiter": 5000},
    )  # fmt: skip
    assert (found.value >= lowest).all()
    np.testing.assert_allclose(found.value, best.x, rtol=1e-3, atol=1e-3)
    np.testing.assert_allclose(found.residual, y - x @ found.value, atol=1e-12)


def test_bounds_are_active_in_many_of_these() -> None:
    held = [np.isclose(ridge(*problem(seed)).value, problem(seed)[5]).any() for seed in range(60)]
    assert 15 <= sum(held) <= 45


def test_a_column_without_a_bound_may_fall_below_nothing() -> None:
    x = np.column_stack([np.ones(30), np.tile([0.0, 1.0], 15)])
    fit = ridge(x, x @ [2.0, -3.0], np.full(30, 0.1), np.array([1.0, 0.0]), np.full(2, 1e6), np.array([0.0, -np.inf]))
    assert fit.value.tolist() == pytest.approx([2.0, -3.0])


# --- sums over time ---------------------------------------------------------------------------------------------

SPANS = st.lists(st.tuples(st.floats(0, 100), st.floats(0.1, 50), st.floats(-20, 500)), min_size=1, max_size=8)


@given(spans=SPANS, ends=st.tuples(st.floats(-20, 170), st.floats(-20, 170)))
def test_spans_accrue_as_their_rates_integrate(
    spans: list[tuple[float, float, float]], ends: tuple[float, float]
) -> None:
    start, long, amount = (np.array(v) for v in zip(*spans, strict=True))
    low, high = min(ends), max(ends)
    edges = np.unique(np.concatenate([start, start + long, [low, high]]))
    middle = (edges[1:] + edges[:-1]) / 2
    rate = ((middle[:, None] >= start) & (middle[:, None] < start + long)) @ (amount / long)
    inside = (middle > low) & (middle < high)
    expected = integrate.trapezoid(np.repeat(rate[inside], 2), np.stack([edges[:-1], edges[1:]], 1)[inside].ravel())
    found = Accrual.of_spans(start, start + long, amount)
    assert float(found.between(low, high)) == pytest.approx(float(expected), abs=1e-6)
    assert float(found.between(-1e3, 1e3)) == pytest.approx(amount.sum(), abs=1e-6)


@given(
    rates=st.lists(st.floats(-5, 50), min_size=1, max_size=30),
    ends=st.tuples(st.floats(-3, 40), st.floats(-3, 40)),
)
def test_rates_accrue_as_scipy_adds_them(rates: list[float], ends: tuple[float, float]) -> None:
    edges = np.arange(len(rates) + 1.0)
    found = Accrual.of_rates(edges, np.array(rates))
    total = integrate.cumulative_trapezoid(np.repeat(rates, 2), np.stack([edges[:-1], edges[1:]], 1).ravel(), initial=0)
    assert float(found.upto(edges[-1] + 5)) == pytest.approx(float(total[-1]), abs=1e-9)
    low, high = sorted(float(np.clip(e, 0, len(rates))) for e in ends)
    known = np.interp([low, high], np.stack([edges[:-1], edges[1:]], 1).ravel(), total)
    assert float(found.between(*sorted(ends))) == pytest.approx(float(known[1] - known[0]), abs=1e-9)


# --- densities --------------------------------------------------------------------------------------------------


def learned(pace_days: float, days: int) -> Noise:
    return books.case_of(books.plain_home(pace_days, days)).noise


def test_hourly_densities_hold_all_that_can_happen() -> None:
    """Every class of hour, whatever runs add to it: the density of use integrates to one (its nodes are coarse)."""
    noise = learned(1 / 24, 150)
    assert noise.learned
    whole = integrate.trapezoid(noise.table, noise.nodes, axis=-1)
    np.testing.assert_allclose(whole, 1.0, atol=0.02)
    assert (noise.table > 0).all()


def test_slow_densities_hold_all_that_can_happen() -> None:
    noise = learned(1, 300)
    row = np.array([100])
    at = np.linspace(-40, 60, 200_001) * noise.sigma[100]
    whole = integrate.trapezoid(np.exp(noise.log_density(row, at[:, None]))[:, 0], at)
    assert whole == pytest.approx(1.0, abs=0.05)  # a normal one with a heavier tail, not normed again


def test_surprise_is_the_predictive_tail() -> None:
    """An exponential tail whose rate was learned from n values has Lomax's upper tail with shape n and scale n times
    the mean (gamma mixture of exponentials; textbook result): scipy.stats.lomax."""
    among = np.random.default_rng(4).exponential(10.0, 400)
    kept = np.sort(among)[:-3]
    high = np.quantile(kept, 0.95)
    beyond = kept[kept >= high] - high
    value = np.array([high + 1.0, high + 40.0, high + 400.0])
    expected = 3.0 - stats.lomax.logsf(value - high, len(beyond), scale=len(beyond) * beyond.mean())
    np.testing.assert_allclose(surprise(value, among, 1.0), expected, rtol=1e-9)
    assert surprise(np.array([high - 1.0]), among, 1.0)[0] == 0.0


def test_surprise_needs_something_to_compare_with() -> None:
    assert surprise(np.array([1e6]), np.array([3.0]), 1.0).tolist() == [0.0]
    few, many = (surprise(np.array([200.0]), np.random.default_rng(1).exponential(10.0, n), 1.0)[0] for n in (30, 3000))
    assert few < many
