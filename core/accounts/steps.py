"""What the step from one register reading to the next means: use, a rollover, a changed register, a misread."""

from __future__ import annotations

import numpy as np

from core.accounts import remarks
from core.accounts.instants import HOUR_MS, Flags, Floats, Ints
from core.units import to_base

# Most a home's meter passes: 50 gpm through a 1-inch displacement meter (COMAR 20.70.06.03, after AWWA).
MOST_LPH = to_base(50, "gpm", "flow")
# Beyond 5,000 gal a day a utility telephones (Truckee Donner PUD); the bound while a meter has no history.
UNUSUAL_LPH = to_base(5000, "gal", "volume") / 24
USUAL_TIMES = 3.0  # a wrap or a step may exceed the meter's high usual rate this many times; common practice, no source
LEAST_BOUND_L = 1000.0  # below a cubic metre no step is called implausible; common practice, no source
SMALL_BACK_L = 20.0  # steps back of 5 L occur on real registers, cause unknown (DAIAD data)
NEAR_TOP = 0.9  # a register rolls over from the last tenth of its range; common practice, no source
NEAR_NOUGHT = 0.1  # and shows the first tenth of it at the next reading, unless it is read once in years; likewise


def plausible_lph(hours: Floats, volume_l: Floats) -> float:
    """The highest mean rate that a meter's own rises make plausible, litres per hour.

    Three times the second highest (or 95th percentile) rate of its rises, leaving out those beside a fall, which
    may be the way to a misread number or back; 5,000 gal a day while there is none.
    """
    falls = np.concatenate([[False], volume_l < 0, [False]])
    sound = (volume_l > 0) & (volume_l <= MOST_LPH * hours) & ~falls[:-2] & ~falls[2:]
    rates = volume_l[sound] / hours[sound]
    if not len(rates):
        return UNUSUAL_LPH
    return USUAL_TIMES * float(np.quantile(rates, 0.95, method="lower") if len(rates) > 2 else rates.max())


def plausible_l(hours: Floats, rate_lph: float) -> Floats:
    """Litres each interval may plausibly hold: at that rate, but never more than a meter can pass."""
    return np.minimum(MOST_LPH * hours, np.maximum(rate_lph * hours, LEAST_BOUND_L))


def rollover_l(hours: Floats, after_l: Floats, top_l: float, rate_lph: float) -> Floats:
    """Litres up to which a fall from near the top is a rollover: what the meter's own history makes plausible, and
    where the register now stands near nought, what a utility would ring about (a day's worth in less than a day).

    The history alone would take a fault out of the account just when the register crosses its top. Every register does
    so once in its range; a change that nobody wrote of looks like it only if the old register happened to stop that
    close below its top and the new one to begin near nought. Six digits of gallons at 80,000 a year roll over every 12
    years, and 35,000 gal, a week of what is rung about, are 3.5 % of them: for meters changed every 15 to 20 years
    (from memory) a rollover is some forty times likelier. A misread that its neighbours betray is left out before.
    """
    known = plausible_l(hours, rate_lph)
    rung_about = np.minimum(MOST_LPH * hours, UNUSUAL_LPH * np.maximum(hours, 24.0))
    return np.where(after_l < NEAR_NOUGHT * top_l, np.maximum(known, rung_about), known)


def may_have_rolled(before: float, after: float, digits: int, unit_l: float, hours: float) -> bool:
    """Whether a person may be asked if a register rolled over: it fell from the last tenth of its range, out of it, by
    no more than a meter can pass. ``before`` and ``after`` in the register's unit of ``unit_l`` litres.
    """
    top = 10.0**digits
    return after < NEAR_TOP * top <= before < top and (after + top - before) * unit_l <= MOST_LPH * hours


def left_out(at: Ints, value_l: Floats, step_l: Floats, changed: Flags, top_l: float) -> Flags:
    """Single readings that a register cannot have shown, since it never goes back, while their neighbours follow
    each other: a misread digit, or another meter's number.

    A reading is left out when the register would have to fall after it and two readings in a row stand below it; or
    fall to it, the next standing no lower than the one before, and the one before it not being as likely the odd
    one. Else the way to it or back must be implausibly far. A changed register never runs on where the old one
    stopped. Where two readings are as likely to be odd neither is left out.
    """
    odd = np.zeros(len(at), dtype=bool)
    if len(at) < 3:
        return odd
    hours, rise = np.diff(at) / HOUR_MS, np.diff(value_l)
    rate = plausible_lph(hours, rise)
    bound = plausible_l(hours, rate)
    falls = rise <= -np.maximum(step_l[1:], SMALL_BACK_L)
    wraps = falls & (value_l[:-1] >= NEAR_TOP * top_l) & (rise + top_l <= bound)
    falls &= ~wraps
    far = rise > bound
    across = rise[:-1] + rise[1:]
    follows = (across >= 0) & (across <= plausible_l(hours[:-1] + hours[1:], rate))
    one_register = ~changed[1:-1] & ~changed[2:]
    second_below = np.append(value_l[3:] < value_l[1:-2], False)  # the second reading after it
    too_high = falls[1:] & (far[:-1] | second_below)
    before_may_be_high = np.append(False, follows[:-1])  # the reading before it could be the odd one as well
    too_low = falls[:-1] & (far[1:] | ~before_may_be_high)
    odd[1:-1] = (too_high | too_low) & follows & one_register
    return odd


def fallen_steps(
    before_l: Floats, after_l: Floats, step_l: Floats, start: Ints, end: Ints, slack_h: Floats, top_l: float
) -> tuple[Floats, remarks.Notes]:
    """Litres of each step between two register readings, and a note where it is not plain use.

    Args:
        before_l, after_l: readings in litres; ``after_l`` is NaN where the register's last number is not known.
        step_l: resolution of the later reading.
        start, end: milliseconds; ``slack_h`` hours by which readings with inexact times may lie further apart.
        top_l: the register's range, ten to the number of its digits.

    Returns:
        volume, NaN where it is not knowable: a register that fell, or a rise beyond what a meter can pass.
    """
    hours = (end - start) / HOUR_MS
    volume = after_l - before_l
    note = np.full(len(volume), "", dtype=object)
    back = volume <= -step_l * (1 - 1e-9)
    if back.any():
        bound = rollover_l(hours + slack_h, after_l, top_l, plausible_lph(hours, volume))
        wrapped = volume + top_l
        rolled = back & (before_l >= NEAR_TOP * top_l) & (before_l < top_l) & (wrapped <= bound)
        little = back & ~rolled & (-volume <= np.maximum(step_l * (1 + 1e-9), SMALL_BACK_L))
        fell = back & ~rolled & ~little
        note[rolled] = remarks.ROLLED
        note[little] = remarks.WENT_BACK
        note[fell] = remarks.FELL
        volume = np.where(rolled, wrapped, np.where(fell, np.nan, volume))
    beyond = volume > MOST_LPH * (hours + slack_h)
    note[beyond] = remarks.BEYOND
    return np.where(beyond, np.nan, volume), note
