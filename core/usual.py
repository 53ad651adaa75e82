"""What is usual where a clock hangs: the units and the currency sign a new book begins with until a person says so.

From memory of where each time zone lies and what is paid there; a guess that is shown and can be changed at once. Zones
that are not named begin metric and without a sign.
"""

from __future__ import annotations

from core.units import System

# Zones of the IANA database that are of the United States alone, older names of them too. A slash at the end stands for
# all that begin so.
_US = (
    "US/", "America/Indiana/", "America/Kentucky/", "America/North_Dakota/", "America/Adak", "America/Anchorage",
    "America/Atka", "America/Boise", "America/Chicago", "America/Denver", "America/Detroit", "America/Fort_Wayne",
    "America/Indianapolis", "America/Juneau", "America/Knox_IN", "America/Los_Angeles", "America/Louisville",
    "America/Menominee", "America/Metlakatla", "America/New_York", "America/Nome", "America/Phoenix",
    "America/Shiprock", "America/Sitka", "America/Yakutat", "Pacific/Honolulu", "Navajo",
)  # fmt: skip

_SIGNS: dict[str, tuple[str, ...]] = {
    "€": (
        "Africa/Ceuta", "Asia/Famagusta", "Asia/Nicosia", "Atlantic/Azores", "Atlantic/Canary", "Atlantic/Madeira",
        "Europe/Amsterdam", "Europe/Andorra", "Europe/Athens", "Europe/Berlin", "Europe/Bratislava",
        "Europe/Brussels", "Europe/Busingen", "Europe/Dublin", "Europe/Helsinki", "Europe/Lisbon",
        "Europe/Ljubljana", "Europe/Luxembourg", "Europe/Madrid", "Europe/Malta", "Europe/Mariehamn",
        "Europe/Monaco", "Europe/Nicosia", "Europe/Paris", "Europe/Podgorica", "Europe/Riga", "Europe/Rome",
        "Europe/San_Marino", "Europe/Sofia", "Europe/Tallinn", "Europe/Vatican", "Europe/Vienna", "Europe/Vilnius",
        "Europe/Zagreb", "Indian/Reunion", "Portugal",
    ),
    "£": (
        "Europe/Belfast", "Europe/Guernsey", "Europe/Gibraltar", "Europe/Isle_of_Man", "Europe/Jersey",
        "Europe/London", "GB",
    ),
    "$": (
        *_US, "America/Puerto_Rico", "Australia/", "Canada/", "America/Edmonton", "America/Glace_Bay",
        "America/Goose_Bay", "America/Halifax", "America/Iqaluit", "America/Moncton", "America/Montreal",
        "America/Regina", "America/St_Johns", "America/Toronto", "America/Vancouver", "America/Whitehorse",
        "America/Winnipeg", "America/Yellowknife", "Pacific/Auckland", "Pacific/Chatham", "America/Santiago",
        "America/Mexico_City", "America/Monterrey", "America/Tijuana",
    ),
    "CHF": ("Europe/Zurich", "Europe/Vaduz"),
    "kr": ("Europe/Copenhagen", "Europe/Oslo", "Europe/Stockholm", "Atlantic/Reykjavik"),
    "zł": ("Europe/Warsaw",),
    "Kč": ("Europe/Prague",),
    "Ft": ("Europe/Budapest",),
    "R": ("Africa/Johannesburg",),
    "R$": ("America/Sao_Paulo",),
    "¥": ("Asia/Tokyo",),
    "₪": ("Asia/Jerusalem", "Asia/Tel_Aviv"),
    "₹": ("Asia/Kolkata", "Asia/Calcutta"),
}  # fmt: skip


def in_us(timezone: str) -> bool:
    """Whether a home's time zone is one of the United States alone; False where it could be elsewhere."""
    return _among(timezone, _US)


def usual_units(timezone: str) -> System:
    """Gallons in the United States, litres everywhere else."""
    return "us" if in_us(timezone) else "metric"


def usual_currency(timezone: str) -> str:
    """The sign of the money paid there, "" where none is known."""
    return next((sign for sign, zones in _SIGNS.items() if _among(timezone, zones)), "")


def _among(timezone: str, zones: tuple[str, ...]) -> bool:
    return any(timezone == zone or (zone.endswith("/") and timezone.startswith(zone)) for zone in zones)
