"""What an hour of the household may hold, as a register shows it: a leak adds to the use, not to what was shown.

Hours are made by hand: a use of known litres on a register that stands anywhere within its step when the hour begins.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate

from core.accounts.densities import KINDS, densities, nodes_of
from core.accounts.noise import Noise
from tests.core.accounts.frames import GALLON_L

Floats = NDArray[np.float64]
Uses = tuple[float, ...]

TEN_GALLONS = 10 * GALLON_L
HOURS = KINDS * 250
KIND = np.arange(HOURS) % KINDS
FEW = [(3.0,), (6.0,), (12.0,), (0.0, 0.0, 4.0, 15.0)]  # litres of uses, each as often: all far below one step
MANY = (0.0, 0.0, 0.0, 20.0, 60.0)


def shown(uses: Uses, step: float, seed: int = 1) -> Floats:
    """Differences of floored readings. Where the register stood is spread evenly, then shuffled."""
    rng = np.random.default_rng(seed)
    stood = rng.permutation((np.arange(HOURS) + 0.5) / HOURS) * step
    used = rng.permutation(np.resize(uses, HOURS))
    return np.asarray((np.floor((stood + used) / step) - np.floor(stood / step)) * step)


@cache
def learned(uses: Uses, step: float) -> Floats:
    """Densities by class, level of extra spread and node, of a home of two."""
    return densities(shown(uses, step), KIND, step, 2)


def chances(table: Floats, step: float, leak: float) -> Floats:
    """Chance by class of showing 0, 1, 2, ... steps in an hour with so many litres of leak beside the use."""
    at = np.arange(21) * step - leak
    return step * np.array([np.interp(at, nodes_of(step), each) for each in table[:, 0]])


@pytest.mark.parametrize("leak", [0.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("uses", FEW)
def test_a_leak_adds_its_litres_to_the_mean_shown(uses: Uses, leak: float) -> None:
    """Floors at even phases lose nothing on average: the mean shown is the mean used (arithmetic)."""
    table = learned(uses, TEN_GALLONS)[:KINDS]
    steps = chances(table, TEN_GALLONS, leak)
    np.testing.assert_allclose(steps.sum(axis=1), 1.0, atol=0.01)
    mean = steps @ np.arange(21) * TEN_GALLONS
    assert mean.mean() == pytest.approx(np.mean(uses) + leak, abs=0.5)
    without = chances(table, TEN_GALLONS, 0.0) @ np.arange(21) * TEN_GALLONS
    np.testing.assert_allclose(mean - without, leak, atol=0.1)


@pytest.mark.parametrize("leak", [0.0, 5.0, 10.0])
@pytest.mark.parametrize("uses", FEW)
def test_the_register_stands_still_as_often_as_it_should(uses: Uses, leak: float) -> None:
    """An hour of q litres below one step is shown as nothing with the chance 1 - q / step (arithmetic)."""
    table = learned(uses, TEN_GALLONS)[:KINDS]
    still = chances(table, TEN_GALLONS, leak)[:, 0].mean()
    assert still == pytest.approx(1 - (np.mean(uses) + leak) / TEN_GALLONS, abs=0.025)


def test_uses_of_many_steps_keep_their_mean_as_well() -> None:
    table = learned(MANY, GALLON_L)[:KINDS]
    at = nodes_of(GALLON_L)
    assert integrate.trapezoid(table[:, 0] * at, at, axis=-1).mean() == pytest.approx(16.0, rel=0.05)


@pytest.mark.parametrize("step", [1.0, GALLON_L, TEN_GALLONS, 100.0])
def test_every_class_holds_all_that_can_happen(step: float) -> None:
    """Shares of one kind of hour add up to one, whatever runs add, and nothing is ever impossible."""
    table = learned((0.0, 4.0, 15.0, 80.0, 23.6 * step), step)
    whole = integrate.trapezoid(table, nodes_of(step), axis=-1)
    np.testing.assert_allclose(whole, 1.0, atol=0.02)
    assert (table > 0).all()


@pytest.mark.parametrize(("fuller", "low", "high"), [(1, 1.5, 2.0), (2, 2.0, 3.0), (3, 3.0, 4.0)])
@pytest.mark.parametrize("step", [GALLON_L, TEN_GALLONS])
def test_a_fuller_house_uses_more(step: float, fuller: int, low: float, high: float) -> None:
    """Up to twice, thrice, four times as much: between the house before it and its own number of them (arithmetic)."""
    table = learned(MANY, step)[:, 0]
    mean = integrate.trapezoid(table * nodes_of(step), nodes_of(step), axis=-1)
    assert low < mean[KINDS * fuller : KINDS * (fuller + 1)].mean() / mean[:KINDS].mean() < high


def test_an_empty_house_uses_next_to_nothing() -> None:
    table = learned(MANY, GALLON_L)[:, 0]
    mean = integrate.trapezoid(table * nodes_of(GALLON_L), nodes_of(GALLON_L), axis=-1)
    assert 0 < mean[-1] < 0.25 * mean[:KINDS].min()


def test_less_than_nothing_is_nothing() -> None:
    """What a leak or a zone took too much of leaves hours below nothing; a house never gives water back."""
    use = shown((0.0, 4.0, 15.0), GALLON_L)
    below = np.where(use == 0, -np.resize([0.0, 1.0, 7.5, 400.0], HOURS), use)
    np.testing.assert_array_equal(densities(below, KIND, GALLON_L, 2), densities(use, KIND, GALLON_L, 2))


@pytest.mark.parametrize("leak", [5.0, 40.0])
def test_what_a_leak_in_a_third_of_the_hours_would_have_taught(leak: float) -> None:
    """A third of the hours hold the leak more, the others are as they were: so are their shares and the mean used
    (arithmetic of mixtures).
    """
    table, hours = learned(FEW[2], TEN_GALLONS), np.zeros(1, dtype=np.int64)
    house = Noise(hours == 0, table, nodes_of(TEN_GALLONS), TEN_GALLONS, hours, hours, np.ones(1), 1.0)
    taught = house.learned_with(leak, 1 / 3).table
    step = np.arange(21) * TEN_GALLONS
    for leaking in (0.0, 7.0):
        before, more, after = (
            chances(each, TEN_GALLONS, shift)[:KINDS]
            for each, shift in ((table, leaking), (table, leak + leaking), (taught, leaking))
        )
        np.testing.assert_allclose(after, 2 / 3 * before + 1 / 3 * more, atol=0.01)
    np.testing.assert_allclose(after @ step - before @ step, leak / 3, atol=0.3)
