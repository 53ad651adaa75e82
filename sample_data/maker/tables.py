"""The sheets: their columns, and writing them the same byte for byte every time."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

Row = dict[str, Any]

# Columns of each sheet, key first; a measured column carries its unit.
COLUMNS: dict[str, str] = {
    "home": "code name place latitude longitude elevation_ft timezone display people currency drinks shutdown_due"
    " startup_due",
    "supply": "code name source metered static_pressure_psi drip_pressure_psi capacity_gph backflow filter",
    "meter": "code name supply unit digits resolution counts downstream_of since until",
    "controller": "code name power follows_dst max_starts day_choice max_minutes allowed_days allowed_hours",
    "clock_check": "controller at offset_minutes put_right",
    "zone": "code name supply controller hand flow_gph since until note",
    "planting": "zone code since until name plant_type count canopy_ft bed_ft2 in_pots pot_gal pot_width_in soil"
    " root_depth_in factor factor_reason species_factor density_factor microclimate_factor planted_on mulched"
    " under_roof",
    "factor_month": "zone planting month factor reason",
    "emitter_group": "zone code since until device count flow_each_gph length_ft flow_along_gph_ft rated_pressure_psi"
    " exponent waters",
    "program": "zone label since until days starts minutes percent",
    "pause": "scope since until reason note",
    "meter_reading": "meter at register_value resolution how first_after_change old_final note",
    "metered_use": "meter start end volume_gal estimated",
    "run": "zone at nth ran duration_min why",
    "rain": "gauge start end rain_in trace",
    "weather": "station day tmin_f tmax_f dewpoint_f humidity_min humidity_max wind_mph wind_height_ft solar_mj_m2"
    " sunshine_hours reference_et_in",
    "normal": "month tmin_f tmax_f rain_in reference_et_in",
    "other_use": "start nth end what volume_gal spread meter zone planting every_days",
    "household": "since nth until people reason note",
    "flow_test": "at nth zone supply volume_gal duration_min pressure_psi",
    "catch_test": "zone at caught_ml duration_min",
    "leak_test": "meter at duration_min before after shut zone note",
    "tariff": "supply since until period_months first_day unit base included prices sewer_base sewer_price"
    " sewer_follows rounding",
    "bill": "supply since until volume_gal amount note",
    "task": "code name every_days due_by season_only caution how",
    "upkeep": "task day nth zone cost note",
    "checklist_step": "season year step subject state day why",
    "decision": "finding meter zone since decided_at until verdict repaired_on note cause cause_zone",
}
KEY_COLUMNS = {
    "clock_check": 2, "planting": 3, "factor_month": 3, "emitter_group": 3, "program": 3, "pause": 2,
    "meter_reading": 2, "metered_use": 3, "run": 3, "rain": 3, "weather": 2, "other_use": 2, "household": 2,
    "flow_test": 2, "catch_test": 2, "leak_test": 2, "tariff": 2, "bill": 2, "upkeep": 3,
    "checklist_step": 4, "decision": 5,
}  # fmt: skip


# What a cell means when it is left empty, written out all the same.
_DEFAULTS: dict[str, Row] = {
    "meter": {"counts": "everything"},
    "planting": {"in_pots": False, "mulched": False, "under_roof": False},
}


def text(value: Any) -> str:
    """One cell: yes and no, numbers without needless digits, "" for what was not given."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value)


def write(folder: Path, sheets: dict[str, list[Row]]) -> None:
    """Write every sheet, rows by their key."""
    folder.mkdir(parents=True, exist_ok=True)
    for kind, columns in COLUMNS.items():
        names = columns.split()
        keys = names[: KEY_COLUMNS.get(kind, 1)]
        rows = sorted(sheets[kind], key=lambda row: [_sortable(row.get(k)) for k in keys])
        for row in rows:
            unknown = set(row) - set(names)
            if unknown:
                raise KeyError(f"{kind}: {sorted(unknown)}")
        with (folder / f"{kind}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)  # lines end as RFC 4180 has it
            writer.writerow(names)
            unsaid = _DEFAULTS.get(kind, {})
            writer.writerows([text(row.get(name, unsaid.get(name))) for name in names] for row in rows)


def _sortable(value: Any) -> tuple[str, int]:
    return ("", value) if isinstance(value, int) else (text(value), 0)
