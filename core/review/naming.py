"""What a finding is called, with its zones."""

from __future__ import annotations

from collections.abc import Mapping

from core.accounts.findings import Finding, Rival, means_all
from core.accounts.suspects.words import KIND_WORDS
from core.review.spoken import listed


def finding_place(finding: Finding | Rival, names: Mapping[str, str]) -> str:
    """The zone or zones of a finding, or "" for the whole house: joined by "and" where all are meant, else by "or".

    Args:
        names: of zones by code; one without a name is called by its code.
    """
    link = "and" if means_all(finding) else "or"
    return listed([names.get(z, z) for z in finding.group or ((finding.zone,) if finding.zone else ())], link)


def called(finding: Finding | Rival, names: Mapping[str, str]) -> str:
    """A finding's name with its place: "a valve that did not close at Berry rows"."""
    place = finding_place(finding, names)
    return f"{KIND_WORDS[finding.kind]} at {place}" if place else KIND_WORDS[finding.kind]
