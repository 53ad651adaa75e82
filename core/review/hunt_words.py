"""What a leak hunt says: where the leak is so far, what each test showed, what this register sees, how big a hole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from core.accounts.leaktest import DRIP_ML, drip_lph, hole_range_mm, smallest_rate_lph, wait_hours
from core.care.leak_hunt import LONGER, STEPS, Code, Place
from core.review.hunt import NIGHT_H, Hunt, Setting, Trial, Verdict, first_wait_h, sizing_wait_h
from core.units import System, show, spanned, to_base

WAITS_H = (0.25, 1.0, 2.0, 8.0)
SEEK_LPH: dict[System, float] = {"us": to_base(1, "gph", "flow"), "metric": 4.0}  # a round leak worth finding
TABLES_KPA = to_base(60, "psi", "pressure")  # printed leak tables are for 60 psi
DRIPPING_LPH = 4.0  # a faster leak is a thread of water, no drip; common practice, no source
DAY_H = 24


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole that would leak so much, millimetres across; ``assumed`` when no pressure was written down."""

    low_mm: float
    mid_mm: float
    high_mm: float
    pressure_kpa: float
    assumed: bool

    def pressure_words(self, system: System) -> str:
        """In the reader's unit; what is only assumed is rounded, for it is known no better than by the table."""
        if self.assumed and system == "metric":
            return show(round(self.pressure_kpa, -1), "pressure", system)
        return show(self.pressure_kpa, "pressure", system)

    def words(self, system: System) -> str:
        """In the reader's units, with its range."""
        mid, low, high = (across(mm, system) for mm in (self.mid_mm, self.low_mm, self.high_mm))
        pressure = self.pressure_words(system)
        at = f"{pressure}, as most printed tables take it" if self.assumed else f"your {pressure}"
        return f"A round hole about {mid} across would leak so much at {at}; it could be {spanned(low, high)}."


HOLE_SOURCE = (
    "Q = Cd A √(2 Δp / ρ), Cd 0.62 for a sharp edge (from memory: fluid mechanics texts); the range takes the "
    "register's step and Cd 0.53 to 0.80, as printed leak tables imply. Real holes are ragged and grow with pressure."
)


def across(mm: float, system: System) -> str:
    """The width of a small hole: ``1.6 mm``, ``0.063 in``."""
    return f"{mm / 25.4:.3f} in" if system == "us" else f"{mm:.2f} mm" if mm < 1 else f"{mm:.1f} mm"


def hole_of(hunt: Hunt, setting: Setting) -> Hole | None:
    """How big a hole would leak what the first test showed (or a zone took too much); None when nothing leaks."""
    leak = leak_lph(hunt, setting)
    if leak is None or leak[1] <= 0:
        return None
    in_line = hunt.place in ("zone", "line") and setting.drip_kpa
    pressure = setting.drip_kpa if in_line else setting.static_kpa
    kpa = pressure or TABLES_KPA
    return Hole(*hole_range_mm(*leak, kpa), kpa, pressure is None)


def leak_lph(hunt: Hunt, setting: Setting) -> tuple[float, float] | None:
    """Least and greatest rate of the leak, litres an hour; None while no leak was seen."""
    if hunt.place == "line" and hunt.zone:
        run = hunt.latest("run", hunt.zone)
        flow = (setting.flows or {}).get(hunt.zone, (0.0, 0.0))[0]
        return (max(run.low_lph - flow, 0.0), max(run.high_lph - flow, 0.0)) if run else None
    base = hunt.base
    if base is None or base.void or base.volume_l == 0:
        return None
    return base.low_lph, base.high_lph


def conclusion(hunt: Hunt, setting: Setting, system: System) -> str:
    """Where the leak is so far, in one or two sentences."""
    base, run = hunt.base, hunt.latest("run", hunt.zone)
    zone = setting.names.get(hunt.zone or "", hunt.zone or "")
    if hunt.place == "line" and run:
        took, flow = _range(run.low_lph, run.high_lph, system), (setting.flows or {})[run.zone or ""][0]
        return f"{zone} takes {took} while it runs, and {show(flow, 'flow', system)} by the book: it leaks there."
    if base is None:
        if hunt.tests:
            return "No test with everything off yet: begin with that, for the others are held against it."
        return "Nothing is tested yet. Begin with everything off."
    if hunt.place == "nothing":
        return _nothing(base, system)
    if hunt.place == "unsure":
        return _unsure(base, hunt, setting, system)
    words = _PLACES[hunt.place] if setting.valves or hunt.place not in _NO_GARDEN else _NO_GARDEN[hunt.place]
    if hunt.place == "inside" and not hunt.sure:
        words = _BEHIND_HOUSE_VALVE
    part = f" A part of it is in {zone}." if hunt.place == "several" and zone else ""
    rate = _range(base.low_lph, base.high_lph, system)
    return f"Water moves with everything off: {rate}. {words.format(zone=zone)}{part}".strip()


_PLACES: dict[Place, str] = {
    "moving": "",
    "inside": "It stops with the house valve shut and goes on with the drip line shut: the leak is inside the house.",
    "service": "The leak is between the meter and the house: neither the house valve nor the drip line's shut-off "
    "stops it. Or one of them does not close fully.",
    "garden": "It stops with the drip line shut: the leak is at the manifold or in a valve behind it.",
    "manifold": "It stops with the drip line shut and with no zone shut: the leak is at the manifold.",
    "zone": "It stops with {zone} shut: the leak is in {zone}, whose valve lets water through.",
    "several": "A valve stops a part of it only: there is more than one leak.",
}
_NO_GARDEN: dict[Place, str] = {
    "inside": "It stops with the house valve shut: the leak is inside the house.",
    "service": "The leak is between the meter and the house: the house valve does not stop it. Or it does not close "
    "fully.",
}
_BEHIND_HOUSE_VALVE = (
    "It stops with the house valve shut: the leak is behind that valve, so inside the house, unless the drip line "
    "takes its water there. Shut the drip line alone to know."
)


def result(test: Trial, system: System) -> str:
    """What one test showed, in a sentence."""
    if test.void:
        return "The register went back: one of the two readings is wrong."
    if test.volume_l:
        moved = _range(test.low_lph, test.high_lph, system)
    else:
        moved = f"the register stood still, so under {rate_words(test.high_lph, system)}"
    told = _VERDICTS_OF_RUN if test.code == "run" else _VERDICTS
    return f"{hours_words(test.hours)}: {moved}.{told[test.verdict]}"


_VERDICTS: dict[Verdict, str] = {
    "": "",
    "void": "",
    "stopped": " It stopped.",
    "less": " It became less.",
    "same": " It went on.",
    "more": " More than before, so something else drew water: make it again.",
    "unsure": " The wait was too short to tell.",
}
_VERDICTS_OF_RUN = _VERDICTS | {
    "less": " Less than the book says.",
    "same": " As the book says.",
    "more": " More than the book says.",
}


def sees(setting: Setting, system: System) -> list[tuple[str, str]]:
    """For some waits, the slowest leak this register is sure to show: in words, an hour and a day."""
    return [(hours_words(h), _both(smallest_rate_lph(setting.step_l, h), system)) for h in WAITS_H]


def to_see(setting: Setting, system: System) -> str:
    """How long to wait to be sure to see a leak of 1 gal/h (4 L/h)."""
    rate = SEEK_LPH[system]
    hours = wait_hours(setting.step_l, rate)
    return f"To be sure to see {show(rate, 'flow', system)} this register needs {hours_words(hours)}."


def seek_words(setting: Setting, system: System) -> str:
    """What is looked for, from when on the register is sure to show it, and how long the first wait is; or nothing."""
    if not setting.seek_lph:
        return ""
    least, wait, sized = wait_hours(setting.step_l, setting.seek_lph), first_wait_h(setting), sizing_wait_h(setting)
    looked_for = f"The readings suggest a leak of about {rate_words(setting.seek_lph, system)}."
    if least > NIGHT_H:
        return (
            f"{looked_for} A night of {hours_words(wait)} may miss it: this register is sure to show it only after "
            f"{hours_words(least)}. {LONGER}"
        )
    shows = f"{looked_for} This register is sure to show it after {hours_words(least)};"
    if sized > wait:
        return f"{shows} a night of {hours_words(wait)} tells that it is there, and its size but roughly."
    return f"{shows} {hours_words(wait)} tell its size to a third or better."


def wait_words(setting: Setting, hours: float, system: System) -> str:
    """What a wait can and cannot see, and what else there is where it is longer than a night."""
    sure = _both(smallest_rate_lph(setting.step_l, hours), system)
    words = f"In that time this register is sure to show {sure} or more; a slower leak may pass unseen."
    if hours > NIGHT_H:
        return f"{words} {LONGER}"
    if hours < NIGHT_H and smallest_rate_lph(setting.step_l, hours) > SEEK_LPH[system]:
        night = rate_words(smallest_rate_lph(setting.step_l, NIGHT_H), system)
        return f"{words} A night of {hours_words(NIGHT_H)} would show {night}."
    return words


def drip_words(rate_lph: float) -> str:
    """A slow leak as drips a minute, "" where it would be no drip any more."""
    if not 0 < rate_lph <= DRIPPING_LPH:
        return ""
    drips = rate_lph / drip_lph(1.0)
    return (
        f"That is about {drips:,.0f} drips a minute, taking a drop as {DRIP_ML} mL (USGS); drops differ, so a count is "
        "good to a factor of 2.3."
    )


def hours_words(hours: float) -> str:
    """``15 min``, ``2 h``, ``1 h 15 min``, ``3 days``."""
    if hours == float("inf"):
        return "for ever"
    minutes = max(round(hours * 60), 1)
    if minutes >= 2 * DAY_H * 60:
        return f"{minutes / 60 / DAY_H:.0f} days"
    whole, rest = divmod(minutes, 60)
    return " ".join(t for t in (f"{whole} h" if whole else "", f"{rest} min" if rest else "") if t)


def rate_words(rate_lph: float, system: System) -> str:
    """A rate with two digits behind the point where it is slow."""
    return show(rate_lph, "flow", system, _places(rate_lph, system))


def title(code: Code, zone: str | None, names: Mapping[str, str]) -> str:
    """What to do in a step, with the zone's name."""
    return STEPS[code].title.format(name=names.get(zone or "", zone or ""))


def _nothing(base: Trial, system: System) -> str:
    return (
        f"In {hours_words(base.hours)} the register did not move: there is no leak above "
        f"{_both(base.high_lph, system)}. A slower one would not show in that time, and a break behind a valve shows "
        "only while its zone runs."
    )


def _unsure(base: Trial, hunt: Hunt, setting: Setting, system: System) -> str:
    if base.void:
        return "The register went back during the test: one of the two readings is wrong. Make it again."
    wait = hours_words(hunt.next.hours) if hunt.next else ""
    longer = f" {LONGER}" if hunt.next and hunt.next.hours > NIGHT_H else ""
    if base.volume_l == 0 and setting.seek_lph:
        return (
            f"In {hours_words(base.hours)} the register did not move, which says only that no leak is above "
            f"{_both(base.high_lph, system)}. The readings suggest one of about "
            f"{rate_words(setting.seek_lph, system)}, which that wait was too short to show. "
            f"Make the test again and wait {wait}.{longer}"
        )
    return (
        f"Something moved, but by one step of the register only: at most {_both(base.high_lph, system)}. Make the test "
        f"again and wait {wait}, so that the next steps have something to be held against.{longer}"
    )


def _both(rate_lph: float, system: System) -> str:
    return f"{rate_words(rate_lph, system)} ({show(rate_lph * DAY_H, 'volume', system)} a day)"


def rates(test: Trial, system: System) -> str:
    """Between which rates a test says that water moved."""
    return _range(test.low_lph, test.high_lph, system)


def _range(low: float, high: float, system: System) -> str:
    places = _places(high, system)
    return spanned(show(low, "flow", system, places), show(high, "flow", system, places))


def _places(rate_lph: float, system: System) -> int:
    return 2 if rate_lph < SEEK_LPH[system] else 1
