"""Every agronomy case of a published source, run through core.water.

The cases (inputs, expected value, tolerance from the source's rounding, source, provenance) are in
agronomy_cases.json. Each formula below only turns the source's units into ours and back; the value under test comes
from core.water. Where a source rounds 144/231 gallons per inch and square foot to 0.62 or 0.623 the result is scaled
to its constant, because ours is exact.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from core.units import from_base, to_base
from core.water import emitters, need, pipes, rain, reference_et, runtime, soil, sun, uniformity, vapour
from core.water.tables import Stages

CASES = json.loads((Path(__file__).parent / "agronomy_cases.json").read_text(encoding="utf-8"))
GALLON_INCH_FT2 = 144 / 231

Inputs = dict[str, Any]


def mm(inches: Any) -> Any:
    return np.asarray(inches, dtype=float) * to_base(1, "in", "depth")


def inches(depth_mm: Any) -> Any:
    return np.asarray(depth_mm) / to_base(1, "in", "depth")


def m2(ft2: float) -> float:
    return to_base(ft2, "ft2", "area")


def m(feet: float) -> float:
    return to_base(feet, "ft", "length")


def gal(litres: float) -> float:
    return from_base(litres, "gal", "volume")


def lph(gph: float) -> float:
    return to_base(gph, "gph", "flow")


def psi(kpa: float) -> float:
    return from_base(kpa, "psi", "pressure")


def ea_pair(c: Inputs) -> Any:
    return vapour.vapour_from_humidity(c["tmin_c"], c["tmax_c"], c["rhmin_pct"], c["rhmax_pct"])


def full_et(c: Inputs, vapour_kpa: float, wind: float, solar: float, heat: float = 0.0) -> Any:
    return reference_et.penman_monteith(
        c["tmin_c"],
        c["tmax_c"],
        vapour_kpa,
        wind,
        solar,
        latitude_deg=c["lat_deg"],
        day_of_year=c["doy"],
        elevation_m=c["z_m"],
        soil_heat_mj_m2=heat,
    )


def sunny(c: Inputs) -> Any:
    top = sun.extraterrestrial_radiation(c["lat_deg"], c["doy"])
    return sun.solar_from_sunshine(top, c["n_h"], sun.daylight_hours(c["lat_deg"], c["doy"]))


def from_span(c: Inputs) -> Any:
    top = sun.extraterrestrial_radiation(c["lat_deg"], c["doy"])
    return sun.solar_from_temperature(top, c["tmin_c"], c["tmax_c"], c["krs"])


def bangkok(c: Inputs) -> Any:
    heat = sun.monthly_soil_heat(c["tprev_c"], c["tmonth_c"], following_known=False)
    return full_et(c, c["ea_kpa"], c["u2_ms"], sunny(c), heat)


def uccle(c: Inputs) -> Any:
    return full_et(c, ea_pair(c), vapour.wind_at_2m(c["wind_kmh_at_10m"] / 3.6, 10), sunny(c))


def lyon(c: Inputs) -> Any:
    return full_et(c, vapour.vapour_from_lowest_temperature(c["tmin_c"]), c["u2_ms"], from_span(c))


def geometry(c: Inputs) -> Any:
    day = c["doy"]
    return [sun.sun_distance(day), sun.declination(day), sun.sunset_angle(c["lat_deg"], day)]


def curve(c: Inputs) -> Any:
    return need.stage_factor(Stages(c["kcb_ini"], c["kcb_mid"], c["kcb_end"], tuple(c["stages_d"])), c["days"])


def store(c: Inputs) -> Any:
    total = soil.total_available(c["awc_mm_per_m"], c["zr_m"])
    quiet = soil.root_zone_balance([0.0], [0.0], [0.0], total, c["p"], adjust_fraction=False)
    return [total, quiet.readily_available_mm[0]]


def drying(c: Inputs) -> Any:
    crop = need.daily_need_mm([c["eto_mm_d"]] * 10, c["kc"])
    none = np.zeros(10)
    found = soil.root_zone_balance(
        crop, none, none, c["taw_mm"], c["p"], start_depletion_mm=c["dr0_mm"], adjust_fraction=False
    )
    return found.depletion_mm


def ledger(c: Inputs) -> Any:
    # Zr grows from 0.30 to 0.35 m over the ten days, 130 mm/m, p 0.6 (text of Example 38)
    total = soil.total_available(130, np.linspace(0.30, 0.35, 10))
    found = soil.root_zone_balance(
        c["etc_mm"], c["rain_mm"], c["irr_mm"], total, 0.6, start_depletion_mm=c["dr0_mm"], adjust_fraction=False
    )
    return found.depletion_mm


def checkbook(c: Inputs) -> Any:
    # the sheet knows no stress: a store far larger than the deficits keeps Ks at 1
    found = soil.root_zone_balance(
        mm(c["use_in"]), mm(c["rain_in"]), np.zeros(15), 1000.0, 0.5, start_depletion_mm=mm(c["start_in"])
    )
    return inches(found.depletion_mm)


def light_sandy(c: Inputs) -> Any:
    available = soil.total_available(mm(c["fc_in"]) * (1 - c["wp_frac_of_fc"]) / m(1), m(1))
    left = np.array([0.67, 0.50, 0.33])
    return [inches(available), *inches(available * (1 - left))]


def allowed(c: Inputs) -> Any:
    total = soil.total_available(c["awc_in_ft"] * to_base(1, "in", "depth") / m(1), m(c["root_ft"]))
    return inches(total * c["allow_frac"])


def gross(c: Inputs) -> Any:
    return inches(runtime.gross_mm(mm(c["use_in_d"]) * c["days"], efficiency=c["eff"]))


def etwu(c: Inputs) -> Any:
    depth = runtime.gross_mm(need.daily_need_mm(mm(c["eto_in"]), c["pf"]), efficiency=c["ie"])
    return gal(float(depth) * m2(c["area_ft2"])) * c["conv"] / GALLON_INCH_FT2


def mawa(c: Inputs) -> Any:
    # the allowance: the factor over the whole area, the rest of the depth over the special part
    whole, special = (float(need.daily_need_mm(mm(c["eto_in"]), f)) for f in (c["etaf"], 1 - c["etaf"]))
    return gal(whole * m2(c["la_ft2"]) + special * m2(c["sla_ft2"])) * c["conv"] / GALLON_INCH_FT2


def requirement(c: Inputs) -> Any:
    net = need.daily_need_mm(mm(c["eto_in"]), c["kl"]) - rain.quarter(mm(c["rain_in"]))
    return gal(float(runtime.gross_mm(net, uniformity=c["du_lq"])) * m2(c["area_ft2"])) * c["conv"] / GALLON_INCH_FT2


def hydrozones(c: Inputs) -> Any:
    depth = np.array([to_base(g, "gal", "volume") / m2(1) for g in c["gal_ft2"]])
    return gal(sum(d * m2(a) for d, a in zip(depth, c["area_ft2"], strict=True)))


def crown_tree(c: Inputs) -> Any:
    evaporation = need.daily_need_mm(m(c["evap_ft_d"]) * 1000, c["ratio"] * c["lai"])
    litres = evaporation * need.planting_water_area_m2(1, m(c["crown_d_ft"]), None)
    return from_base(float(litres), "ft3", "volume")


def crown_gallons(c: Inputs) -> Any:
    area = need.planting_water_area_m2(1, m(c["crown_d_ft"]), None)
    depth = runtime.gross_mm(need.daily_need_mm(mm(c["et_in_d"]), c["pf"]), efficiency=c["eff"])
    return gal(float(depth) * area) * 0.623 / GALLON_INCH_FT2


def half_inch(c: Inputs) -> Any:
    loss = pipes.hazen_williams_kpa(lph(c["gph"]), c["id_in"] * 25.4, m(c["len_ft"]), c["C"])
    return psi(float(loss * pipes.outlet_factor(c.get("n_outlets", 1))))


def vines(c: Inputs) -> Any:
    net = need.daily_need_mm(mm(c["eto_in_wk"]), c["kc"] * c["rdi"]) - mm(c["soil_in"]) - mm(c["rain_in"])
    litres = float(runtime.gross_mm(net, uniformity=c["eu"])) * m2(c["area_ft2"]) * 0.623 / GALLON_INCH_FT2
    return [gal(litres), runtime.minutes_for(litres, lph(c["gph_per_plant"])) / 60]


def tape(c: Inputs) -> Any:
    litres = mm(c["depth_in"]) * m(c["bed_width_in"] / 12) * m(100)
    return [runtime.minutes_for(litres, lph(g)) / 60 for g in c["gph_per_100ft"]]


def berries(c: Inputs) -> Any:
    litres = float(need.daily_need_mm(c["et_mm"], c["kc"])) * m2(c["area_ft2"])
    return [gal(litres), runtime.minutes_for(litres, c["emitters"] * lph(c["gph"])) / 60]


def hops(c: Inputs) -> Any:
    litres = float(need.daily_need_mm(c["et_mm"], c["kc"])) * c["area_m2"]
    flow = emitters.group_flow_lph(c["emitters"], c["lph"], None, None)
    return [litres, runtime.minutes_for(litres, flow) / 60]


def emitters_hours(c: Inputs) -> Any:
    flow = emitters.group_flow_lph(c["emitters"], lph(c["gph"]), None, None)
    return runtime.minutes_for(to_base(c["gal"], "gal", "volume"), flow) / 60


def acre_inch(c: Inputs) -> Any:
    # 218 sections of 100 ft of tape: a length with a flow per length
    along = to_base(c["gpm_per_100ft"], "gpm", "flow") / m(100)
    flow = emitters.group_flow_lph(None, None, c["sections"] * m(100), along)
    return runtime.minutes_for(to_base(c["gal_acre_in"], "gal", "volume"), flow) / 60


def grid(c: Inputs) -> Any:
    area = m(c["row_in"] / 12) * m(c["spacing_in"] / 12)
    return inches(runtime.application_rate_mm_h(lph(c["gph"]), area))


def turbulent(c: Inputs) -> Any:
    return emitters.emitter_flow_lph(c["q0_gph"], c["p0_psi"], c["x"], c["p_psi"])


def head_for_flow(c: Inputs) -> Any:
    # the head at which the emitter gives the flow asked for
    return brentq(lambda h: emitters.emitter_flow_lph(c["q1_lph"], c["h1_m"], c["x"], h) - c["q2_lph"], 1, 100)


def catch_hours(c: Inputs) -> Any:
    # evenness by the driest spot, so that it gets its due
    coefficient = float(runtime.gross_mm(1.0, uniformity=c["min_mm_h"] / c["mean_mm_h"]))
    return runtime.minutes_for(c["need_mm"] * round(coefficient, 1), c["mean_mm_h"]) / 60


def bucket(c: Inputs) -> Any:
    flow = to_base(c["gal"], "gal", "volume") / to_base(c["sec"], "s", "duration") * 60
    return [from_base(flow, "gpm", "flow"), from_base(flow, "gph", "flow")]


def cup(c: Inputs) -> Any:
    flow = to_base(c["ml"], "ml", "volume") / to_base(c["sec"], "s", "duration") * 60
    return [flow, from_base(flow, "gph", "flow")]


FORMULAS: dict[str, Callable[[Inputs], Any]] = {
    "eto-ex2-pressure": lambda c: vapour.air_pressure(c["z_m"]),
    "eto-ex3-es": lambda c: vapour.mean_saturation_vapour(c["tmin_c"], c["tmax_c"]),
    "eto-ex5-ea-eq17": ea_pair,
    "eto-ex6-vpd": lambda c: vapour.mean_saturation_vapour(c["tmin_c"], c["tmax_c"]) - ea_pair(c),
    "eto-slope-30.2": lambda c: vapour.vapour_slope(c["t_c"]),
    "eto-ea-tmin": lambda c: vapour.vapour_from_lowest_temperature(c["tmin_c"]),
    "eto-ex8-geometry": geometry,
    "eto-ex8-ra": lambda c: sun.extraterrestrial_radiation(c["lat_deg"], c["doy"]),
    "eto-ex9-N": lambda c: sun.daylight_hours(c["lat_deg"], c["doy"]),
    "eto-ex10-rs": sunny,
    "eto-ex11-rnl": lambda c: sun.net_longwave(c["tmin_c"], c["tmax_c"], c["ea_kpa"], c["rs"], c["rso"]),
    "eto-ex13-G": lambda c: sun.monthly_soil_heat(c["t_prev_c"], c["t_next_c"]),
    "eto-ex14-u2": lambda c: vapour.wind_at_2m(c["uz_ms"], c["z_m"]),
    "eto-ex15-rs": from_span,
    "eto-ex17-eto": bangkok,
    "eto-ex18-eto": uccle,
    "eto-ex20-eto": lyon,
    "eto-ex20-hargreaves": lambda c: reference_et.hargreaves(c["tmin_c"], c["tmax_c"], c["lat_deg"], c["doy"]),
    "kc-ex30-curve": curve,
    "kc-ex32-kcmax": lambda c: need.greatest_factor(c["u2"], c["rhmin"], c["h_m"], c["kcb"]),
    "bal-ex36-onion-loamysand": store,
    "bal-ex36-onion-siltyclay": store,
    "bal-ex36-tomato-loamysand": store,
    "bal-ex36-tomato-silt": store,
    "bal-ex36-maize-silt": store,
    "bal-ex37-depletion": drying,
    "bal-ex38-depletion": ledger,
    "bal-p-adjust": lambda c: soil.fraction_for_demand(c["p_table"], c["etc_mm_d"]),
    "bal-ndsu-june": checkbook,
    "soil-az-lightsandy-1ft": light_sandy,
    "soil-swcd-loam-lettuce": allowed,
    "soil-inft-mmm": lambda c: soil.total_available(mm(c["in_per_ft"]) / m(1), 1.0),
    "soil-fawn-12in-0.20": gross,
    "soil-fawn-6in-0.08": gross,
    "lw-mawa-fresno": mawa,
    "lw-etwu-mod-drip": etwu,
    "lw-etwu-lawn-spray": etwu,
    "lw-hydrozone-total": hydrozones,
    "lw-auf-tree-ft3": crown_tree,
    "lw-wucols-moderate": lambda c: inches(need.daily_need_mm(mm(c["eto_in"]), c["factor_range"])),
    "lw-uc-newplanting": lambda c: need.landscape_coefficient(c["ks"], c["kd"], c["kmc"]),
    "lw-uc-twa": lambda c: [inches(runtime.gross_mm(mm(c["etl_in"]), efficiency=e)) for e in c["ie"]],
    "lw-usu-gallons": crown_gallons,
    "lw-ws2-net-eto": lambda c: inches(np.maximum(mm(c["eto_in"]) - rain.quarter(mm(c["rain_in"])), 0.0)),
    "lw-ws1-requirement": requirement,
    "rain-texaset-small": lambda c: inches(rain.texas_daily(mm(c["rain_in"]))),
    "rain-scs-monthly": lambda c: rain.scs_monthly(c["rain_mm"]),
    "hyd-F-table": lambda c: pipes.outlet_factor(c["n"], c["m"]),
    "hyd-hw-half-inch": half_inch,
    "hyd-hw-half-inch-outlets": half_inch,
    "hyd-hw-quarter-inch": half_inch,
    "hyd-fao9-ex8": head_for_flow,
    "hyd-emitter-turb": turbulent,
    "hyd-elev": lambda c: psi(float(pipes.height_kpa(m(c["rise_ft"])))),
    "hyd-eu-1": lambda c: 100 * uniformity.design_emission_uniformity(c["cv"], c["n"], c["qmin_over_qavg"]),
    "hyd-bucket-half": bucket,
    "hyd-cup-ml": cup,
    "du-spreval-dulq": lambda c: 100 * uniformity.low_quarter_uniformity(c["ml"]),
    "du-rtm-table": lambda c: [uniformity.run_time_multiplier(d) for d in c["du_lq"]],
    "du-sched-coeff": catch_hours,
    "run-lodi-1": vines,
    "run-lodi-3": vines,
    "run-lodi-4": vines,
    "run-lodi-6": vines,
    "run-psu-tape": tape,
    "run-omafra-strawberry": berries,
    "run-omafra-hops": hops,
    "run-nmsu-7emitters": emitters_hours,
    "run-tofg": acre_inch,
    "run-ucce-normal": lambda c: emitters_hours(c) * 60,
    "run-ar-grid": grid,
    "run-pr-gpm": lambda c: inches(runtime.application_rate_mm_h(to_base(c["gpm"], "gpm", "flow"), m2(c["area_ft2"]))),
    "unit-gal-ft2-in": lambda _: gal(float(need.daily_need_mm(mm(1), 1.0)) * m2(1)),
}


def test_every_case_has_a_formula() -> None:
    ids = [case["id"] for case in CASES]
    assert len(ids) == len(set(ids)) == 73
    assert set(FORMULAS) == set(ids)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_published_case(case: dict[str, Any]) -> None:
    found = np.asarray(FORMULAS[case["id"]](case["inputs"]), dtype=float)
    expected, tolerance = np.asarray(case["expected"], float), np.asarray(case["tolerance"], float)
    assert found.shape == expected.shape
    off = np.abs(found - expected)
    assert (off <= tolerance).all(), f"{case['quantity']}: {found} for {expected} +- {tolerance} ({case['source']})"
