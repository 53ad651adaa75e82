"""A leak hunt as a finding tells it: where it puts the water, and what to look at first because of it."""

from __future__ import annotations

from datetime import date

from core.care.leak_hunt import STEPS, advice
from core.review.hunt import Hunt, Setting
from core.review.hunt_words import conclusion, hours_words, rates, title
from core.review.spoken import day_named
from core.units import System

_AT = {
    "inside": "inside the house, not in the zones: it stops with the house valve shut and goes on with the drip line "
    "shut.",
    "service": "between the meter and the house, not in the house and not in the zones: neither the house valve nor "
    "the drip line's shut-off stops it. Or one of them does not close fully.",
    "garden": "in the garden, not in the house: it stops with the drip line shut. Which zone is not tested yet.",
    "manifold": "at the manifold, not in the house and not in the zones: it stops with the drip line shut and with no "
    "zone shut.",
    "zone": "at {zone}, whose valve lets water through: not in the house, not in the other zones.",
    "several": "in more than one place: a valve stops a part of it only.",
}
_NO_GARDEN = {
    "inside": "inside the house: it stops with the house valve shut.",
    "service": "between the meter and the house, not in the house: the house valve does not stop it. Or it does not "
    "close fully.",
}
_BEHIND = "behind the house valve, which stops it. Whether the drip line takes its water there is not tested yet."
_CHECKS = {  # where the advice of the hunt does not say where to stand
    "inside": "Look at the toilets first: a few drops of colour in each tank tell in a quarter of an hour. Then taps "
    "that drip, the overflow of the water heater and whatever drinks by itself.",
    "zone": "Look at the valve of {zone}. {advice}",
    "line": "Run {zone} and walk along it: a line off its fitting, a cut tube or a missing emitter shows at once. "
    "Shut the zone before you put it back.",
}
_READ_ON = "Read the meter again over some days: the hunt saw nothing leak, and every zone took what it should."


def said_of(hunt: Hunt, setting: Setting, day: date, system: System) -> str:
    """What the hunt of a day concluded, in sentences: "The hunt of 5 October 2026 puts it inside the house ..."."""
    of = f"The hunt of {day_named(day, year=True)}"
    base = hunt.base
    if hunt.place in ("nothing", "unsure", "line", "moving") or base is None:
        words = conclusion(hunt, setting, system)
        if hunt.place == "moving":
            words += " Where is not tested yet."
        return f"{of}: {words[:1].lower() if words.startswith(_PLAIN) else words[:1]}{words[1:]}"
    words = _AT[hunt.place] if setting.valves else _NO_GARDEN.get(hunt.place, _AT[hunt.place])
    if hunt.place == "inside" and not hunt.sure:
        words = _BEHIND
    part = f" A part of it is at {_zone(hunt, setting)}." if hunt.place == "several" and hunt.zone else ""
    moved = f" With everything off {rates(base, system)} moved."
    return f"{of} puts it {words.format(zone=_zone(hunt, setting))}{part}{moved}"


_PLAIN = ("In ", "Water ", "The ", "Something ")  # beginnings that are no name


def check_words(hunt: Hunt, setting: Setting, *, too_old: bool) -> tuple[str, str]:
    """What to look at first as the hunt stands, and the cautions of that; ("", "") where it leaves that open."""
    if hunt.place == "nothing" and hunt.sure:
        return _READ_ON, ""
    if not hunt.sure and hunt.next is not None:
        step = title(hunt.next.code, hunt.next.zone, setting.names).partition(":")[0]
        caution = STEPS[hunt.next.code].caution
        if too_old:
            return "Hunt again with everything off: the hunt there was stopped halfway and is too old to go on with.", (
                STEPS["off"].caution
            )
        if hunt.next.code == "off":
            wait = hours_words(hunt.next.hours)
            return f"Make the hunt's first test again: everything off, and wait {wait}.", caution
        return f"Go on with the leak hunt: {step[:1].lower()}{step[1:]}.", caution
    words, caution = advice(hunt.place)
    zone = _zone(hunt, setting)
    return _CHECKS.get(hunt.place, "{advice}").format(zone=zone, advice=words), caution


def _zone(hunt: Hunt, setting: Setting) -> str:
    return setting.names.get(hunt.zone or "", hunt.zone or "")
