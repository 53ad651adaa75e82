"""Cautions fit the home: whom to ask there, what its controller runs on, figures in the units chosen."""

from __future__ import annotations

from zoneinfo import available_timezones

import pytest

from core.accounts.suspects.words import CHECK
from core.care.cautions import CAUTIONS, cautions, for_home
from core.usual import in_us

DENVER, LISBON = "America/Denver", "Europe/Lisbon"
SAID = [c.text for c in CAUTIONS.values()] + [caution for _, caution in CHECK.values()]


@pytest.mark.parametrize(
    ("timezone", "there"),
    [
        ("America/New_York", True),
        ("America/Indiana/Knox", True),
        ("Pacific/Honolulu", True),
        ("US/Mountain", True),
        (LISBON, False),
        ("America/Toronto", False),
        ("America/Mexico_City", False),
        ("America/Sao_Paulo", False),
        ("Australia/Sydney", False),
        ("UTC", False),
        ("EST5EDT", False),  # kept in Canada as well
    ],
)
def test_only_zones_of_the_us_alone_count_as_there(timezone: str, there: bool) -> None:
    assert timezone in available_timezones()
    assert in_us(timezone) is there


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("text", SAID)
def test_nothing_of_the_us_is_said_elsewhere(text: str, system: str) -> None:
    said = for_home(text, LISBON, system)
    for word in ("811", "in the US", "ANSI"):
        assert word not in said


@pytest.mark.parametrize("text", SAID)
def test_one_unit_is_said_not_two(text: str) -> None:
    for system, other in (("us", ("kPa", "°C")), ("metric", ("psi", "°F"))):
        for zone in (DENVER, LISBON):
            assert not [unit for unit in other if unit in for_home(text, zone, system)]


def test_limits_of_pressure_are_round_and_on_the_safe_side() -> None:
    """50 psi are 344.7 kPa and 30 psi 206.8 kPa (1 psi = 6.894757 kPa, NIST SP 811)."""
    said = for_home(cautions("air"), LISBON, "metric")
    assert "340 kPa (3.4 bar)" in said
    assert "200 kPa (2 bar)" in said
    assert 340 < 50 * 6.894757
    assert 200 < 30 * 6.894757
    assert "never over 50 psi in flexible pipe and better under 30 psi in drip" in for_home(
        cautions("air"), DENVER, "us"
    )


def test_where_to_ask_before_digging() -> None:
    assert "call 811" in for_home(CHECK["steady"][1], DENVER, "us")
    assert for_home(CHECK["steady"][1], LISBON, "metric").endswith("have buried lines marked as local rules ask.")
    assert "(811)" in for_home(cautions("digging"), DENVER, "us")
    assert "Ask the service that marks buried lines" in for_home(cautions("digging"), LISBON, "metric")


@pytest.mark.parametrize("kind", ["stuck_open", "not_delivered", "another_schedule"])
@pytest.mark.parametrize("zone", [DENVER, LISBON])
def test_a_controller_may_run_on_a_battery(kind: str, zone: str) -> None:
    assert "unplug it, or take out its battery" in for_home(CHECK[kind][1], zone, "metric")
    assert "take out its battery" in for_home(cautions("electricity"), zone, "metric")


def test_old_words_in_a_book_are_put_right_and_a_persons_own_stay() -> None:
    old = (
        "Valves usually run on 24 V AC from a plug-in transformer: unplug it before touching the wires, and use "
        "outdoor outlets only on a GFCI. Mains wiring is not for wet hands or amateurs."
    )
    assert "take out its battery" in for_home(old, LISBON, "metric")
    own = "Mind the dog. Call 811 neighbours, at 60 psi."
    assert for_home(own, LISBON, "metric") == own
