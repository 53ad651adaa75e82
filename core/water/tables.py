"""Published plant and soil tables: what a plant type needs, how deep it roots, what a soil holds.

    plant_type(code) -> PlantType        soil(code) -> Soil        PLANT_TYPES, SOILS: all of them by code

The rows live in plant_types.csv and soils.csv beside this file. Every number says where it comes from: [published]
was read in that source, [memory] is a standard value recalled and not checked again, [common practice] is a rule of
the trade without one. All can be overridden by the planting.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from difflib import get_close_matches
from importlib.resources import files
from typing import Literal, cast

from core.errors import EntryError

SOURCES: dict[str, str] = {
    "trees": "ANSI/ASABE S623, trees: 0.5 in low, 0.7 in high humidity [published: 2014 ASHS abstract; UC Center for "
    "Landscape & Urban Horticulture]",
    "woody": "ANSI/ASABE S623, woody shrubs, vines, groundcovers: 0.5, humid 0.7 [memory: ASABE S623 table]",
    "slide": "UC SLIDE Table 1 [memory]",
    "slide-herbs": "as herbaceous perennials, UC SLIDE Table 1 [memory]; a lush herb bed is nearer the vegetable "
    "garden's 0.8",
    "desert": "desert-adapted plants 0.3 [memory: UC SLIDE Table 1]; xeriscape 0.3 [published: EPA WaterSense v2.0]",
    "wucols": "WUCOLS category, middle of its range [published: UC-based workbook page and California MWELO text]",
    "turf": "landscape turf of acceptable look, 0.8 cool and 0.6 warm season [published: EPA WaterSense v2.0]; well "
    "watered 0.95 and 0.85 [published: FAO-56 Table 12]",
    "garden": "vegetable garden 0.8 over the season [published: EPA WaterSense v2.0]; with a planting date the stages "
    "of FAO-56 Tables 11 and 12 instead",
    "kc-mid": "mid-season crop coefficient [published: FAO-56 Table 12]; less at both ends of the season",
    "stages": "crop coefficient by stage [published: FAO-56 Table 12; stage lengths Table 11, examples that vary by "
    "region]",
    "fao-root": "smaller depth of its range, as advised for scheduling [published: FAO-56 Table 22]",
    "fao-p": "share p that can go before stress at 5 mm a day [published: FAO-56 Table 22]",
    "fao-soil": "field capacity less wilting point, middle of the range [published: FAO-56 Table 19]",
    "one-two-three": "1, 2, 3 ft for flowers and groundcover, shrubs, trees [published: Southwest regional garden "
    "report]",
    "manual": "mixed, between lettuce 1 ft and tomato 3 ft [published: Univ. Arizona Master Gardener Manual T10.7]",
    "half": "half of the available water, commonly used [published: FAO-56 p. 162]",
    "sensitive": "25 to 35 % for shallow or sensitive plants [published: East Multnomah SWCD; FAO-56 Table 22]",
    "desert-depletion": "more than half for desert-adapted plants [common practice, no source]",
    "nrcs": "1.6 to 2.4 in/ft [published: NRCS and UMN feel-and-appearance pages]",
    "between": "between sandy loam and clay loam [common practice, no source]",
    "mix": "available water 25 to 35 % of the mix [memory: Southern nursery BMP guide]",
    "intake": "final intake, a cautious value in its range [published: Nanjing Agric. Univ. teaching slide; memory: "
    "FAO Training Manual]",
    "intake-memory": "final intake, lower end of its range [memory: FAO Training Manual]",
    "neighbour": "as the neighbouring textures [common practice, no source]",
    "practice": "drains freely [common practice, no source]",
}

Sort = Literal["woody", "perennial", "annual", "turf"]


@dataclass(frozen=True, slots=True)
class Stages:
    """FAO-56 crop coefficients and the days of the initial, development, mid-season and late stage."""

    ini: float
    mid: float
    end: float
    days: tuple[int, int, int, int] | None = None


@dataclass(frozen=True, slots=True)
class PlantType:
    """A row of the plant table.

    Attributes:
        code, name: what a planting refers to, and words for it.
        sort: woody, perennial, annual or turf; decides how establishment is handled.
        factor, factor_low, factor_high: plant factor on grass reference ET and its range.
        factor_source, root_source, depletion_source: where each comes from, in words.
        root_m, root_low_m, root_high_m: depth of roots to manage, metres.
        depletion: share p of the available water that can go before stress, at 5 mm a day (FAO-56 Table 22).
        stages: FAO-56 crop coefficients, where the table has them.
    """

    code: str
    name: str
    sort: Sort
    factor: float
    factor_low: float
    factor_high: float
    factor_source: str
    root_m: float
    root_low_m: float
    root_high_m: float
    root_source: str
    depletion: float
    depletion_source: str
    stages: Stages | None


@dataclass(frozen=True, slots=True)
class Soil:
    """A row of the soil table.

    Attributes:
        available_mm_m, available_low, available_high: water between field capacity and wilting, mm per m of depth.
        intake_mm_h, intake_low, intake_high: water it takes in without ponding, mm per hour.
        depletion_shift: share by which p changes: up in sand, down in clay (FAO-56 p. 167: 5 to 10 %; 5 % taken).
    """

    code: str
    name: str
    available_mm_m: float
    available_low: float
    available_high: float
    available_source: str
    intake_mm_h: float
    intake_low: float
    intake_high: float
    intake_source: str
    depletion_shift: float


def plant_type(code: str) -> PlantType:
    """The plant type called ``code``.

    Raises:
        EntryError: no such type; the sentence names near ones.
    """
    found = PLANT_TYPES.get(code)
    if found is None:
        raise EntryError(_unknown(code, "a plant type", {k: v.name for k, v in PLANT_TYPES.items()}))
    return found


def soil(code: str) -> Soil:
    """The soil called ``code``.

    Raises:
        EntryError: no such soil; the sentence names near ones.
    """
    found = SOILS.get(code)
    if found is None:
        raise EntryError(_unknown(code, "a soil", {k: v.name for k, v in SOILS.items()}))
    return found


def _unknown(code: str, what: str, names: dict[str, str]) -> str:
    plain = code.strip().lower().replace("_", "-").replace(" ", "-")
    near = get_close_matches(plain, names, n=4, cutoff=0.5)
    words = [w for w in plain.split("-") if len(w) > 2]
    near += [k for k, name in names.items() if k not in near and any(w in k or w in name.lower() for w in words)]
    if near:
        return f"“{code}” is not {what} of the tables. Near it: {', '.join(near[:6])}."
    return f"“{code}” is not {what} of the tables. Expected one of {', '.join(names)}."


def _rows(name: str) -> list[dict[str, str]]:
    text = files("core.water").joinpath(name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _plant(row: dict[str, str]) -> PlantType:
    days = tuple(int(row[f"days_{stage}"]) for stage in ("ini", "dev", "mid", "late") if row[f"days_{stage}"])
    stages = None
    if row["kc_mid"]:
        lengths = (days[0], days[1], days[2], days[3]) if len(days) == 4 else None
        stages = Stages(float(row["kc_ini"]), float(row["kc_mid"]), float(row["kc_end"]), lengths)
    return PlantType(
        row["code"],
        row["name"],
        cast(Sort, row["sort"]),
        float(row["factor"]),
        float(row["factor_low"]),
        float(row["factor_high"]),
        SOURCES[row["factor_source"]],
        float(row["root_m"]),
        float(row["root_low_m"]),
        float(row["root_high_m"]),
        SOURCES[row["root_source"]],
        float(row["depletion"]),
        SOURCES[row["depletion_source"]],
        stages,
    )


def _soil(row: dict[str, str]) -> Soil:
    return Soil(
        row["code"],
        row["name"],
        float(row["available_mm_m"]),
        float(row["available_low"]),
        float(row["available_high"]),
        SOURCES[row["available_source"]],
        float(row["intake_mm_h"]),
        float(row["intake_low"]),
        float(row["intake_high"]),
        SOURCES[row["intake_source"]],
        float(row["depletion_shift"]),
    )


PLANT_TYPES: dict[str, PlantType] = {p.code: p for p in map(_plant, _rows("plant_types.csv"))}
SOILS: dict[str, Soil] = {s.code: s for s in map(_soil, _rows("soils.csv"))}
