"""Places to begin from, so that nobody must look up coordinates.

Common knowledge from memory, rounded to a tenth of a degree and about ten metres: near enough for day length and air
pressure. Name: latitude, longitude, metres above the sea, time zone.
"""

from __future__ import annotations

PLACES: dict[str, tuple[float, float, int, str]] = {
    "Adelaide": (-34.9, 138.6, 50, "Australia/Adelaide"),
    "Albuquerque": (35.1, -106.6, 1620, "America/Denver"),
    "Athens": (38.0, 23.7, 70, "Europe/Athens"),
    "Atlanta": (33.7, -84.4, 320, "America/New_York"),
    "Austin": (30.3, -97.7, 150, "America/Chicago"),
    "Berlin": (52.5, 13.4, 35, "Europe/Berlin"),
    "Boise": (43.6, -116.2, 830, "America/Boise"),
    "Boston": (42.4, -71.1, 10, "America/New_York"),
    "Cape Town": (-33.9, 18.4, 20, "Africa/Johannesburg"),
    "Chicago": (41.9, -87.6, 180, "America/Chicago"),
    "Dallas": (32.8, -96.8, 130, "America/Chicago"),
    "Denver": (39.7, -105.0, 1610, "America/Denver"),
    "El Paso": (31.8, -106.5, 1140, "America/Denver"),
    "Kansas City": (39.1, -94.6, 280, "America/Chicago"),
    "Las Vegas": (36.2, -115.1, 610, "America/Los_Angeles"),
    "Lisbon": (38.7, -9.1, 80, "Europe/Lisbon"),
    "London": (51.5, -0.1, 10, "Europe/London"),
    "Los Angeles": (34.1, -118.2, 90, "America/Los_Angeles"),
    "Madrid": (40.4, -3.7, 660, "Europe/Madrid"),
    "Melbourne": (-37.8, 145.0, 30, "Australia/Melbourne"),
    "Miami": (25.8, -80.2, 0, "America/New_York"),
    "Minneapolis": (45.0, -93.3, 260, "America/Chicago"),
    "New York": (40.7, -74.0, 10, "America/New_York"),
    "Perth": (-32.0, 115.9, 20, "Australia/Perth"),
    "Phoenix": (33.4, -112.1, 330, "America/Phoenix"),
    "Portland, Oregon": (45.5, -122.7, 20, "America/Los_Angeles"),
    "Raleigh": (35.8, -78.6, 100, "America/New_York"),
    "Reno": (39.5, -119.8, 1370, "America/Los_Angeles"),
    "Rome": (41.9, 12.5, 20, "Europe/Rome"),
    "Sacramento": (38.6, -121.5, 10, "America/Los_Angeles"),
    "Salt Lake City": (40.8, -111.9, 1290, "America/Denver"),
    "San Diego": (32.7, -117.2, 20, "America/Los_Angeles"),
    "Santiago": (-33.4, -70.7, 570, "America/Santiago"),
    "Seattle": (47.6, -122.3, 50, "America/Los_Angeles"),
    "Spokane": (47.7, -117.4, 570, "America/Los_Angeles"),
    "Toronto": (43.7, -79.4, 80, "America/Toronto"),
    "Tucson": (32.2, -111.0, 730, "America/Phoenix"),
}
