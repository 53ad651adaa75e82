"""The invented household: made again the same, its own world, and a truth that adds up."""

from __future__ import annotations

import ast
import csv
import json
import subprocess
import sys
from collections import defaultdict
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

SAMPLE = Path(__file__).parents[2] / "sample_data"
HOME = ZoneInfo("America/Boise")
TRUTH: dict[str, Any] = json.loads((SAMPLE / "truth.json").read_text(encoding="utf-8"))


def sheet(kind: str) -> list[dict[str, str]]:
    with (SAMPLE / "household" / f"{kind}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def event(kind: str) -> dict[str, Any]:
    found = [e for e in TRUTH["events"] if e["kind"] == kind]
    assert len(found) == 1, f"{kind} happened {len(found)} times"
    return found[0]


def wall(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=HOME)


def on_day(part: str, day: str) -> float:
    """Gallons of a part on a day, by the truth file."""
    gone = (date.fromisoformat(day) - date.fromisoformat(TRUTH["first_day"])).days
    return float(TRUTH["days"][part][gone])


@pytest.fixture(scope="module")
def again(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The household made once more, by the script as a person would run it."""
    folder = tmp_path_factory.mktemp("again")
    script = str(SAMPLE / "make_household.py")
    subprocess.run([sys.executable, script, "--to", str(folder)], check=True, cwd=folder)
    return folder


def test_making_it_again_gives_the_same_bytes(again: Path) -> None:
    made = {p.relative_to(again): p.read_bytes() for p in again.rglob("*") if p.is_file()}
    kept = {p.relative_to(SAMPLE): p.read_bytes() for p in (SAMPLE / "household").iterdir()}
    kept[Path("truth.json")] = (SAMPLE / "truth.json").read_bytes()
    assert made.keys() == kept.keys()
    assert [name for name in kept if made[name] != kept[name]] == []


def test_nothing_of_it_comes_from_core() -> None:
    allowed = set(sys.stdlib_module_names) | {"numpy", "maker"}
    for path in [SAMPLE / "make_household.py", *(SAMPLE / "maker").glob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert {n.split(".")[0] for n in names} <= allowed, path.name


def test_it_stays_small() -> None:
    assert sum(p.stat().st_size for p in SAMPLE.rglob("*") if p.suffix in (".csv", ".json", ".py", ".md")) < 3_000_000


def test_parts_sum_to_the_advance_of_the_register() -> None:
    months = list(TRUTH["months"].values())
    for month in months:
        parts = sum(month["parts_gal"].values())
        assert parts == pytest.approx(month["metered_gal"], abs=0.01)
        assert (
            abs(parts - (month["register_at_end"] - month["register_at_start"])) < 1.01
        )  # a register of whole gallons
    for before, after in pairwise(months):
        assert before["register_at_end"] == after["register_at_start"]


def test_days_sum_to_months() -> None:
    sums: dict[tuple[str, str], float] = defaultdict(float)
    first = date.fromisoformat(TRUTH["first_day"])
    for part, gallons in TRUTH["days"].items():
        for n, volume in enumerate(gallons):
            sums[f"{first + timedelta(days=n):%Y-%m}", part] += volume
    for name, month in TRUTH["months"].items():
        for part, volume in month["parts_gal"].items():
            assert sums[name, part] == pytest.approx(volume, abs=0.005 * 31 + 0.001)


def test_readings_only_rise_but_for_the_misread_one() -> None:
    typed = [(r["at"], int(r["register_value"])) for r in sheet("meter_reading")]
    bad = event("misread")
    falls = [before[0] for before, after in pairwise(typed) if after[1] < before[1]]
    assert [wall(at) for at in falls] == [datetime.fromisoformat(bad["start"])]
    assert dict(typed)[falls[0]] == bad["typed"]
    assert sorted(str(bad["typed"])) == sorted(str(bad["true"])), "two digits changed places, none changed"
    assert bad["typed"] - bad["true"] == bad["volume_gal"] > 0


def test_utility_file_holds_every_hour_of_its_month_and_sums_to_the_register() -> None:
    rows = sheet("metered_use")
    month = TRUTH["months"]["2026-07"]
    assert len(rows) == 31 * 24
    assert sum(int(r["volume_gal"]) for r in rows) == month["register_at_end"] - month["register_at_start"]
    assert all(a["end"] == b["start"] for a, b in pairwise(rows))


def test_the_night_of_the_stuck_valve_stands_in_the_hourly_file() -> None:
    stuck = event("stuck_open")
    first, last = (datetime.fromisoformat(stuck[k]) for k in ("start", "end"))
    assert (first.month, stuck["zone"]) == (7, "berries")
    hours = [r for r in sheet("metered_use") if first <= wall(r["start"]) and wall(r["end"]) <= last]
    assert len(hours) >= 7
    for row in hours:  # one more zone may run on top, nobody showers all night
        assert int(row["volume_gal"]) >= int(stuck["rate_gph"]) - 1
    length = (last - first).total_seconds() / 3600
    assert stuck["volume_gal"] == pytest.approx(stuck["rate_gph"] * length, rel=0.01)
    assert stuck["volume_gal"] > on_day("zone.berries", "2026-07-18") * 5


def test_the_week_of_the_dead_battery_is_dry_and_only_partly_written_down() -> None:
    dead = event("not_delivered")
    zones = [f"zone.{z}" for z in dead["zones"]]
    quiet = [f"2026-08-{d:02}" for d in range(9, 15)]
    assert all(on_day(zone, day) == 0 for zone in zones for day in quiet)
    assert sum(on_day(zone, "2026-08-15") for zone in zones) > 80, "watered by hand once it was found"
    written = {r["at"] for r in sheet("run") if r["ran"] == "no"}
    assert written == set(dead["written_as_missed"]) < set(quiet)
    assert -dead["volume_gal"] > 5 * 60


def test_the_leak_runs_day_and_night_until_it_is_repaired() -> None:
    leak = event("steady")
    assert on_day("leak", "2025-10-12") == pytest.approx(leak["rate_gph"] * 24, abs=0.01)
    assert on_day("leak", "2025-11-09") == 0
    assert sum(TRUTH["days"]["leak"]) == pytest.approx(leak["volume_gal"], abs=1)
    tests = {r["at"]: int(r["after"]) - int(r["before"]) for r in sheet("leak_test")}
    assert tests["2025-11-07 21:40"] in (6, 7)  # 3.4 gph for two hours by whole gallons
    assert tests["2025-11-08 09:50"] == tests["2025-11-08 13:00"] == 0
    assert {(r["verdict"], r["repaired_on"]) for r in sheet("decision") if r["finding"] == "steady"} == {
        ("repaired", leak["repaired"])
    }


def test_the_line_off_and_the_clogging_show_in_their_zones() -> None:
    off = event("more_than_set")
    usual = on_day("zone.fence", "2026-06-05")
    for day in ("2026-06-08", "2026-06-10", "2026-06-12", "2026-06-15", "2026-06-17"):
        assert on_day("zone.fence", day) > 2.5 * usual
    assert off["runs"] == 5
    assert on_day("zone.fence", "2026-06-22") == pytest.approx(usual, rel=0.06)
    clogged = event("less_than_set")
    before, worst = on_day("zone.kitchen", "2025-06-24"), on_day("zone.kitchen", "2025-09-11")
    assert worst / before == pytest.approx(clogged["share_left_at_end"], abs=0.04)
    flows = [float(r["volume_gal"]) for r in sheet("flow_test") if r["zone"] == "kitchen"]
    assert flows[0] / flows[1] == pytest.approx(clogged["share_left_at_end"], abs=0.03)


def test_one_pool_is_written_down_and_one_is_not() -> None:
    assert [r["start"] for r in sheet("other_use") if r["what"] == "pool"] == ["2026-06-27 09:30"]
    pool = event("one_off")
    explained = [r for r in sheet("decision") if r["finding"] == "one_off"]
    assert len(explained) == 1
    assert explained[0]["since"] <= pool["start"][:10] < explained[0]["until"]


def test_it_looks_like_a_small_garden() -> None:
    """Magnitudes: the meter studies name about 40 to 70 gal a person and day indoors, half outdoors in a dry summer."""
    months = TRUTH["months"]
    indoor = sum(m["parts_gal"]["indoor"] for m in months.values()) / len(TRUTH["days"]["indoor"]) / 2
    assert 38 < indoor < 70
    july = months["2026-07"]["parts_gal"]
    assert 0.45 < 1 - july["indoor"] / sum(july.values()) < 0.75
    for zone, flow in TRUTH["delivery_factors"].items():
        assert 20 <= flow["true_gph"] <= 100, zone
        assert 0.85 < flow["factor"] < 1.1, zone
    winter = months["2026-01"]["parts_gal"]
    assert sum(v for part, v in winter.items() if part != "indoor") == 0


def test_bills_follow_the_register_and_the_two_steps() -> None:
    """Two bills by hand from the tariff sheet; 24 bills that follow one another."""
    bills = sheet("bill")
    assert len(bills) == 24
    assert all(a["until"] == b["since"] for a, b in pairwise(bills))
    by_day = {b["since"]: b for b in bills}
    low, high = by_day["2025-03-05"], by_day["2026-06-05"]
    assert float(low["amount"]) == pytest.approx(21.40 + 30.10 + int(low["volume_gal"]) / 1000 * 3.15, abs=0.005)
    over = int(high["volume_gal"]) / 1000 - 4
    assert over > 0
    assert float(high["amount"]) == pytest.approx(22.65 + 31.50 + 4 * 3.40 + over * 6.25, abs=0.005)
