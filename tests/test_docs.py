"""README and DEVELOPERS say what is there: commands, options, files, the two commands of the README."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from core.cli import main

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def command_of(name: str) -> click.Command | None:
    assert isinstance(main, click.Group)
    return main.get_command(click.Context(main), name)


def named_commands() -> list[tuple[str, tuple[str, ...]]]:
    """Each command the README writes, with its options: ``rillbook open garden.rillbook --listen 0.0.0.0``."""
    code = re.findall(r"```\n(.*?)```", README, re.DOTALL) + re.findall(r"`([^`\n]+)`", README)
    lines = [line for block in code for line in re.split(r"\n|&&", block)]
    found = [
        (m[1], tuple(re.findall(r"(--[a-z-]+)", m[2])))
        for m in (re.search(r"rillbook ([a-z]+)(.*)", x) for x in lines)
        if m
    ]
    return sorted(set(found))


def test_the_readme_names_commands() -> None:
    assert {name for name, _ in named_commands()} >= {
        "demo",
        "new",
        "open",
        "add",
        "bring",
        "review",
        "backup",
        "export",
    }


@pytest.mark.parametrize(("name", "options"), named_commands())
def test_commands_and_options_of_the_readme_exist(name: str, options: tuple[str, ...]) -> None:
    command = command_of(name)
    assert command is not None, name
    known = {option for parameter in command.params for option in parameter.opts}
    assert set(options) <= known


def test_the_two_commands_stand_on_lines_of_their_own() -> None:
    """.ci/run takes the second one from here, so it must be one whole line that works on a bare machine."""
    lines = [line for line in README.splitlines() if line.startswith("python3 -m venv .venv && ")]
    assert len(lines) == 2
    assert lines[0].endswith("rillbook demo")
    assert lines[1].endswith(".venv/bin/python -m pytest -n 2 --dist loadfile")
    assert len(re.findall("-m pytest", README)) == 1


def test_the_readme_begins_with_the_job_and_shows_a_picture() -> None:
    title, job = README.split("\n\n")[:2]
    assert title == "# Rillbook"
    assert len(job.split()) > 80
    (picture,) = re.findall(r"!\[[^\]]{20,}\]\(([^)]+)\)", README)
    assert (ROOT / picture).is_file()


@pytest.mark.parametrize(
    "path", sorted(set(re.findall(r"`((?:core|dashboard|tests|sample_data|\.ci)/[\w./]+)`", DEVELOPERS)))
)
def test_files_named_for_contributors_exist(path: str) -> None:
    if re.search(r"NNNN|NAME", path):
        path = str(Path(path).parent)
    assert (ROOT / path).exists(), path
