"""The words of a leak hunt: its steps, what to put to rest before, and what to do where the leak is.

The order is the trade's: everything off, read, wait, read; then shut one thing at a time. Each step shuts one thing
only and the others are opened again, so every step compares with the first, whichever way the pipes branch.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.book.kinds import Home
from core.care.cautions import COMMON, cautions

Code = Literal["off", "house", "manifold", "zone", "run"]
Place = Literal[
    "open",  # nothing tested yet
    "moving",  # water moves, nobody knows where
    "nothing",  # nothing this register can see in that time
    "inside",  # behind the house valve
    "service",  # between the meter and the house
    "garden",  # behind the drip line's shut-off
    "manifold",  # there, and not in a zone
    "zone",  # a zone's valve lets water through
    "line",  # behind a zone's valve, only while it runs
    "several",  # more than one
    "unsure",  # the first test has to be made again
]

TWO_HOURS = "EPA WaterSense: read, wait two hours with no use, read again"
SPLIT = "Carrollton Utilities, Smith Utility District, Rockett SUD: close the house valve and look again"
EXCLUDED = "North Marshall Water District, Queen Creek AZ"
ZONE_RATE = "Tahoe City PUD: run one zone, let the air clear, read the meter over a timed minute"


@dataclass(frozen=True, slots=True)
class HuntStep:
    """One sort of step of a hunt.

    Attributes:
        code: its name; ``title`` what to do, ``{name}`` being the zone's.
        words: how. means: what the answer means.
        source: where the practice comes from. mind: codes of :mod:`core.care.cautions`.
    """

    code: Code
    title: str
    words: str
    means: str
    source: str
    mind: tuple[str, ...] = ()

    @property
    def caution(self) -> str:
        return cautions(*self.mind)


STEPS: dict[Code, HuntStep] = {
    s.code: s
    for s in (
        HuntStep(
            "off",
            "Everything off: read, wait, read",
            "Close every tap, set the controller to off and put to rest what drinks by itself. Read the register, use "
            "no water while you wait, read it again. Many meters have a small wheel, star or triangle that turns with "
            "the slightest flow: if it turns now, water is moving now.",
            "A register that moved means a leak, or something that drinks by itself. One that stood still means only "
            "that no leak is larger than what this register shows in that time.",
            f"{TWO_HOURS}; the small wheel: many utilities",
            ("meter-box",),
        ),
        HuntStep(
            "house",
            "Shut the house valve: read, wait, read",
            "Shut the valve where the line enters the house and leave everything else as it was. Taps indoors give no "
            "water now: open one to see that the valve really closes, then close it again.",
            "It stops: the leak is behind that valve, so indoors. It goes on: it lies between the meter and the "
            "house, or in a branch to the yard.",
            SPLIT,
            ("shut-off",),
        ),
        HuntStep(
            "manifold",
            "Shut the drip line at its head: read, wait, read",
            "Open the house valve again, then shut the valve or faucet that feeds the drip line, before its filter and "
            "valves. Everything else stays off.",
            "It stops: the leak is behind that valve, at the manifold or in a zone valve that lets water through. "
            "It goes on: the garden is not where the water goes.",
            COMMON,
            ("shut-off", "valve-box", "pressure"),
        ),
        HuntStep(
            "zone",
            "Shut {name} alone: read, wait, read",
            "Open the drip line again. Shut this zone's own stop: the stem on its valve, screwed down, or a small "
            "valve behind it. Where it has none, leave this step out and look instead for emitters that stay wet.",
            "It stops: this zone's valve does not close by itself. It goes on for every zone: the manifold leaks.",
            COMMON,
            ("valve-box", "pressure", "electricity"),
        ),
        HuntStep(
            "run",
            "Run {name} alone and time the meter",
            "A break behind a valve leaks only while the zone runs. Start this zone by hand, let the air out for some "
            "minutes, then read the register, let it run and read again. Walk along the line meanwhile.",
            "More than the zone should take: a line off its fitting, a cut or a missing emitter. Less: clogged "
            "emitters, a filter, or a valve half shut.",
            ZONE_RATE,
            ("scald", "valve-box"),
        ),
    )
}

# What to do where the leak is, and what to mind there.
ADVICE: dict[Place, tuple[str, tuple[str, ...]]] = {
    "inside": (
        "Toilets first: half of the customers one utility asked named a toilet (SFPUC). Then taps that drip, the "
        "overflow of the water heater, the softener's drain, the humidifier, and taps outdoors fed through the house.",
        ("shut-off",),
    ),
    "service": (
        "Look for wet or greener ground between the meter and the house. A valve that does not close fully gives the "
        "same answer, so look at the valves before anybody digs. The pipe in the ground is work for a licensed "
        "plumber; what is on the street's side of the meter is the utility's.",
        ("digging",),
    ),
    "garden": (
        "Open the box and look at the manifold, the filter and the backflow device for drips; then shut the zones one "
        "by one, or look for a zone whose emitters stay wet with everything off.",
        ("valve-box", "pressure", "backflow"),
    ),
    "manifold": (
        "Open the box: caps, threads, the filter's seal and the valves' bonnets drip first. Dry them with a cloth and "
        "see where it comes back.",
        ("valve-box", "pressure", "electricity"),
    ),
    "zone": (
        "Grit on the valve's seat is the usual cause: shut the water, open the valve, rinse seat and diaphragm. A "
        "valve that still lets through wants a new diaphragm.",
        ("valve-box", "pressure", "electricity"),
    ),
    "line": (
        "Run the zone and walk along it: a line off its fitting, a cut tube or a missing emitter shows at once. Shut "
        "the zone before you put it back.",
        ("pressure", "scald", "digging"),
    ),
    "several": ("Mend what was found first, then begin again with everything off.", ("shut-off",)),
}

TOILET_HINT = (
    "Put a few drops of food colour into the tank and do not flush. Colour in the bowl after 15 minutes (EPA "
    "WaterSense; utilities say from 10 to 30) means the flapper or the fill valve lets water through."
)
TOILET_LEVEL = (
    "Or mark the water level in the tank, shut its supply and look again after 30 minutes (North Marshall Water "
    "District): a level that fell leaks into the bowl."
)

LONGER = (
    "That is longer than a night. If the register has a small wheel, star or triangle that turns with the slightest "
    "flow, look at that instead: with everything off, one that turns shows moving water at once. Or read before and "
    "after a time when nobody is home."
)

# What drinks by itself, as the home's record names it, and how it is put to rest.
DRINKERS: dict[str, str] = {
    "softener": "Water softener: set it to bypass, or choose hours in which it does not rinse.",
    "evaporative cooler": "Evaporative cooler: switch it off and shut its water.",
    "pool auto-fill": "Pool filler: shut its valve.",
    "fountain auto-fill": "Fountain filler: shut its valve.",
    "humidifier": "Humidifier: switch it off and shut its water.",
}
_TELLING = dict(zip(("softener", "cooler", "pool", "fountain", "humidifier"), DRINKERS, strict=True))
ALWAYS = (
    "Ice maker, washing machine and dishwasher: off.",
    "Toilets: not flushed while you wait.",
    "Controller: off, so that no start falls into the wait.",
)


def to_rest(home: Home) -> tuple[str, ...]:
    """What has to be put to rest before a test (``EXCLUDED`` names the sources), the home's own first."""
    known, others = drinkers(home.drinks)
    return (
        *(DRINKERS[d] for d in known),
        *(f"{o[:1].upper()}{o[1:]}: off, and its water shut." for o in others),
        *ALWAYS,
    )


def drinkers(written: str) -> tuple[list[str], list[str]]:
    """What draws water by itself as a home's record has it: those known here, and the others as written.

    A person writes "swamp cooler" or "water softener"; the word that tells is the one the accounts look for as well.
    """
    known, others = [], []
    for word in (w.strip() for w in written.split(",")):
        found = next((d for telling, d in _TELLING.items() if telling in word.lower()), None)
        if found and found not in known:
            known.append(found)
        elif word and not found:
            others.append(word)
    return known, others


def advice(place: Place) -> tuple[str, str]:
    """What to do where the leak is, and the cautions that go with it; ("", "") where there is nothing to do."""
    words, mind = ADVICE.get(place, ("", ()))
    return words, cautions(*mind)
