"""What a finding says to the person at home: evidence with its numbers, what to check first, what can hurt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import cast
from zoneinfo import ZoneInfo

import numpy as np

from core.accounts.findings import OR_ELSE, Finding, FindingKind, Rival, Strength
from core.accounts.leaktest import TESTED_DOWN_TO_LPH
from core.accounts.ledger import Ledger, local_day
from core.accounts.suspects.case import Case, Suspect
from core.accounts.suspects.household import looks_like
from core.figures import Figure, Line
from core.units import System, show

STRONG, FAIR = 6.0, 4.0

_DIG = "Before digging have buried lines marked as local rules ask; in the US call 811."
_BOX = "Shut the water to the zone before you open a valve box, and mind what lives in it."
_POWER = "Switch the controller off and unplug it before you touch its wires."
_EYES = "Stand clear and keep eyes away when you open a line under pressure."
_PRO = "If the pipe, the backflow device or the house line is at fault, leave it to a licensed person."

CHECK: dict[str, tuple[str, str]] = {
    "steady": (
        "With everything off, look whether the meter's small dial still turns; then shut the house valve and look "
        "again. Toilets first: a few drops of colour in the tank tell in a quarter of an hour.",
        f"{_PRO} {_DIG}",
    ),
    "stuck_open": (
        "Look whether the zone is wet or its valve hums with the controller off. Grit in the valve is the usual cause.",
        f"{_BOX} {_POWER} {_EYES}",
    ),
    "more_than_set": (
        "Run the zone and walk along it: a line off its fitting, a missing emitter or a cut tube shows at once. If "
        "none does, compare the controller's minutes and days with what is written in the book.",
        f"{_EYES} {_DIG}",
    ),
    "less_than_set": (
        "Run the zone and look for emitters that stay dry; then the filter, and any valve half shut. If all are well, "
        "compare the controller's minutes and days with what is written in the book.",
        f"{_BOX} {_EYES}",
    ),
    "not_delivered": (
        "Look whether the controller is alive, its battery fresh and its faucet open; then start the zone by hand.",
        f"{_POWER} {_BOX}",
    ),
    "another_schedule": (
        "Compare the controller's clock, days and minutes with what is written in the book.",
        _POWER,
    ),
    "one_off": ("Did you fill something, wash down or leave a hose running? Then write it down as other use.", ""),
    "misread": ("Look at that reading again: a digit too high or too low, or two digits swapped.", ""),
    "two_meters": ("Look which register each reading was taken from; two meters seem to be mixed.", ""),
    "after_shutdown": (
        "Look whether the controller is really off and the drip line's shut-off really shut, then for water at the "
        "line, before frost comes.",
        f"{_BOX} {_POWER} {_PRO}",
    ),
}

AT_HOME = {
    "busier": "More people in the house would look much the same. If there were guests, write them down.",
    "away": "An empty house would look much the same. If nobody was at home, write it down.",
}

CHANGED = "If they were changed there, write it down as a change of each program from that day on."
TOO_MUCH = "If they are as written, the pressure may be too high: look at the pressure regulator."
TOO_LITTLE = "If they are as written, look at the filter, and whether a shut-off is half shut."
STILL_TURNS = "If the meter does show it, look whether its dial still turns with everything off: a pipe may be broken."

KIND_WORDS = {
    "steady": "water that runs all the time",
    "stuck_open": "a valve that did not close",
    "more_than_set": "a line off or broken",
    "less_than_set": "clogged emitters or a valve half shut",
    "not_delivered": "runs that brought no water",
    "another_schedule": "runs at other times or lengths than written down",
    "one_off": "one large use nobody wrote down",
    "misread": "a reading taken or typed wrongly",
    "two_meters": "two meters mixed",
    "after_shutdown": "water at the drip line after shutdown",
}


def say(value_l: float, system: System, quantity: str = "volume") -> str:
    """A metric value in the reader's units."""
    return show(value_l, quantity, system)


def say_day(at: float, zone: ZoneInfo) -> str:
    """The local day of an instant, such as 14 July 2026."""
    day = local_day(at, zone)
    return f"{day.day} {day:%B %Y}"


def strength_of(sds: float) -> Strength:
    """Strength in words of evidence in standard deviations."""
    return "strong" if sds >= STRONG else "fair" if sds >= FAIR else "weak"


def as_finding(suspect: Suspect, case: Case, system: System, names: Mapping[str, str]) -> Finding:
    """A suspect that is told, as a finding, in words; its sentences call zones by their names."""
    ledger, kind = case.ledger, cast("FindingKind", suspect.kind)
    check, caution = CHECK[suspect.kind]
    return Finding(
        kind=kind,
        meter=ledger.meter,
        zone=_zone(suspect),
        group=suspect.zones,
        since=ledger.when(suspect.since),
        until=None if suspect.until is None else ledger.when(suspect.until),
        rate_lph=None if suspect.kind in ("misread", "two_meters") else suspect.rate,
        volume=_volume(suspect, case),
        share=_share_of(suspect),
        strength=strength_of(suspect.sds),
        score=suspect.sds,
        evidence=tuple(EVIDENCE[suspect.kind](_called(suspect, names), ledger, system)) + _surer(suspect),
        check_first=" ".join((check, *_home(suspect, case))),
        caution=caution,
        rivals=tuple(as_rival(r, system, names) for r in suspect.rivals),
    )


def as_rival(suspect: Suspect, system: System, names: Mapping[str, str]) -> Rival:
    """A suspect that could not be excluded."""
    kind = cast("FindingKind", suspect.kind)
    words = _rival(_called(suspect, names), system)
    return Rival(kind, _zone(suspect), suspect.zones, words, share=_share_of(suspect))


def _share_of(suspect: Suspect) -> float | None:
    return float(suspect.detail["share"]) if "share" in suspect.detail else None


def _zone(suspect: Suspect) -> str | None:
    """The likeliest of its zones; None where all of them are meant, not one of them."""
    meant = suspect.kind == "not_delivered" or bool(suspect.detail.get("all"))
    return suspect.zones[0] if len(suspect.zones) == 1 or (suspect.zones and not meant) else None


def _called(suspect: Suspect, names: Mapping[str, str]) -> Suspect:
    return replace(suspect, zones=tuple(names.get(z, z) for z in suspect.zones))


def _volume(suspect: Suspect, case: Case) -> Figure:
    value = float(suspect.detail.get("moved", suspect.total))
    sd = float(np.sqrt((case.reference.sigma[suspect.rows] ** 2).sum()))
    lines = (
        Line("readings it touches", len(suspect.rows), "", "your meter"),
        Line(
            "expected in them",
            float(case.reference.indoor[suspect.rows].sum() + case.reference.zones[suspect.rows].sum()),
            "l",
            "baseline and runs",
        ),
        Line("metered in them", float(np.nansum(case.ledger.volume[suspect.rows])), "l", "your meter"),
        Line("put down to this", value, "l", "the rate that fits the readings best"),
    )
    note = (
        "At least: meters under-read very low flows."
        if 0 < suspect.rate < TESTED_DOWN_TO_LPH and suspect.kind == "steady"
        else ""
    )
    return Figure(value, "volume", value - 1.645 * sd, value + 1.645 * sd, lines, note)


def _surer(suspect: Suspect) -> tuple[str, ...]:
    if "note" in suspect.detail:
        return ()
    return (f"Chance alone would have to be off by {suspect.sds:.1f} standard deviations to look like this.",)


def _home(suspect: Suspect, case: Case) -> tuple[str, ...]:
    """What only the person at home can know."""
    if suspect.kind == "another_schedule" and "share" in suspect.detail:
        return (CHANGED, TOO_MUCH if suspect.total > 0 else TOO_LITTLE)
    if "newest" in suspect.detail:
        return (STILL_TURNS,)
    if any("newest" in r.detail for r in suspect.rivals):
        return ("Read the meter once more as well: a digit of the newest reading may be wrong.",)
    who = looks_like(suspect, case)
    return (AT_HOME[who],) if who else ()


def _rival(rival: Suspect, system: System) -> str:
    named = _zones(rival) if _zone(rival) else _all_zones(rival) if rival.zones else ""
    where = f" at {named}" if named else ""
    return f"{OR_ELSE}{KIND_WORDS[rival.kind]}{where}, {say(abs(rival.total), system)}."


def _span(s: Suspect, ledger: Ledger) -> str:
    since = say_day(s.since, ledger.zone)
    if s.until is None:
        return f"since {since}"
    until = say_day(s.until, ledger.zone)
    return f"on {since}" if until == since else f"from {since} to {until}"


def _zones(s: Suspect) -> str:
    return " or ".join(s.zones) if s.zones else "a zone"


def _all_zones(s: Suspect) -> str:
    return s.zones[0] if len(s.zones) == 1 else f"{', '.join(s.zones[:-1])} and {s.zones[-1]}"


def _steady(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    if "nights" in s.detail:
        rest = f"{float(s.detail['rest']):.0f} hour" + ("" if s.detail["rest"] == 1 else "s")
        return [
            f"In {float(s.detail['nights']):.0f} nights the meter never stood still for {rest}, as far back as the "
            f"readings go. About {say(s.rate, system, 'flow')} runs by itself: {say(s.rate * 24, system)} a day, "
            f"{say(s.total, system)} in all. Whether it began before them the readings cannot tell."
        ]
    return [
        f"About {say(s.rate, system, 'flow')} more than the house and the runs explain moved through the meter "
        f"{_span(s, ledger)}, {say(s.rate * 24, system)} a day, {say(s.total, system)} in all."
    ]


def _stuck(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    flow = float(s.detail["flow"])
    return [
        f"After the run of {_zones(s)} on {say_day(s.since, ledger.zone)} some {say(s.rate, system, 'flow')} went on "
        f"for about {float(s.detail['hours']):.0f} h, {say(s.total, system)} in all; the zone itself takes "
        f"{say(flow, system, 'flow')}."
    ]


def _share(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    share = float(s.detail["share"])
    word = "more" if share > 0 else "less"
    return [
        f"The runs of {_zones(s)} brought {abs(share):.0%} {word} than they should {_span(s, ledger)}: "
        f"{say(abs(s.total), system)} {word} over {float(s.detail['runs']):.0f} readings with a run."
    ]


def _not(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    zones = _all_zones(s)
    return [
        f"The meter shows no water for the runs of {zones} {_span(s, ledger)}: {say(-s.total, system)} were expected "
        "and did not pass."
    ]


def _schedule(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    if "share" in s.detail:
        share = float(s.detail["share"])
        word, much = ("longer", "more") if share > 0 else ("shorter", "less")
        return [
            f"The runs of {_all_zones(s)} seem to have been {abs(share):.0%} {word} than written {_span(s, ledger)}: "
            f"{say(abs(s.total), system)} {much} came, as when minutes were changed at the controller."
        ]
    shift = float(s.detail["shift"])
    by = f"{abs(shift) / 24:.0f} days" if abs(shift) >= 23 else f"{abs(shift):.1f} h"
    return [
        f"The runs of {_all_zones(s)} came about {by} {'later' if shift > 0 else 'earlier'} than written "
        f"{_span(s, ledger)}: {say(float(s.detail['moved']), system)} passed at those times instead."
    ]


def _one_off(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    return [f"{say(s.total, system)} more than expected {_span(s, ledger)}, and nothing written down explains it."]


def _misread(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    if "note" in s.detail:
        first, last = (say_day(float(edge[s.rows[0]]), ledger.zone) for edge in (ledger.start, ledger.end))
        return [f"Between {first} and {last} {s.detail['note']}."]
    off = float(s.detail["off"])
    word = "high" if off > 0 else "low"
    if "newest" in s.detail:
        return [
            f"By the reading of {say_day(s.until or s.since, ledger.zone)}, the newest, {say(off, system)} more passed "
            "than the house and its zones use in that time. The next one will say."
        ]
    return [
        f"The reading of {say_day(s.since, ledger.zone)} looks about {say(abs(off), system)} too {word}: the next one "
        "takes it back."
    ]


def _two(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    said = [f"Readings {_span(s, ledger)} jump to another register and back, as if two meters were mixed."]
    for which in dict.fromkeys((int(s.rows[0]), int(s.rows[-1]))):
        first, last = (say_day(float(edge[which]), ledger.zone) for edge in (ledger.start, ledger.end))
        said.append(f"Between {first} and {last} {ledger.notes[which]}.")
    if s.until is None:
        said.append("The last reading is of the other register still, so what passed since then is not known.")
    return said


def _winter(s: Suspect, ledger: Ledger, system: System) -> list[str]:
    if "runs" in s.detail:
        zones = _all_zones(s) if s.detail["all"] else _zones(s)
        return [
            f"The programs of {zones} seem to run on though the system was shut down: {say(s.total, system)} passed "
            f"{_span(s, ledger)} in {s.detail['runs']:.0f} readings in which they would have run."
        ]
    return [f"{say(s.total, system)} passed {_span(s, ledger)}, though the system was shut down."]


EVIDENCE: dict[str, Callable[[Suspect, Ledger, System], list[str]]] = {
    "steady": _steady,
    "stuck_open": _stuck,
    "more_than_set": _share,
    "less_than_set": _share,
    "not_delivered": _not,
    "another_schedule": _schedule,
    "one_off": _one_off,
    "misread": _misread,
    "two_meters": _two,
    "after_shutdown": _winter,
}
