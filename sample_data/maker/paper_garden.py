"""What the household wrote down once: the home, its water, zones, plants, emitters, programs, prices."""

from __future__ import annotations

from datetime import date
from typing import Any

from maker import story
from maker.clock import ZONE_NAME
from maker.life import Life
from maker.tables import Row
from maker.weather import HIGH_F, LOW_F, RAIN_IN

D = date
PRICES = (  # since, until, base, price steps, sewer
    (D(2024, 7, 5), D(2026, 1, 5), 21.40, ((4.0, 3.15), (None, 5.60)), 30.10),
    (D(2026, 1, 5), None, 22.65, ((4.0, 3.40), (None, 6.25)), 31.50),
)


def _rows(columns: str, *rows: tuple[Any, ...], **same: Any) -> list[Row]:
    return [dict(zip(columns.split(), row, strict=True)) | same for row in rows]


def sheets(life: Life) -> dict[str, list[Row]]:
    """The sheets of what stands still or changes by the season."""
    made: dict[str, list[Row]] = {
        "home": [
            {
                "code": "home", "name": "Basalt Street", "place": "A small town on the Snake River plain, Idaho",
                "latitude": 42.94, "longitude": -114.41, "elevation_ft": "3960", "timezone": ZONE_NAME, "display": "us",
                "people": 2, "currency": "$", "shutdown_due": "10-20", "startup_due": "04-15",
            }
        ],
        "supply": _rows(
            "code name source metered static_pressure_psi drip_pressure_psi capacity_gph backflow filter",
            ("town", "Town water", "main", True, "63", "25", "325", "Vacuum breaker at the garden faucet",
             "150 mesh, before the regulator"),
            ("barrel", "Rain barrel by the shed", "barrel", False, None, None, None, "", ""),
        ),
        "meter": _rows(
            "code name supply unit digits resolution", ("street", "Meter at the street", "town", "gal", 7, "1")
        ),
        "controller": _rows(
            "code name power follows_dst max_starts day_choice max_minutes",
            ("timer", "Timer by the garden faucet", "battery", False, 4, "weekdays, odd-even, every-n", 240),
        ),
        "clock_check": [
            {"controller": "timer", "at": f"{at:%Y-%m-%d %H:%M}", "offset_minutes": fast, "put_right": right}
            for at, fast, right in story.CLOCK_LOOKS
        ],
        "zone": _rows(
            "code name controller note",
            ("porch", "Porch pots", "timer", "Flower pots in the open, herb pots under the roof"),
            ("kitchen", "Kitchen beds", "timer", "Three raised beds, 4 by 12 feet"),
            ("fence", "West fence", "timer", "Young screen along the fence"),
            ("berries", "Berry rows", "timer", "Raspberries and strawberries on one valve"),
            ("gravel", "Gravel border", "timer", ""),
            supply="town", hand=False, since=D(2024, 5, 1),
        )
        + _rows(
            "code name flow_gph note",
            ("hose", "Hose at the back door", "320", "Grass patch, car, pool"),
            supply="town", hand=True, since=D(2024, 5, 1),
        ),
        "planting": _plantings(),
        "factor_month": [
            {
                "zone": "berries", "planting": "strawberries", "month": 8, "factor": "0.5",
                "reason": "Mown down after the last picking",
            }
        ],
        "emitter_group": _emitters(),
        "program": [
            {
                "zone": s.zone, "label": s.label, "since": s.since, "until": s.until, "days": s.days,
                "starts": s.starts, "minutes": s.minutes, "percent": s.percent,
            }
            for s in story.SETTINGS
        ],
        "pause": _pauses(life),
        "normal": [
            {"month": m + 1, "tmin_f": LOW_F[m], "tmax_f": HIGH_F[m], "rain_in": f"{RAIN_IN[m]:.2f}"} for m in range(12)
        ],
        "tariff": [
            {
                "supply": "town", "since": since, "until": until, "period_months": "1", "first_day": 5, "unit": "kgal",
                "base": base, "included": 0,
                "prices": _prices(steps),
                "sewer_base": sewer, "sewer_price": 0, "sewer_follows": "none", "rounding": "none",
            }
            for since, until, base, steps, sewer in PRICES
        ],
    }  # fmt: skip
    return made


def _prices(steps: tuple[tuple[float | None, float], ...]) -> str:
    return " / ".join(f"{'rest' if top is None else f'to {top:g}'}: {price:.2f}" for top, price in steps)


def _plantings() -> list[Row]:
    columns = "zone code since until name plant_type count canopy_ft bed_ft2 soil"
    old = D(2024, 5, 1)
    rows = _rows(
        columns,
        (
            "porch",
            "annuals",
            D(2025, 5, 17),
            D(2025, 10, 12),
            "Petunias and marigolds",
            "annual-flowers",
            10,
            "2.0",
            None,
            "potting-mix",
        ),
        (
            "porch",
            "annuals",
            D(2026, 5, 16),
            D(2026, 10, 18),
            "Petunias and marigolds",
            "annual-flowers",
            10,
            "2.0",
            None,
            "potting-mix",
        ),
        in_pots=True,
        pot_gal="7",
        pot_width_in="18",
    )
    rows += _rows(
        columns,
        (
            "porch",
            "kitchen-herbs",
            D(2025, 5, 17),
            D(2025, 10, 12),
            "Kitchen herbs",
            "herbs",
            5,
            "1.2",
            None,
            "potting-mix",
        ),
        (
            "porch",
            "kitchen-herbs",
            D(2026, 4, 25),
            D(2026, 10, 18),
            "Kitchen herbs",
            "herbs",
            5,
            "1.2",
            None,
            "potting-mix",
        ),
        in_pots=True,
        pot_gal="2.5",
        pot_width_in="12",
        under_roof=True,
    )
    beds = (  # greens, tomatoes, squash sown; squash, all cleared
        (D(2025, 4, 13), D(2025, 5, 24), D(2025, 5, 31), D(2025, 9, 28), D(2025, 10, 5)),
        (D(2026, 4, 12), D(2026, 5, 23), D(2026, 5, 30), D(2026, 9, 27), D(2026, 10, 11)),
    )
    for greens, tomatoes, squash, squash_end, end in beds:
        rows += _rows(
            columns + " planted_on",
            (
                "kitchen",
                "greens",
                greens,
                end,
                "Salad and roots, sown in turns",
                "vegetables",
                1,
                None,
                "44",
                "loam",
                greens,
            ),
            ("kitchen", "tomatoes", tomatoes, end, "Tomatoes", "tomato", 8, None, "56", "loam", tomatoes),
            ("kitchen", "squash", squash, squash_end, "Summer squash", "zucchini", 4, None, "44", "loam", squash),
            mulched=True,
        )
    rows += _rows(
        columns,
        ("fence", "screen", old, D(2026, 4, 1), "Privet screen", "shrub", 30, "2.0", None, "silt-loam"),
        ("fence", "screen", D(2026, 4, 1), None, "Privet screen", "shrub", 30, "2.6", None, "silt-loam"),
        root_depth_in="18",
        planted_on=D(2024, 5, 4),
        mulched=True,
    )
    rows += _rows(
        columns + " mulched",
        ("berries", "raspberries", old, None, "Raspberries", "bush-berries", 24, None, "72", "loam", True),
        ("berries", "strawberries", old, None, "Strawberries", "strawberry", 40, None, "30", "loam", False),
    )
    rows += _rows(
        columns + " species_factor density_factor microclimate_factor",
        (
            "gravel",
            "natives",
            old,
            None,
            "Sage, yarrow, penstemon",
            "perennial",
            18,
            "1.8",
            None,
            "sandy-loam",
            0.3,
            0.9,
            1.2,
        ),
    )
    rows += _rows(
        columns + " factor factor_reason",
        (
            "gravel",
            "pine",
            old,
            None,
            "Mountain pine",
            "tree",
            1,
            "6.0",
            None,
            "sandy-loam",
            0.4,
            "A dry-country pine; it has done well on less than the table gives",
        ),
    )
    return rows + _rows(
        columns, ("hose", "patch", old, None, "Grass patch", "turf-cool", 1, None, "90", "silt-loam")
    )  # fmt: skip


def _emitters() -> list[Row]:
    old = D(2024, 5, 1)
    buttons = _rows(
        "zone code since until device count flow_each_gph exponent waters",
        ("porch", "pots", old, None, "button", 20, "1", 0.0, "annuals"),
        ("porch", "drips", old, None, "button", 5, "0.5", 0.0, "kitchen-herbs"),
        ("fence", "pairs", old, None, "button", 60, "1", 0.5, "screen"),
        ("gravel", "singles", old, None, "button", 18, "1", 0.5, "natives"),
        ("gravel", "rings", old, None, "button", 6, "2", 0.5, "pine"),
        rated_pressure_psi="25",
    )
    lines = _rows(
        "zone code since until device length_ft flow_along_gph_ft exponent waters",
        ("kitchen", "beds", old, None, "inline", "144", "0.6", 0.0, "greens:0.3 tomatoes:0.4 squash:0.3"),
        ("berries", "canes", old, None, "inline", "48", "0.6", 0.0, "raspberries"),
        ("berries", "soaker", old, None, "soaker", "24", "0.6", 1.0, "strawberries"),
        rated_pressure_psi="25",
        count=0,
    )
    hose = _rows(
        "zone code since device count flow_each_gph exponent waters",
        ("hose", "nozzle", old, "other", 1, "320", 0.5, "patch"),
    )
    return buttons + lines + hose  # fmt: skip


def _pauses(life: Life) -> list[Row]:
    notes = {
        story.SHUT_2024: "Shutdown 2024",
        story.SHUT_2025: "Shutdown 2025",
        story.OFF_2026: "Timer turned to off after the first hard freeze. Still to drain.",
    }
    rows = [
        {"scope": "all", "since": since, "until": until, "reason": "winter" if until else "other", "note": notes[since]}
        for since, until in story.WINTERS
    ]
    rows += [
        {"scope": "all", "since": since, "until": until, "reason": "rain", "note": "Enough for some days"}
        for since, until in life.rain_holds
    ]
    scope, since, until = story.REPAIR_PAUSE
    return [
        *rows,
        {"scope": scope, "since": since, "until": until, "reason": "repair", "note": "Line off at the corner post"},
    ]
