"""No published metering case is forgotten: each is tested, or named here with the reason why it is not."""

from __future__ import annotations

import json

import pytest

from tests.core.accounts.frames import REAL_DATA
from tests.published import (
    test_accounts_real,
    test_metering,
    test_metering_money,
    test_metering_real,
    test_metering_rules,
)
from tests.published.metering_cases import CASES

MODULES = (test_accounts_real, test_metering, test_metering_money, test_metering_real, test_metering_rules)
COVERED = tuple(module.COVERS for module in MODULES)

ESPI = "a reader of ESPI files: Rillbook brings in its own plain CSV only, so far"
GHCND = "a reader of GHCN-Daily files: Rillbook brings in its own plain CSV only, so far"
LEFT = {
    "w056": ESPI,
    "w058": ESPI,
    "w060": GHCND,
    "w061": GHCND,
    "w065": "the sum of a file's published reference ET: checked where weather files are read",
    "w068": "pulses times the logger's factor: done by the logger's file before the book sees a volume",
    "w074": ESPI,
    "w076": ESPI,
    "w078": ESPI,
    "w079": ESPI,
    "w133": GHCND,
    "w134": GHCND,
}


def test_every_case_is_covered_or_named_with_a_reason() -> None:
    covered = set().union(*COVERED)
    assert sum(len(c) for c in COVERED) == len(covered), "a case is claimed twice"
    assert covered | set(LEFT) == set(CASES)
    assert not covered & set(LEFT)


def test_covered_means_collected() -> None:
    """What a module claims it does run: its parametrised tests carry exactly those ids."""
    for module in MODULES:
        run = {
            param.values[0]["id"]
            for test in vars(module).values()
            for mark in getattr(test, "pytestmark", [])
            if mark.name == "parametrize" and mark.args[0] == "case"
            for param in mark.args[1]
        }
        assert run == module.COVERS, module.__name__


@pytest.mark.real_data
def test_the_copied_cases_are_those_that_were_collected() -> None:
    collected = REAL_DATA.parent / "check_values" / "metering.json"
    assert json.loads(collected.read_text(encoding="utf-8")) == list(CASES.values())
