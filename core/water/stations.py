"""Daily weather as stations give it, made ready for the equations: mistakes of unit refused, impossible values left
out, missing humidity, wind and radiation replaced as FAO-56 chapter 3 says, and the best station of each day chosen.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from core.errors import EntryError
from core.water.sun import (
    WEAK_WINTER_LATITUDE,
    Floats,
    clear_sky_radiation,
    daylight_hours,
    declination,
    extraterrestrial_radiation,
    solar_from_sunshine,
    solar_from_temperature,
)
from core.water.vapour import (
    DEFAULT_WIND_MPS,
    vapour_from_dewpoint,
    vapour_from_highest_humidity,
    vapour_from_humidity,
    vapour_from_lowest_temperature,
    wind_at_2m,
)

VALUES = (
    "tmin_c",
    "tmax_c",
    "dewpoint_c",
    "humidity_min",
    "humidity_max",
    "wind_mps",
    "wind_height_m",
    "solar_mj_m2",
    "sunshine_hours",
    "reference_et_mm",
)

# What no day on earth has shown; a value outside is left out, and the note says so.
_POSSIBLE = {
    "tmin_c": (-90.0, 60.0),
    "tmax_c": (-90.0, 60.0),
    "dewpoint_c": (-90.0, 40.0),
    "humidity_min": (0.0, 100.0),
    "humidity_max": (0.0, 100.0),
    "wind_mps": (0.0, 60.0),
    "wind_height_m": (0.2, 200.0),
    "solar_mj_m2": (0.0, 50.0),
    "sunshine_hours": (0.0, 24.0),
    "reference_et_mm": (0.0, 25.0),
}

_NOTES = (
    "a value that cannot be was left out",
    "humidity from its highest value alone (FAO-56 eq. 18)",
    "humidity not known: the dew point taken as the lowest temperature (FAO-56 eq. 48)",
    "wind not known: 2 m/s taken (FAO-56 chapter 3)",
    "height of the wind gauge not known: 2 m taken",
    "radiation from the hours of sunshine (FAO-56 eq. 35)",
    "radiation not known: from the span of temperature, inland (FAO-56 eq. 50)",
    "no sun all day: polar night",
    "winter above 55 degrees: the equations for the sun are weak here (FAO-56 chapter 3)",
)
_IMPOSSIBLE, _RH_HIGH, _NO_HUMIDITY, _NO_WIND, _NO_HEIGHT, _SUNSHINE, _NO_SOLAR, _NIGHT, _WEAK = range(len(_NOTES))


def guard_units(weather: pd.DataFrame, latitude_deg: float, elevation_m: float) -> None:
    """Refuse weather whose columns look like another unit, in a sentence that says which.

    Only what a whole column shows is judged here (its median); single impossible values are left out later.

    Raises:
        EntryError: latitude, elevation, or the first suspicious column.
    """
    if not -90 <= latitude_deg <= 90:
        raise EntryError(f"The latitude is {latitude_deg:g}. Expected degrees from -90 (south) to 90 (north).")
    if not -450 <= elevation_m <= 9000:
        raise EntryError(f"The elevation is {elevation_m:g} m. Expected -450 to 9000 m; feet are 0.3048 m.")
    heat = _median(weather, "tmax_c")
    checks: tuple[tuple[bool, str], ...] = (
        (heat > 150, f"The highest temperatures look like kelvin (median {heat:g}). Expected C: take off 273.15."),
        (heat > 55, f"The highest temperatures look like Fahrenheit (median {heat:g}). Expected C: (F - 32) / 1.8."),
        (
            _greatest(weather, "humidity_max") <= 1 and _greatest(weather, "humidity_max") > 0,
            "Humidity looks like a share between 0 and 1. Expected percent: multiply by 100.",
        ),
        (
            _median(weather, "solar_mj_m2") > 48,
            "Radiation is more than the sun gives. Expected MJ/m2 a day: a mean in W/m2 times 0.0864, "
            "or langleys times 0.04184.",
        ),
        (
            _median(weather, "wind_mps") > 25,
            "Wind looks like km/h or mph. Expected m/s: km/h divided by 3.6, or mph times 0.44704.",
        ),
        (
            _inches(weather),
            "Reference ET looks like inches. Expected mm: inches times 25.4.",
        ),
    )
    for wrong, sentence in checks:
        if wrong:
            raise EntryError(sentence)


def best_rows(weather: pd.DataFrame, latitude_deg: float, elevation_m: float) -> pd.DataFrame:
    """One row for each day that any station knows: the station that allows the best method, with inputs completed.

    Among stations equal in method the one with more measured inputs, then the one with more days, then the first
    by name is taken.

    Returns:
        Frame with day, station, method ("measured", "penman-monteith", "hargreaves"), tmin_c, tmax_c, vapour_kpa,
        wind_2m_mps, solar_mj_m2, reference_et_mm, note. Days about which nothing useful is known are absent.
    """
    rows = _tidy(weather)
    flags = np.zeros((len(rows), len(_NOTES)), dtype=bool)
    flags[:, _IMPOSSIBLE] = _leave_out_impossible(rows)
    doy = rows["day"].dt.day_of_year.to_numpy(dtype=np.float64)
    top = extraterrestrial_radiation(latitude_deg, doy)
    too_bright = rows["solar_mj_m2"].to_numpy() > top + 1.0  # the ground cannot get more than the top of the air
    rows.loc[too_bright, "solar_mj_m2"] = np.nan
    flags[:, _IMPOSSIBLE] |= too_bright
    known = _complete(rows, flags, top, daylight_hours(latitude_deg, doy), elevation_m)
    temperature = rows["tmin_c"].notna().to_numpy() & rows["tmax_c"].notna().to_numpy()
    measured = rows["reference_et_mm"].notna().to_numpy()
    rank = np.select([measured, temperature & (known >= 2), temperature], [3, 2, 1], 0)
    rows["method"] = np.array(["", "hargreaves", "penman-monteith", "measured"], dtype=object)[rank]
    flags[rank != 2, _RH_HIGH : _NO_SOLAR + 1] = False  # replacements only matter to Penman-Monteith
    flags[:, _NIGHT] = (top <= 0) & (rank < 3)
    weak = (abs(latitude_deg) > WEAK_WINTER_LATITUDE) & (declination(doy) * np.sign(latitude_deg) < 0)
    flags[:, _WEAK] = weak & (rank < 3) & ~flags[:, _NIGHT]
    rows["note"] = _words(flags, rows["station"])
    rows["rank"], rows["known"] = -rank, -known
    rows["reach"] = -rows.groupby("station")["day"].transform("size") if len(rows) else 0
    rows = rows[rank > 0].sort_values(["day", "rank", "known", "reach", "station"], kind="stable")
    return rows.drop_duplicates("day").drop(columns=["rank", "known", "reach"]).reset_index(drop=True)


def _tidy(weather: pd.DataFrame) -> pd.DataFrame:
    """The columns needed, as floats and days, whatever the frame lacks counted as empty."""
    rows = pd.DataFrame(index=range(len(weather)))
    rows["station"] = weather["station"].to_numpy(dtype=object) if "station" in weather else "home"
    rows["day"] = pd.to_datetime(pd.Series(weather["day"].to_numpy() if "day" in weather else [])).dt.normalize()
    for name in VALUES:
        rows[name] = pd.to_numeric(weather[name]).to_numpy(dtype=np.float64) if name in weather else np.nan
    return rows


def _leave_out_impossible(rows: pd.DataFrame) -> np.ndarray:
    found = np.zeros(len(rows), dtype=bool)
    for name, (least, most) in _POSSIBLE.items():
        value = rows[name].to_numpy()
        bad = (value < least) | (value > most)
        rows.loc[bad, name] = np.nan
        found |= bad
    crossed = (rows["tmin_c"] > rows["tmax_c"]).to_numpy()
    rows.loc[crossed, ["tmin_c", "tmax_c"]] = np.nan
    wet = (rows["dewpoint_c"] > rows["tmax_c"]).to_numpy()
    rows.loc[wet, "dewpoint_c"] = np.nan
    swapped = (rows["humidity_min"] > rows["humidity_max"]).to_numpy()
    rows.loc[swapped, ["humidity_min", "humidity_max"]] = np.nan
    return np.asarray(found | crossed | wet | swapped)


def _complete(rows: pd.DataFrame, flags: np.ndarray, top: Floats, daylight: Floats, elevation_m: float) -> np.ndarray:
    """Vapour pressure, wind at 2 m and radiation of every row; how many of the three were measured."""
    take: Callable[[str], Floats] = lambda name: rows[name].to_numpy(dtype=np.float64)  # noqa: E731
    tmin, tmax, low, high = take("tmin_c"), take("tmax_c"), take("humidity_min"), take("humidity_max")
    dew = vapour_from_dewpoint(take("dewpoint_c"))
    both = vapour_from_humidity(tmin, tmax, low, high)
    highest = vapour_from_highest_humidity(tmin, high)
    has = [np.isfinite(dew), np.isfinite(both), np.isfinite(highest)]
    rows["vapour_kpa"] = np.select(has, [dew, both, highest], vapour_from_lowest_temperature(tmin))
    humid = has[0] | has[1] | has[2]
    flags[:, _RH_HIGH] = has[2] & ~has[0] & ~has[1]
    flags[:, _NO_HUMIDITY] = ~humid

    wind, height = take("wind_mps"), take("wind_height_m")
    blown = np.isfinite(wind)
    rows["wind_2m_mps"] = np.where(
        blown, np.where(np.isfinite(height), wind_at_2m(wind, np.fmax(height, 0.2)), wind), DEFAULT_WIND_MPS
    )
    flags[:, _NO_WIND] = ~blown
    flags[:, _NO_HEIGHT] = blown & ~np.isfinite(height)

    solar, sunshine = take("solar_mj_m2"), take("sunshine_hours")
    shone = np.isfinite(solar), np.isfinite(sunshine)
    guessed = solar_from_temperature(top, tmin, tmax, clear_sky_mj_m2=clear_sky_radiation(top, elevation_m))
    rows["solar_mj_m2"] = np.select(shone, [solar, solar_from_sunshine(top, sunshine, daylight)], guessed)
    flags[:, _SUNSHINE] = shone[1] & ~shone[0]
    flags[:, _NO_SOLAR] = ~shone[0] & ~shone[1]
    return np.asarray(humid.astype(int) + blown + (shone[0] | shone[1]))


def _words(flags: np.ndarray, station: pd.Series) -> np.ndarray:
    """Each row's notes in words, with the station's name when there are several; few sorts of note, many rows."""
    codes = flags @ (1 << np.arange(len(_NOTES)))
    several = station.nunique() > 1
    sorts, sort_of = np.unique(codes, return_inverse=True)
    said = ["; ".join(n for bit, n in enumerate(_NOTES) if code >> bit & 1) for code in sorts]
    words = np.array(said, dtype=object)[sort_of] if said else np.array([], dtype=object)
    if not several:
        return np.asarray(words)
    return np.array(
        [f"station {s}" + (f"; {w}" if w else "") for s, w in zip(station, words, strict=True)], dtype=object
    )


def _median(weather: pd.DataFrame, name: str) -> float:
    column = pd.to_numeric(weather[name]).dropna() if name in weather else pd.Series(dtype=float)
    return float(column.median()) if len(column) else float("-inf")


def _greatest(weather: pd.DataFrame, name: str) -> float:
    column = pd.to_numeric(weather[name]).dropna() if name in weather else pd.Series(dtype=float)
    return float(column.max()) if len(column) else float("inf")


def _inches(weather: pd.DataFrame) -> bool:
    """Reference ET under 0.6 on hot days, more than half of them, can only be inches: hot days take 3 mm and more."""
    if "reference_et_mm" not in weather or "tmax_c" not in weather:
        return False
    hot = weather.loc[pd.to_numeric(weather["tmax_c"]) > 25, "reference_et_mm"]
    hot = pd.to_numeric(hot).dropna()
    return len(hot) >= 5 and bool(0 < hot.median() < 0.6)
