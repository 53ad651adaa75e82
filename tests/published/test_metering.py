"""Published metering values: units, registers, holes, drips and leak tests."""

from __future__ import annotations

from typing import Any

import pytest

from core.accounts.leaktest import drip_lph, drop_ml, meter_error_percent, orifice_flow_lph, smallest_rate_lph
from core.accounts.registers import billed_units, meter_intervals
from core.units import from_base, to_base
from tests.core.accounts.frames import meters, readings, table
from tests.published.metering_cases import close, of

Case = dict[str, Any]
UNIT = {"L": "l", "imperial_gal": "imp_gal"}

CONVERSIONS = ("w001", "w003", "w005", "w006", "w025")
OTHER_UNITS = ("w008", "w010", "w026", "w063")
DIFFERENCES = ("w081", "w083", "w084")
ROLLOVERS = ("w013", "w086")
BILLING_STEPS = ("w011", "w088")
HOLES_A_DAY, HOLES_A_MONTH = ("w015", "w016"), ("w018", "w020", "w021")
HOLE_SIZES, COEFFICIENT = ("w023", "w108", "w109"), ("w106",)
DRIPS, DROP = ("w028", "w030"), ("w111",)
LEAK_TEST, ACCURACY = ("w089",), ("w073",)
COVERS = {
    *CONVERSIONS, *OTHER_UNITS, *DIFFERENCES, *ROLLOVERS, *BILLING_STEPS, *HOLES_A_DAY, *HOLES_A_MONTH, *HOLE_SIZES,
    *COEFFICIENT, *DRIPS, *DROP, *LEAK_TEST, *ACCURACY,
}  # fmt: skip


@pytest.mark.parametrize("case", of(*CONVERSIONS))
def test_volume_units(case: Case) -> None:
    given = case["inputs"]
    litres = to_base(given["value"], UNIT.get(given["frm"], given["frm"]), "volume")
    assert from_base(litres, UNIT.get(given["to"], given["to"]), "volume") == close(case)


@pytest.mark.parametrize("case", of("w008"))
def test_depth_on_an_area(case: Case) -> None:
    given = case["inputs"]
    litres = to_base(given["depth_in"], "in", "depth") * to_base(given["area_ft2"], "ft2", "area")
    assert from_base(litres, "gal", "volume") == close(case)


@pytest.mark.parametrize("case", of("w010"))
def test_billing_units_in_gallons(case: Case) -> None:
    """The page rounds 748.05 gal to 748; the exact factor is within its gallon."""
    assert from_base(to_base(case["inputs"]["ccf"], "ccf", "volume"), "gal", "volume") == close(case)


@pytest.mark.parametrize("case", of("w026"))
def test_flow_times_time(case: Case) -> None:
    litres = to_base(case["inputs"]["gpm"], "gpm", "flow") * case["inputs"]["hours"]
    assert from_base(litres, "gal", "volume") == close(case)


@pytest.mark.parametrize("case", of("w063"))
def test_rain_of_a_hundredth_inch(case: Case) -> None:
    assert to_base(case["inputs"]["inches"], "in", "depth") == close(case)


def use_l(first: float, second: float, **meter: Any) -> float:
    """Litres between two readings a month apart."""
    pair = readings(("2026-06-01T08:00", first), ("2026-07-01T08:00", second))
    return float(meter_intervals(pair, meters(**meter), table("metered_use"))["volume_l"].iloc[0])


@pytest.mark.parametrize("case", of("w081"))
def test_register_difference_at_748_gallons(case: Case) -> None:
    """IWVWD counts 748 gal to 100 cubic feet; the exact figure is scaled to its constant."""
    given = case["inputs"]
    gallons = from_base(use_l(given["first"], given["second"], unit="ccf"), "gal", "volume")
    assert gallons * given["gal_factor"] / from_base(to_base(1, "ccf", "volume"), "gal", "volume") == close(case)


@pytest.mark.parametrize("case", of("w083"))
def test_register_difference_in_hundreds_of_cubic_feet(case: Case) -> None:
    given = case["inputs"]
    assert from_base(use_l(given["first"], given["second"], unit="ccf"), "ccf", "volume") == close(case)


@pytest.mark.parametrize("case", of("w084"))
def test_register_difference_in_hundreds_of_gallons(case: Case) -> None:
    """Temple TX drops the last digits for billing: the book holds the whole number shown."""
    given = case["inputs"]
    litres = use_l(given["first"] * 100, given["second"] * 100, unit="gal", resolution=100)
    assert from_base(litres, "gal", "volume") == close(case)


@pytest.mark.parametrize("case", of(*ROLLOVERS))
def test_a_register_that_rolls_over(case: Case) -> None:
    given = case["inputs"]
    unit = given["unit"].split(",")[0]
    step = 10 if "painted" in given["unit"] else 1
    litres = use_l(given["first"], given["second"], unit=unit, digits=given["digits"], resolution=step)
    assert from_base(litres, unit, "volume") == close(case)


@pytest.mark.parametrize("case", of("w011"))
def test_digits_dropped_for_billing(case: Case) -> None:
    assert billed_units(case["inputs"]["register_ft3"], 100, "down") == case["expected"]


@pytest.mark.parametrize("case", of("w088"))
def test_billing_rounded_up(case: Case) -> None:
    step = case["inputs"]["step_gal"]
    assert billed_units(case["inputs"]["gal"], step, "up") * step == case["expected"]


def hole_gpd(diameter_in: float, pressure_psi: float, coefficient: float = 0.62) -> float:
    flow = orifice_flow_lph(to_base(diameter_in, "in", "depth"), to_base(pressure_psi, "psi", "pressure"), coefficient)
    return from_base(flow, "gph", "flow") * 24


@pytest.mark.parametrize("case", of(*HOLES_A_DAY, *HOLES_A_MONTH))
def test_holes(case: Case) -> None:
    given = case["inputs"]
    assert hole_gpd(given["diameter_in"], given["pressure_psi"], given["cd"]) * given.get("days", 1) == close(case)


@pytest.mark.parametrize("case", of(*HOLE_SIZES))
def test_a_hole_grows_with_its_diameter_squared(case: Case) -> None:
    """The table's quarter inch row gives any other row, whatever its pressure and period."""
    given = case["inputs"]
    ratio = hole_gpd(given["diameter_in"], 60) / hole_gpd(0.25, 60)
    assert given["gal_per_quarter_at_quarter_inch"] * ratio == close(case)


@pytest.mark.parametrize("case", of(*COEFFICIENT))
def test_discharge_coefficient_of_a_published_row(case: Case) -> None:
    given = case["inputs"]
    assert given["gpd"] / hole_gpd(given["diameter_in"], given["pressure_psi"], 1.0) == close(case)


@pytest.mark.parametrize("case", of(*DRIPS))
def test_drips(case: Case) -> None:
    given = case["inputs"]
    hours = 24 * given.get("days", 365)
    gallons = from_base(drip_lph(given["drips_per_min"], given["ml_per_drip"]) * hours, "gal", "volume")
    assert gallons == close(case)


@pytest.mark.parametrize("case", of(*DROP))
def test_the_drop_a_table_implies(case: Case) -> None:
    given = case["inputs"]
    assert drop_ml(given["drips_per_min"], to_base(given["gal"], "gal", "volume") / (24 * given["days"])) == close(case)


@pytest.mark.parametrize("case", of(*LEAK_TEST))
def test_smallest_leak_a_test_shows(case: Case) -> None:
    given = case["inputs"]
    rate = smallest_rate_lph(to_base(given["resolution_gal"], "gal", "volume"), given["hours"])
    assert from_base(rate, "gph", "flow") == close(case)


@pytest.mark.parametrize("case", of(*ACCURACY))
def test_meter_accuracy(case: Case) -> None:
    assert meter_error_percent(case["inputs"]["indicated"], case["inputs"]["standard"]) == close(case)
