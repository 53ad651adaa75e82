"""The colours of the notebook: every part of the water keeps its own on every page, on light and on dark ground.

No meaning rests on colour alone: unexplained use also carries stripes and an outline, the need a line of its own.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours on one ground.

    Attributes:
        ground, ink, faint: paper, writing, and lines that may stay in the background.
        indoor, other, rain, rain_edge, need, unexplained: fills of the parts.
        family: the stops of the zones' one family, as red, green, blue.
    """

    ground: str
    ink: str
    faint: str
    indoor: str
    other: str
    rain: str
    rain_edge: str
    need: str
    unexplained: str
    family: tuple[tuple[int, int, int], ...]

    def zones(self, codes: list[str]) -> dict[str, str]:
        """Each zone's shade, spread evenly over the family in the order of the codes."""
        last, legs = max(len(codes) - 1, 1), len(self.family) - 1
        shades = {}
        for place, code in enumerate(codes):
            leg = min(place * legs // last, legs - 1)
            along = place * legs / last - leg
            ends = zip(self.family[leg], self.family[leg + 1], strict=True)
            shades[code] = "#" + "".join(f"{round(a + (b - a) * along):02x}" for a, b in ends)
        return shades

    def part(self, part: str, zones: dict[str, str]) -> str:
        """Colour of a part named as in a review: indoor, zone:<code>, other, unexplained."""
        if part.startswith("zone:"):
            return zones.get(part.removeprefix("zone:"), self.faint)
        return {"indoor": self.indoor, "other": self.other, "unexplained": self.unexplained}[part]


LIGHT = Palette(
    ground="#f7f6ef",
    ink="#1f2a2c",
    faint="#8b9290",
    indoor="#85898a",
    other="#a87b1e",
    rain="#b5d3ea",
    rain_edge="#3f76a3",
    need="#2f7a35",
    unexplained="#cf4520",
    family=((30, 40, 100), (24, 104, 134), (62, 150, 138)),
)
DARK = Palette(
    ground="#15191a",
    ink="#e6e7df",
    faint="#7b8582",
    indoor="#9aa09f",
    other="#d9a945",
    rain="#b5d3ea",
    rain_edge="#7fb2dc",
    need="#6cc373",
    unexplained="#ff7a50",
    family=((112, 128, 214), (84, 170, 200), (168, 226, 208)),
)


def palette(theme: str | None) -> Palette:
    """The palette for the reader's ground, ``"dark"`` or anything else for light."""
    return DARK if theme == "dark" else LIGHT
