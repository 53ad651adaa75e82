"""Suspects: named explanations of use that does not fit, scored together. One idea per file."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from core.accounts.findings import Finding
from core.accounts.suspects.case import Case, Suspect
from core.accounts.suspects.decisions import to_its_repair, with_decisions
from core.accounts.suspects.no_rest import restless
from core.accounts.suspects.rank import BENDING, LOCAL, standing
from core.accounts.suspects.schedule import clock_off
from core.accounts.suspects.shutdown import after_shutdown
from core.accounts.suspects.stays import Stay, as_decided, stays
from core.accounts.suspects.words import as_finding
from core.units import System

__all__ = [
    "BENDING",
    "LOCAL",
    "Case",
    "Stay",
    "Suspect",
    "as_decided",
    "as_finding",
    "clock_off",
    "findings",
    "restless",
    "standing",
    "stays",
    "with_decisions",
]


def findings(
    case: Case,
    suspects: list[Suspect],
    decisions: pd.DataFrame | None,
    system: System,
    names: Mapping[str, str],
) -> tuple[Finding, ...]:
    """The standing suspects as findings, strongest first, with the decisions people took."""
    told = [s for s in after_shutdown(case.ledger, suspects) if s.told]

    def decided(suspects: list[Suspect]) -> tuple[Finding, ...]:
        return with_decisions([as_finding(s, case, system, names) for s in suspects], decisions, case.ledger, system)

    found = decided(told)
    longer = [to_its_repair(s, f, case) for s, f in zip(told, found, strict=True)]
    return found if all(s is was for s, was in zip(longer, told, strict=True)) else decided(longer)
