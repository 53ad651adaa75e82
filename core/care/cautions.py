"""The usual cautions of the work, each deferring to local code, the maker's instructions and licensed practice.

Rillbook reads and advises; it controls nothing and is no alarm. Every caution says where it comes from:
a published source by name, "common practice, no source", or "from memory" for trade guidance that was not
looked up again. This file rests on the ground alone, so any room may use it.

The words as they stand here, in people's books and in findings name what holds in the US and both units; for_home
says them for one home. It reads right outside the US, and where nobody can say where the home is.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.usual import in_us

COMMON = "common practice, no source"
MEMORY = "from memory, not looked up again"


@dataclass(frozen=True, slots=True)
class Caution:
    """One usual caution.

    Attributes:
        code: short name by which steps, tasks and findings ask for it.
        title: what it is about, in a few words.
        words: what can go wrong and how people usually avoid it.
        defers_to: whose word goes before Rillbook's.
        sources: where the words come from.
    """

    code: str
    title: str
    words: str
    defers_to: str
    sources: tuple[str, ...]

    @property
    def text(self) -> str:
        """The caution as it is shown: words, then whose word goes first."""
        return f"{self.words} {self.defers_to}"


CAUTIONS: dict[str, Caution] = {
    c.code: c
    for c in (
        Caution(
            "backflow",
            "Backflow",
            "Drip lines touch soil and fertilizer, so something must keep that water out of the drinking water. Never "
            "run the system with the backflow device taken off or bypassed.",
            "Local code decides which type, how high it sits and who tests it; the test is licensed work.",
            ("Colorado State University Extension", "Utah State University Extension"),
        ),
        Caution(
            "pressure",
            "Pressure",
            "Water under pressure throws fittings and caps. Shut the supply and let the pressure off before opening "
            "anything; open the supply slowly, because a sudden stop or start hammers the pipes.",
            "Keep to the pressures the maker gives for each part.",
            (COMMON,),
        ),
        Caution(
            "air",
            "Compressed air",
            "Compressed air breaks pipe and throws parts into eyes. Extension services advise leaving it to a "
            "professional. Those who do it wear eye protection (ANSI Z87.1), use much air at low pressure, never over "
            "50 psi (345 kPa) in flexible pipe and better under 30 psi (207 kPa) in drip, one zone at a time with the "
            "ends open, in short bursts, and never through a backflow device, pump, filter or regulator. Stand clear "
            "of valves and heads.",
            "The maker's limits and a licensed irrigation contractor go before this.",
            ("Colorado State University Extension (use a professional)", "municipal and garden pages (limits)", MEMORY),
        ),
        Caution(
            "shut-off",
            "Shut-off valves",
            "Old shut-off valves stick, break or never close fully. Turn by hand, never with a long lever, and open "
            "slowly: the rush of air and water hammers the pipes. With the water shut draw no hot water, and switch "
            "off what must not run dry.",
            "The valve at the street is the utility's; a valve that will not turn is work for a licensed plumber.",
            (COMMON,),
        ),
        Caution(
            "meter-box",
            "The meter box",
            "Lids are heavy and boxes hold insects, spiders and snakes: lift the lid with a tool, look before you "
            "reach in, mind traffic, and close it again so that nobody steps in.",
            "The meter is the utility's: read it, and leave the rest alone.",
            (COMMON,),
        ),
        Caution(
            "valve-box",
            "Valve boxes",
            "Look before you reach in: insects, spiders and snakes like valve boxes. Shut the water before anything "
            "is opened.",
            "Follow the maker's instructions for the valve.",
            (COMMON,),
        ),
        Caution(
            "digging",
            "Digging",
            "Gas, power and telephone lines lie shallow. Ask the utility-locate service some days before you dig "
            "(811 in the US) and dig by hand near the marks.",
            "The locate service and local rules decide where and how.",
            (MEMORY,),
        ),
        Caution(
            "electricity",
            "Electricity",
            "Valves usually run on 24 V AC from a plug-in transformer, or on a battery in the controller: unplug it or "
            "take out its battery before touching the wires, and use outdoor outlets only behind a ground-fault "
            "breaker (GFCI in the US, RCD elsewhere). Mains wiring is not for wet hands or amateurs.",
            "Electrical code and a licensed electrician decide.",
            (MEMORY,),
        ),
        Caution(
            "freezing",
            "Freezing",
            "Water left in valves, filters and backflow devices splits them when it freezes; the break shows, and "
            "floods, when the water comes back. The ground can freeze while the air reads 33 to 36 °F (1 to 2 °C).",
            "Watch the forecast of your weather service; Rillbook is no freeze alarm.",
            ("National Weather Service frost terms", "Colorado State University Extension"),
        ),
        Caution(
            "scald",
            "Hot water in the line",
            "Water in a black line in the sun can be hot enough to scald. Let it run off away from skin and plants.",
            "Mind children and animals.",
            (COMMON,),
        ),
        Caution(
            "ladder",
            "Ladders",
            "Set the ladder on firm level ground, keep three points of contact and do not reach sideways; wet ground "
            "and hoses make it slip.",
            "Follow the ladder's own label, and leave what is out of reach to someone equipped for it.",
            (COMMON,),
        ),
    )
}


def cautions(*codes: str) -> str:
    """The texts of several cautions as one paragraph, or "" for none.

    Raises:
        KeyError: a code that is not in CAUTIONS, which is a mistake in the program.
    """
    return " ".join(CAUTIONS[code].text for code in codes)


_EVERYWHERE = (
    (
        "Switch the controller off and unplug it before you touch its wires.",
        "Switch the controller off and unplug it, or take out its battery, before you touch its wires.",
    ),
    (
        "from a plug-in transformer: unplug it before touching the wires, and use outdoor outlets only on a GFCI.",
        "from a plug-in transformer, or on a battery in the controller: unplug it or take out its battery before "
        "touching the wires, and use outdoor outlets only behind a ground-fault breaker (GFCI in the US, RCD "
        "elsewhere).",
    ),  # as books of an older program have it
)
_IN_US = (
    ("; in the US call 811.", "; call 811."),
    (" (811 in the US)", " (811)"),
    (" (GFCI in the US, RCD elsewhere)", " (GFCI)"),
)
_ELSEWHERE = (
    ("; in the US call 811.", "."),
    ("Ask the utility-locate service some days before you dig (811 in the US)",
     "Ask the service that marks buried lines some days before you dig"),
    ("The locate service and local rules", "That service and local rules"),
    (" (GFCI in the US, RCD elsewhere)", " (RCD or GFCI)"),
    (" (ANSI Z87.1)", ""),
)  # fmt: skip
_US_UNITS = (("50 psi (345 kPa)", "50 psi"), ("30 psi (207 kPa)", "30 psi"), ("33 to 36 °F (1 to 2 °C)", "33 to 36 °F"))
_METRIC = (  # limits are rounded to the safe side
    ("50 psi (345 kPa)", "340 kPa (3.4 bar)"),
    ("30 psi (207 kPa)", "200 kPa (2 bar)"),
    ("33 to 36 °F (1 to 2 °C)", "1 to 2 °C"),
)


def for_home(text: str, timezone: str, system: str) -> str:
    """A caution for one home: whom to ask there, what its controller may run on, and figures in its units only.

    Args:
        text: of :data:`CAUTIONS`, of a finding, or as somebody's book has it; words that are none of ours stay.
        timezone: the home's IANA zone. system: "us" or "metric", as chosen by the reader.
    """
    local, units = (_IN_US if in_us(timezone) else _ELSEWHERE), (_US_UNITS if system == "us" else _METRIC)
    for ours, fitting in (*_EVERYWHERE, *local, *units):
        text = text.replace(ours, fitting)
    return text
