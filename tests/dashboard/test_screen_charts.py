"""Charts say what the frames say: amounts, units, gaps, signs below zero, text alternatives, colours one can see."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import altair as alt
import numpy as np
import pandas as pd
import pytest

from dashboard.charts import (
    days_drawing,
    depletion_drawing,
    intervals_drawing,
    need_drawing,
    reference_drawing,
    unexplained_drawing,
    use_drawing,
)
from dashboard.charts.base import Drawing, Look, stripes
from dashboard.colours import DARK, LIGHT, Palette, palette
from dashboard.parts.drawing import key_html
from tests.dashboard import invented
from tests.dashboard.drawn import data_of, look

GALLON_L = 3.785411784  # US gallon, exact (NIST Handbook 44)
INCH_MM = 25.4  # inch, exact (NIST SP 811)


def drawings() -> dict[str, Any]:
    review = invented.month()
    return {
        "use": use_drawing(review, look()),
        "days": days_drawing(review, look()),
        "need": need_drawing(review, look()),
        "intervals": intervals_drawing(review, look()),
        "unexplained": unexplained_drawing(review, look()),
        "depletion": depletion_drawing(review, look(), "tubs", "tubs", "Tubs"),
        "reference": reference_drawing(review, look()),
    }


@pytest.mark.parametrize("name", ["use", "days", "need", "intervals", "unexplained", "depletion", "reference"])
def test_every_chart_has_a_finding_a_text_and_a_table(name: str) -> None:
    drawing = drawings()[name]
    spec = drawing.spec
    alt.LayerChart.from_dict(spec, validate=True)
    assert len(drawing.title) > 10
    assert spec["description"] == drawing.text
    assert len(drawing.text) > 40
    assert len(drawing.table) > 0
    assert drawing.key


@pytest.mark.parametrize("name", ["use", "need", "intervals", "unexplained", "depletion", "reference"])
def test_axes_carry_the_unit_of_the_reader(name: str) -> None:
    spec = drawings()[name].spec
    titles = [
        layer["encoding"][axis]["title"]
        for layer in spec["layer"]
        for axis in ("x", "y")
        if "title" in layer.get("encoding", {}).get(axis, {})
    ]
    assert any(unit in str(title).split() for title in titles for unit in ("gal", "in")), titles


def test_bars_of_a_day_end_where_its_volumes_add_up() -> None:
    """14 July of the invented month: indoor 420 L + other 0 L + unexplained 900 L, an even day, so no zone ran."""
    rows = data_of(drawings()["use"].spec)
    day = rows[rows["date"].eq(14) & rows["part"].notna()]
    assert day["to"].max() == pytest.approx((420 + 10 * 0 + 900) / GALLON_L)
    assert day.loc[day["part"].eq("unexplained"), "from"].item() == pytest.approx(420 / GALLON_L)


def test_less_than_expected_falls_below_zero_and_is_not_clipped() -> None:
    rows = data_of(drawings()["use"].spec)
    below = rows[rows["date"].eq(20) & rows["part"].eq("unexplained")]
    assert below["to"].item() == pytest.approx(-120 / GALLON_L)
    assert below["from"].item() == 0


def test_metric_readers_get_litres_and_the_same_chart() -> None:
    rows = data_of(use_drawing(invented.month(), look("metric")).spec)
    assert rows.loc[rows["date"].eq(14), "to"].max() == pytest.approx(1320)


def test_the_title_names_the_day_nobody_can_explain() -> None:
    assert use_drawing(invented.month(), look("metric")).title == "Unexplained use was greatest on 14 July: 900 L"


def test_the_strip_tells_missed_paused_presumed_and_ran_apart_by_shape() -> None:
    spec = drawings()["days"].spec
    marks = [layer["mark"] for layer in spec["layer"]]
    signs = {(m.get("shape", "circle"), m.get("filled")) for m in marks}
    assert len(signs) == len(marks), "two states share one shape"
    assert days_drawing(invented.month(), look()).title == "Did not run: Tubs by the door on 2 days"


def signs(drawing: Drawing) -> str:
    """All that the signs of a strip say."""
    return str((drawing.spec or {})["datasets"])


def test_a_share_of_usual_rain_is_no_rain_on_a_day() -> None:
    weather = invented.weather_days_frame()
    assert ", Rain: " in signs(days_drawing(invented.month(), look()))
    usual = invented.month(weather_days=weather.assign(rain_basis="normals"))
    assert ", Rain: " not in signs(days_drawing(usual, look()))
    assert "Rain on 0 days" in days_drawing(usual, look()).text


def test_watering_by_hand_has_a_sign_and_a_key() -> None:
    days = invented.zone_days_frame()
    poured = days.assign(state="none", applied_l=[40.0, *[0.0] * (len(days) - 1)], run_minutes=0.0)
    drawing = days_drawing(invented.month(zone_days=poured), look())
    assert signs(drawing).count(": watered by hand") == 1
    assert ("watered by hand", LIGHT.ink, "◆") in drawing.key
    assert list(drawing.table["What"]).count("watered by hand") == 1
    hose = days_drawing(invented.month(zone_days=poured.assign(hand=True)), look())
    assert set(hose.table["What"]) == {"watered by hand", "nothing written down"}


def test_the_end_of_a_run_past_midnight_is_no_watering_by_hand() -> None:
    days = invented.zone_days_frame()
    after = days.assign(state="off", applied_l=[40.0, *[0.0] * (len(days) - 1)], run_minutes=60.0)
    assert ": watered by hand" not in signs(days_drawing(invented.month(zone_days=after), look()))


def test_need_says_who_got_too_much() -> None:
    """The slope: need 3800 L, 152 L of it by rain, 5000 L given, of which 1200 L drained: more than 30 % of 3648 L."""
    title = need_drawing(invented.month(), look("metric")).title
    assert title == "Too much in Slope: 1,200 L drained below the roots"


def test_need_says_who_got_too_little_by_the_threshold_of_the_sentences() -> None:
    """Tubs 0.69 and hedge 0.71 of 960 L that rain leaves of 1000: too little begins below 0.7 (WRF 4309)."""
    tubs, hedge = invented.zone_month("tubs", "Tubs", 1000, 662), invented.zone_month("hedge", "Hedge", 1000, 682)
    assert need_drawing(invented.month(zones=(tubs, hedge)), look()).title == (
        "Tubs got only 69 % of what it needed beyond rain"
    )
    assert need_drawing(invented.month(zones=(hedge,)), look()).title == "Every zone got about what it needed"


def test_a_stressed_day_is_told_and_in_inches() -> None:
    drawing = depletion_drawing(invented.month(), look(), "tubs", "tubs", "Tubs")
    frame = invented.plant_days_frame()
    short = int((frame["depletion_mm"] > 12).sum())
    assert drawing.title == f"Tubs: short of water on {short} days"
    assert drawing.table["Missing, in"].iloc[0] == f"{frame['depletion_mm'].iloc[0] / INCH_MM:,.2f}"


def test_a_month_without_frames_says_so_instead_of_drawing() -> None:
    bare = invented.month(
        days=pd.DataFrame(),
        intervals=pd.DataFrame(),
        zone_days=pd.DataFrame(),
        plant_days=pd.DataFrame(),
        weather_days=pd.DataFrame(),
        zones=(),
    )
    for drawing in (
        use_drawing(bare, look()),
        days_drawing(bare, look()),
        need_drawing(bare, look()),
        intervals_drawing(bare, look()),
        unexplained_drawing(bare, look()),
        depletion_drawing(bare, look(), "tubs", "tubs", "Tubs"),
        reference_drawing(bare, look()),
    ):
        assert drawing.spec is None
        assert drawing.title


def test_names_a_person_typed_never_become_markup() -> None:
    html = key_html((("<img src=x onerror=alert(1)>", "#123456", "fill"),))
    assert "<img" not in html


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, definition)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("shades", [LIGHT, DARK])
def test_marks_can_be_seen_on_their_ground(shades: Palette) -> None:
    """WCAG 2.2 1.4.11: 3 to 1 for graphics; pale rain is carried by its edge. 1.4.3: 4.5 to 1 for text."""
    assert contrast(shades.ink, shades.ground) >= 4.5
    solid = [f.name for f in fields(shades) if isinstance(getattr(shades, f.name), str)]
    for name in set(solid) - {"ground", "rain", "faint"}:
        assert contrast(getattr(shades, name), shades.ground) >= 3, name
    for shade in shades.zones(list("abcdefgh")).values():
        assert contrast(shade, shades.ground) >= 3


def test_each_zone_has_its_own_shade_and_keeps_it() -> None:
    shades = LIGHT.zones(["a", "b", "c", "d", "e"])
    assert len(set(shades.values())) == 5
    assert palette("dark") is DARK
    assert palette(None) is LIGHT


def test_unexplained_is_striped_as_well_as_coloured() -> None:
    stops = stripes("#ff0000", "#ffffff")["stops"]
    assert {s["color"] for s in stops} == {"#ff0000", "#ffffff"}
    spec = drawings()["use"].spec
    striped = [layer for layer in spec["layer"] if isinstance(layer["mark"].get("fill"), dict)]
    assert len(striped) == 1
    assert striped[0]["mark"]["stroke"] == LIGHT.unexplained


def test_plants_at_rest_are_not_called_short() -> None:
    """The same month, once awake and once at rest for the winter: the numbers stand, the verdict goes."""
    awake = invented.month()
    need = replace(awake, zones=tuple(replace(z, resting=True) for z in awake.zones))
    asleep = replace(need, zone_days=awake.zone_days.assign(resting=True))
    assert "short of water on" in depletion_drawing(awake, look(), "tubs", "tubs", "Tubs").title
    told = depletion_drawing(asleep, look(), "tubs", "tubs", "Tubs")
    assert told.title == "Tubs: at rest for the winter"
    assert (told.table["Short"] == "").all()
    assert need_drawing(asleep, look()).title.startswith("At rest for the winter")
    assert "Too much in Slope" in need_drawing(awake, look()).title


def test_days_that_were_all_held_off_are_not_days_that_ran() -> None:
    awake = invented.month()
    zones = tuple(replace(z, missed_days=0, unvouched_days=0) for z in awake.zones)
    held = replace(awake, zones=zones, zone_days=awake.zone_days.assign(state="paused"))
    assert days_drawing(held, look()).title == "Paused on purpose: nothing ran"


def test_a_run_still_to_come_has_its_own_sign_words_and_title() -> None:
    """The last day of July, seen before its runs; all other days as in a month in which nothing ran."""
    days, last = invented.zone_days_frame(), invented.DAYS[-1]
    seen = days.assign(state=days["state"].where(days["day"] != last, "due"))
    drawing = days_drawing(invented.month(zone_days=seen), look())
    assert ("set for later today, not yet due", LIGHT.ink, "▷") in drawing.key
    assert signs(drawing).count(": set for later today, not yet due") == len(invented.ZONES)
    assert "Still to run later today: Quince hedge, Tubs by the door, Kitchen *beds* and Slope." in drawing.text
    assert "not yet due" not in str(days_drawing(invented.month(), look()).key)
    zones = tuple(replace(z, missed_days=0, unvouched_days=0) for z in invented.month().zones)
    only = invented.month(zones=zones, zone_days=seen[seen["day"] == last])
    assert days_drawing(only, look()).title == "The first run is still to come, later today"
    ran = seen.assign(state=seen["state"].where(seen["state"] == "due", "ran"))
    told = days_drawing(invented.month(zones=zones, zone_days=ran), look()).title
    assert told == "Every day that was set ran, and today's run is still to come"


def test_a_day_on_which_water_did_not_come_stands_out_as_well() -> None:
    """On 9 July 400 L that were expected never came, where a day has about 900; every other day is as it was."""
    days = invented.days_frame()
    lost = (days["part"] == "unexplained") & (days["kind"] == "metered")
    days.loc[lost, "volume_l"] = np.where(days.loc[lost, "day"].dt.day == 9, -400.0, 0.0)
    title = use_drawing(invented.month(days=days), look("metric")).title
    assert title == "On 9 July 400 L of what was expected never came"
    chance = days.assign(sd_l=300.0)  # 400 L are within 1.64 standard deviations of 300 L
    assert use_drawing(invented.month(days=chance), look("metric")).title.startswith("No day stands out")


def test_where_no_run_was_set_the_house_used_less_and_nothing_failed_to_come() -> None:
    days = invented.days_frame()
    lost = (days["part"] == "unexplained") & (days["kind"] == "metered")
    days.loc[lost, "volume_l"] = np.where(days.loc[lost, "day"].dt.day == 9, -400.0, 0.0)
    days.loc[days["part"].str.startswith("zone:") & (days["day"].dt.day == 9), "volume_l"] = 0.0
    title = use_drawing(invented.month(days=days), look("metric")).title
    assert title == "On 9 July the house used 400 L less than expected"


def test_days_without_a_reading_between_others_are_told_in_the_key_and_the_end_by_its_line() -> None:
    days = invented.days_frame()
    paler = "paler: no reading tells of that day"

    def told(frame: pd.DataFrame) -> tuple[bool, bool]:
        drawing = use_drawing(invented.month(days=frame), look())
        return paler in [words for words, _, _ in drawing.key], "the meter reaches here" in str(drawing.spec)

    assert told(days.assign(kind="metered")) == (False, False)
    assert told(days.assign(kind=np.where(days["day"].dt.day.isin([11, 12, 13]), "modelled", "metered"))) == (
        True,
        False,
    )
    assert told(days.assign(kind=np.where(days["day"].dt.day > 28, "modelled", "metered"))) == (False, True)


def test_the_key_lists_what_is_drawn() -> None:
    days = invented.days_frame()
    none = days.assign(volume_l=days["volume_l"].where(days["part"] != "zone:tubs", 0.0))
    entries = [words for words, _, _ in use_drawing(invented.month(days=none), look()).key]
    assert invented.ZONES["tubs"] not in entries
    assert entries[0] == "Indoor"
    assert entries[-1] == "Unexplained"


def test_a_week_spread_evenly_is_named_by_its_readings_and_not_by_a_day() -> None:
    """Readings of 6 and 13 July at 07:00 in Denver (UTC-6): 1,400 L nobody can explain are 200 L on each day."""
    week = pd.DataFrame(
        {
            "meter": "house",
            "start": [pd.Timestamp("2026-07-06 13:00", tz="UTC")],
            "end": [pd.Timestamp("2026-07-13 13:00", tz="UTC")],
            "metered_l": 7000.0, "indoor_l": 3600.0, "zones_l": 2000.0, "other_l": 0.0, "unexplained_l": 1400.0,
            "sd_l": 30.0, "note": "",
        }
    )  # fmt: skip
    days = invented.days_frame()
    lost = (days["part"] == "unexplained") & (days["kind"] == "metered")
    days.loc[lost, "volume_l"] = np.where(days.loc[lost, "day"].dt.day.between(6, 12), 900.0, 0.0)
    title = use_drawing(invented.month(days=days, intervals=week), look("metric")).title
    assert title == "Unexplained use was greatest between the readings of 6 July and 13 July: 900 L a day"


def test_a_month_without_zones_is_told_without_empty_stops() -> None:
    review = replace(invented.month(), zones=())
    assert ". ." not in days_drawing(review, look()).text


def test_charts_do_not_call_unexplained_what_is_settled() -> None:
    settled = invented.month(settled={"harmless": 900.0})
    seen = Look.of(settled, "metric", LIGHT)
    for drawing in (use_drawing(settled, seen), intervals_drawing(settled, seen), unexplained_drawing(settled, seen)):
        said = [drawing.title, drawing.text, *map(str, drawing.table.columns), *(name for name, _, _ in drawing.key)]
        assert not [words for words in said if "nexplained" in words or "explains" in words]
        assert any("eft over" in words for words in said)
