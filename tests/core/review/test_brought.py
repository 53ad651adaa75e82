"""What strong findings say of the water that runs brought counts for the plants, and what a person says of any; weaker
ones and guesses do not.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from core.accounts.account import MeterAccount
from core.accounts.findings import Cause, Finding, FindingKind
from core.accounts.flow import dated_by_day
from core.figures import Figure
from core.review.brought import evidence_as_told, factors_as_told

DENVER = ZoneInfo("America/Denver")
FIRST, LAST = date(2026, 7, 1), date(2026, 7, 10)
DAYS = pd.date_range(FIRST, LAST)


def finding(kind: FindingKind, zone: str | None = "bed", group: tuple[str, ...] = ("bed",), **more: object) -> Finding:
    """From the evening of the 3rd to the 6th of July, local; two fifths of the water missing."""
    fields: dict[str, object] = {
        "since": datetime(2026, 7, 4, 3, tzinfo=UTC), "until": datetime(2026, 7, 6, 15, tzinfo=UTC),
        "rate_lph": None, "volume": Figure(-90.0, "volume"), "strength": "strong", "score": 9.0, "share": -0.4,
    }  # fmt: skip
    return Finding(kind=kind, meter="curb", zone=zone, group=group, **(fields | more))  # type: ignore[arg-type]


def accounts(*findings: Finding, every: str = "h") -> dict[str, MeterAccount]:
    """A meter read every hour, or every day at eight, that knows the bed to bring 0.9 of paper, and of no run whether
    it came but that of the 5th.
    """
    evidence = pd.DataFrame({"zone": ["bed", "pots"] * 10, "day": np.repeat(DAYS, 2), "evidence": "", "log_odds": 0.0})
    evidence.loc[evidence["day"] == "2026-07-05", "evidence"] = "meter confirms"
    delivery = pd.DataFrame({"zone": ["bed", "pots"], "factor": [0.9, 1.1]})
    read = pd.date_range("2026-07-01 08:00", "2026-07-11 08:00", freq=every, tz=DENVER).tz_convert("UTC")
    intervals, nothing = pd.DataFrame({"start": read[:-1], "end": read[1:]}), pd.DataFrame()
    return {
        "curb": MeterAccount(
            "curb", intervals, nothing, Figure(None, "volume"), delivery, findings, (), evidence, (), None
        )
    }


def factor_of_bed(*findings: Finding) -> list[float]:
    table = dated_by_day(factors_as_told(accounts(*findings), DENVER), FIRST, LAST, "factor", "zone")
    assert (table["pots"] == 1.1).all()
    return [float(value) for value in table["bed"]]


def days_without(zone: str, *findings: Finding, every: str = "h") -> list[int]:
    """Days on which the zone's run, from four to five in the morning, counts as not having come."""
    start = (DAYS + pd.Timedelta(hours=4)).tz_localize(DENVER).tz_convert("UTC")
    runs = pd.concat(
        pd.DataFrame({"zone": z, "day": DAYS, "start": start, "end": start + pd.Timedelta(hours=1)})
        for z in ("bed", "pots")
    )
    told = evidence_as_told(accounts(*findings, every=every), runs.reset_index(drop=True))
    against = told[(told["zone"] == zone) & (told["evidence"] == "meter contradicts")]
    return [day.day for day in against["day"]]


def test_a_clogged_zone_brings_what_is_left_on_its_days() -> None:
    expected = [0.9] * 2 + [0.54] * 4 + [0.9] * 4
    assert factor_of_bed(finding("less_than_set")) == pytest.approx(expected)


def test_what_still_goes_on_holds_to_the_end() -> None:
    assert factor_of_bed(finding("less_than_set", until=None)) == pytest.approx([0.9] * 2 + [0.54] * 8)


def test_other_minutes_bring_all_zones_their_share_on_its_days() -> None:
    """Turned up by half: 0.9 and 1.1 of paper become 1.35 and 1.65; of a clock that is off nothing is known."""
    longer = finding("another_schedule", None, ("bed", "pots"), share=0.5)
    table = dated_by_day(factors_as_told(accounts(longer), DENVER), FIRST, LAST, "factor", "zone")
    assert table["bed"].tolist() == pytest.approx([0.9] * 2 + [1.35] * 4 + [0.9] * 4)
    assert table["pots"].tolist() == pytest.approx([1.1] * 2 + [1.65] * 4 + [1.1] * 4)
    assert factor_of_bed(finding("another_schedule", share=None)) == [0.9] * 10


def test_other_minutes_of_one_zone_are_its_own_and_of_one_of_two_nobodys() -> None:
    assert factor_of_bed(finding("another_schedule", share=-0.4)) == pytest.approx([0.9] * 2 + [0.54] * 4 + [0.9] * 4)
    assert factor_of_bed(finding("another_schedule", "bed", ("bed", "pots"), share=0.5)) == [0.9] * 10


@pytest.mark.parametrize(
    "unsure",
    [
        finding("less_than_set", strength="fair"),
        finding("less_than_set", group=("bed", "pots")),
        finding("more_than_set", share=0.8),  # what a broken line spills is not the plants'
    ],
)
def test_a_guess_and_spilled_water_change_nothing(unsure: Finding) -> None:
    assert factor_of_bed(unsure) == [0.9] * 10


def test_runs_between_those_that_brought_nothing_brought_nothing_either() -> None:
    """The evening of the 3rd to the 6th, but for the day that the meter confirms by itself."""
    everything = finding("not_delivered", None, ("bed", "pots"), share=-1.0)
    assert days_without("bed", everything) == [4, 6]
    assert days_without("pots", everything) == [4, 6]
    assert days_without("pots", finding("not_delivered", share=-1.0)) == []
    assert days_without("bed", finding("not_delivered", strength="fair", share=-1.0)) == []
    assert days_without("bed", finding("not_delivered", share=-1.0, until=None)) == [4, 6, 7, 8, 9, 10]


def test_in_which_part_of_a_day_it_began_is_not_known() -> None:
    """Read at eight: the run of the 4th lies in the reading in which it began, as that of the 3rd does."""
    assert days_without("bed", finding("not_delivered", share=-1.0), every="D") == [6]


def test_one_of_two_zones_is_neither_of_them() -> None:
    assert days_without("bed", finding("not_delivered", "bed", ("bed", "pots"), share=-1.0)) == []


@pytest.mark.parametrize("verdict", ["explained", "repaired"])
def test_what_a_person_says_did_not_come_counts_as_what_surely_did_not(verdict: str) -> None:
    """A fair finding of both, or of one of two and then which; a cause of another kind takes even a strong one away."""
    fair = {"strength": "fair", "share": -1.0, "decision": verdict}
    assert days_without("bed", finding("not_delivered", None, ("bed", "pots"), **fair)) == [4, 6]
    named = finding("not_delivered", "bed", ("bed", "pots"), **fair, cause=Cause("not_delivered", "pots"))
    assert (days_without("pots", named), days_without("bed", named)) == ([4, 6], [])
    assert days_without("bed", finding("not_delivered", "bed", ("bed", "pots"), **fair)) == []
    assert days_without("bed", finding("less_than_set", **fair, cause=Cause("not_delivered", "bed"))) == [4, 6]
    other = finding("not_delivered", share=-1.0, decision=verdict, cause=Cause("other"))
    assert days_without("bed", other) == []


def test_a_finding_called_harmless_is_not_told_to_have_come_or_not() -> None:
    assert days_without("bed", finding("not_delivered", strength="fair", share=-1.0, decision="harmless")) == []
    assert days_without("bed", finding("not_delivered", share=-1.0, decision="harmless")) == [4, 6]
