"""What was written down about care: tasks, what was done, the two shutdowns and start-ups, decisions."""

from __future__ import annotations

from datetime import date

from maker import story
from maker.garden import VALVES
from maker.tables import Row

D = date

_TASKS: tuple[tuple[str, str, int | None, str, str, str], ...] = (
    ("rinse-filter", "Rinse the filter", 60, "", "watering", "Shut the water first and let the pressure off."),
    (
        "check-emitters",
        "Walk the zones while they run",
        30,
        "",
        "watering",
        "Wet spots, dry plants, lines off fittings.",
    ),
    ("change-batteries", "New batteries for the timer", 365, "", "any", "Two AA. Look at clock and program after."),
    ("flush-lines", "Flush the lines", 365, "", "watering", "Ends open until the water is clear."),
    ("catch-test", "Cups under the kitchen emitters", 365, "", "watering", ""),
    ("leak-test", "Leak test at the meter", 90, "", "any", "All off, read, wait an hour, read."),
    ("backflow", "Look over the vacuum breaker", 365, "", "any", "Drips, cracks. Ask the water office about a test."),
    ("clock", "Look at the timer's clock after the clock change in spring", None, "03-14", "any", ""),
    ("clock-back", "Look at the timer's clock after the clock change in autumn", None, "11-07", "any", ""),
    ("repair", "Repairs", None, "", "any", ""),
)
_CAUTIONS = {
    "rinse-filter": "The housing is under pressure until the water is shut and let off.",
    "backflow": "It keeps garden water out of the drinking water. Local code decides who may test and repair it.",
}

_DONE: tuple[tuple[str, date, str | None, float, str], ...] = (
    ("change-batteries", D(2025, 4, 12), None, 7.5, "start-up"),
    ("rinse-filter", D(2025, 4, 12), None, 0, "start-up"),
    ("backflow", D(2025, 4, 12), None, 0, ""),
    ("flush-lines", D(2025, 4, 12), None, 0, "start-up"),
    ("leak-test", D(2025, 5, 11), None, 0, ""),
    ("check-emitters", D(2025, 5, 17), None, 0, ""),
    ("check-emitters", D(2025, 6, 15), None, 0, ""),
    ("check-emitters", D(2025, 9, 12), None, 0, "Kitchen: half the emitters only weep"),
    ("catch-test", D(2025, 9, 13), "kitchen", 0, "Before and after cleaning"),
    ("rinse-filter", D(2025, 9, 13), None, 0, "Screen had a tear, sand behind it"),
    ("repair", D(2025, 9, 13), "kitchen", 18.9, "New filter screen; lines soaked and flushed, 14 emitters changed"),
    ("clock", D(2025, 9, 14), None, 0, ""),
    ("leak-test", D(2025, 11, 8), None, 0, "Found it: fill valve of the upstairs toilet"),
    ("repair", D(2025, 11, 8), None, 14.3, "New fill valve, upstairs toilet"),
    ("clock", D(2026, 4, 11), None, 0, "start-up"),
    ("rinse-filter", D(2026, 4, 11), None, 0, "start-up"),
    ("flush-lines", D(2026, 4, 11), None, 0, "start-up"),
    ("backflow", D(2026, 4, 11), None, 0, ""),
    ("check-emitters", D(2026, 4, 11), None, 0, "start-up"),
    ("check-emitters", D(2026, 5, 9), None, 0, ""),
    ("leak-test", D(2026, 6, 7), None, 0, ""),
    ("check-emitters", D(2026, 6, 18), "fence", 0, "Line off its fitting at the corner post, mud all round"),
    ("repair", D(2026, 6, 20), "fence", 3.2, "Line pushed back on the elbow, clamp added"),
    ("rinse-filter", D(2026, 6, 20), None, 0, ""),
    ("check-emitters", D(2026, 7, 18), None, 0, "Berry rows soggy on Friday, no idea why"),
    ("change-batteries", D(2026, 8, 15), None, 8.2, "Dead. Nobody knows since when; soil dry everywhere"),
    ("check-emitters", D(2026, 8, 16), None, 0, ""),
    ("leak-test", D(2026, 9, 6), None, 0, ""),
    ("rinse-filter", D(2026, 9, 12), None, 0, ""),
    ("check-emitters", D(2026, 10, 10), None, 0, ""),
)  # fmt: skip

_SHUTDOWN = (
    ("close-supply", ("town",)), ("let-off-pressure", tuple(VALVES)), ("batteries-out", ("timer",)),
    ("backflow-drain", ("town",)), ("filter-off", ("town",)), ("regulator-off", ("town",)),
    ("manifold-drain", ("town",)), ("open-ends", tuple(VALVES)), ("close-loosely", ("",)), ("hose-off", ("hose",)),
    ("barrel-empty", ("barrel",)), ("wrap", ("",)), ("store", ("",)), ("last-reading", ("street",)),
)  # fmt: skip
_STARTUP = (
    ("look-over", ("",)), ("washers", ("",)), ("filter-clean", ("town",)), ("regulator-on", ("town",)),
    ("backflow-on", ("town",)), ("batteries-in", ("timer",)), ("hose-on", ("hose",)), ("barrel-back", ("barrel",)),
    ("open-ends", tuple(VALVES)), ("open-slowly", ("town",)), ("flush-main", ("town",)), ("flush", tuple(VALVES)),
    ("run-and-look", tuple(VALVES)), ("set-program", ("timer",)), ("first-reading", ("street",)),
)  # fmt: skip

# Steps that were not simply done: state and why, or another day.
_OTHERWISE: dict[tuple[str, int, str, str], tuple[str, date | None, str]] = {
    ("shutdown", 2024, "wrap", ""): ("done", D(2024, 11, 9), ""),
    ("shutdown", 2024, "barrel-empty", "barrel"): ("done", D(2024, 11, 9), ""),
    ("shutdown", 2024, "blow-out", "town"): ("not_needed", None, "Drains by its ends"),
    ("shutdown", 2025, "barrel-empty", "barrel"): ("done", D(2025, 10, 26), ""),
    ("shutdown", 2025, "wrap", ""): ("skipped", None, "The faucet is frost-proof; nothing else stays out"),
    ("startup", 2025, "open-ends", "gravel"): ("skipped", None, "End cap buried; flushed through an emitter hole"),
    ("startup", 2025, "run-and-look", "porch"): ("not_needed", None, "Pots come out in May"),
    ("startup", 2025, "run-and-look", "gravel"): ("not_needed", None, "Not before May"),
    ("startup", 2026, "batteries-in", "timer"): (
        "skipped",
        None,
        "The old ones went back in: the display shows them full",
    ),
    ("startup", 2026, "run-and-look", "porch"): ("not_needed", None, "Pots come out in May"),
    ("startup", 2026, "test-flow", "berries"): ("done", D(2026, 5, 9), ""),
}


def sheets() -> dict[str, list[Row]]:
    """The sheets of care."""
    upkeep: list[Row] = []
    for task, day, zone, cost, note in _DONE:
        nth = 1 + sum(1 for u in upkeep if (u["task"], u["day"]) == (task, day))
        upkeep.append({"task": task, "day": day, "nth": nth, "zone": zone, "cost": cost, "note": note})
    return {
        "task": [
            {"code": code, "name": name, "every_days": every, "due_by": due, "season_only": season,
             "caution": _CAUTIONS.get(code, ""), "how": how}
            for code, name, every, due, season, how in _TASKS
        ],
        "upkeep": upkeep,
        "checklist_step": [
            *_walked("shutdown", story.SHUT_2024), *_walked("startup", story.START_2025),
            *_walked("shutdown", story.SHUT_2025), *_walked("startup", story.START_2026),
        ],
        "decision": [
            {"finding": "one_off", "meter": "street", "since": D(2025, 6, 15), "until": D(2025, 6, 23),
             "decided_at": "2025-07-02 19:40", "verdict": "explained", "note": "The pool. Nobody wrote it down."},
            {"finding": "steady", "meter": "street", "since": D(2025, 9, 27), "until": D(2025, 11, 8),
             "decided_at": "2025-11-08 14:20", "verdict": "repaired", "repaired_on": D(2025, 11, 8),
             "note": "Fill valve of the upstairs toilet"},
        ],
    }  # fmt: skip


def _walked(season: str, day: date) -> list[Row]:
    steps = [
        (step, subject) for step, subjects in (_SHUTDOWN if season == "shutdown" else _STARTUP) for subject in subjects
    ]
    steps += [key[2:] for key in _OTHERWISE if key[:2] == (season, day.year) and key[2:] not in steps]
    rows = []
    for step, subject in steps:
        state, other_day, why = _OTHERWISE.get((season, day.year, step, subject), ("done", None, ""))
        rows.append({"season": season, "year": day.year, "step": step, "subject": subject, "state": state,
                     "day": other_day or day, "why": why})  # fmt: skip
    return rows
