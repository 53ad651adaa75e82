"""Bringing sheets in: what would happen, then all of it at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from textwrap import fill
from typing import Any

import click

from core.accounts.suspects.words import KIND_WORDS
from core.book.kinds import FINDING_KINDS, KINDS, Decision, Planting, fields_of
from core.book.store import Book
from core.cli.frame import BookCommand, BookPath, answer, json_option, take_back
from core.errors import BookError, Problem
from core.exchange.cells import columns_of, expected_in
from core.exchange.checks import LISTED
from core.exchange.folder import read_files, sheets_in
from core.exchange.intake import Brought, Preview, counted_rows, preview, refused_csv, where_from
from core.exchange.intake import bring as bring_in
from core.exchange.sheets import read_sheet
from core.exchange.templates import template
from core.review.about_nothing import about_nothing
from core.review.entry_sheet import about_registers
from core.units import System

KIND = click.Choice(list(KINDS))
PATH = click.Path(path_type=Path)
SHOWN = 20  # problems told one by one


@click.command(cls=BookCommand)
@click.argument("book", type=BookPath(), metavar="BOOK", required=False)
@click.argument("files", nargs=-1, type=PATH, metavar="FILE...")
@click.option(
    "--template", "template_of", type=click.Choice(list(KINDS)), metavar="KIND", help="Print a sheet to begin with."
)
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", help="Units of the template.")
@click.option("--kinds", "list_kinds", is_flag=True, help="List the kinds of record.")
@click.option(
    "--columns", "columns_for", type=click.Choice(list(KINDS)), metavar="KIND", help="Explain a kind's columns."
)
@click.option(
    "--kind", type=click.Choice(list(KINDS)), metavar="KIND", help="What FILE holds, where its name does not say."
)
@click.option("--dry-run", is_flag=True, help="Only say what would happen.")
@click.option("--take-good-rows", is_flag=True, help="Leave out rows that cannot be taken, instead of refusing all.")
@click.option(
    "--register-fell", is_flag=True, help="Take readings that run backwards as they stand: the register was changed."
)
@click.option(
    "--refused-to", type=click.Path(path_type=Path), metavar="FOLDER", help="Write the rows kept out there, to mend."
)
@json_option
def bring(
    *,
    book: Path | None,
    files: tuple[Path, ...],
    template_of: str | None,
    units: System,
    list_kinds: bool,
    columns_for: str | None,
    kind: str | None,
    dry_run: bool,
    take_good_rows: bool,
    register_fell: bool,
    refused_to: Path | None,
    as_json: bool,
) -> None:
    """Bring CSV sheets into a book.

    One sheet holds one kind of record; its file name begins with the kind: rain.csv, rain-2025.csv. A measured
    column carries its unit in its name: rain_in or rain_mm. FILE may be a folder of such sheets.

    \b
    Start from a template:
      rillbook bring --kinds
      rillbook bring --template rain > rain.csv
      rillbook bring --columns rain
    \b
    Look first, then bring in:
      rillbook bring garden.rillbook rain.csv --dry-run
      rillbook bring garden.rillbook rain.csv

    A file of another layout, such as your utility's, comes in once its header is renamed to these columns in a
    spreadsheet and the rest is taken out. Times without an offset are on the home's clock.

    Rows that are in the book already are left alone; rows with the same key and other values are shown and never
    written over. Unless you say --take-good-rows nothing is stored when any row cannot be taken. What was brought
    in is one action: rillbook undo takes it back whole.

    Readings that would make a register run backwards are asked about, and nothing is stored: mend the sheet, write yes
    under first_after_change where the register was changed, or say --register-fell where it was changed or rolled over.
    """
    if template_of or list_kinds or columns_for:
        click.echo(template(template_of, units) if template_of else _explained(columns_for), nl=not template_of)
        return
    if book is None or not files:
        raise click.UsageError("BOOK and at least one FILE are needed, or --template KIND, or --kinds")
    opened = Book.open(book)
    planned = preview(opened, _read(opened, files, kind), ask=about_registers)
    if register_fell:
        planned = planned.as_they_stand()
    elif take_good_rows:
        planned = planned.without_asked()
    saved = _save_refused(planned, refused_to) if refused_to else []  # first, for nothing is stored on an error
    brought = None
    if not dry_run and (planned.good or take_good_rows):
        brought = bring_in(opened, planned, take_good_rows=take_good_rows)
    idle = about_nothing(opened, where_from(planned), datetime.now(UTC)) if brought else []
    words = "\n".join([_in_words(book, planned, brought, saved), *idle])
    answer(words, _as_data(planned, brought, saved, idle), as_json)
    if not planned.good and not (brought and take_good_rows):
        raise _Refused(planned, dry_run)


class _Refused(click.ClickException):
    """Rows cannot be taken; they have been told already."""

    exit_code = 1

    def __init__(self, planned: Preview, dry_run: bool) -> None:
        counts = planned.counts()
        refused, conflicts = (sum(c[name] for c in counts) for name in ("refused", "in_conflict"))
        asked = sum(len(question.rows) for question in planned.asked)
        told = [f"{counted_rows(refused)} refused, {conflicts:,} in conflict"] if refused or conflicts else []
        told += [f"{counted_rows(asked)} would make a register run backwards"] if asked else []
        way_out = "" if dry_run else " Mend them, or leave them out with --take-good-rows."
        if asked and not dry_run:
            way_out += " If the register was changed or rolled over, say --register-fell."
        super().__init__(f"nothing was stored: {'; '.join(told)}.{way_out}")


def _read(book: Book, files: tuple[Path, ...], kind: str | None) -> list[Any]:
    paths = [p for file in files for p in (sheets_in(file) if file.is_dir() else [file])]
    missing = [p for p in paths if not p.exists()]
    if missing:
        raise BookError(f"There is no file {missing[0]}. Nothing was stored.")
    if kind is not None:
        return [read_sheet(path, kind, book.zone_info) for path in paths]
    return read_files(paths, book.zone_info)


def _in_words(book: Path, planned: Preview, brought: Brought | None, saved: list[Path]) -> str:
    width = max(len(c["file"]) for c in planned.counts())
    lines = [
        f"{c['file']:<{width}}  {c['new']:,} new, {c['there']:,} there already, "
        f"{c['in_conflict']:,} in conflict, {c['refused']:,} refused"
        for c in planned.counts()
    ]
    told = _told(planned.problems())
    lines += told[:SHOWN]
    if len(told) > SHOWN:
        lines.append(f"and {len(told) - SHOWN:,} more like these; --refused-to FOLDER writes them all down.")
    asked = _told([question.problem() for question in planned.asked])
    lines += [f"Is it so? {sentence}" for sentence in asked[:SHOWN]]
    if len(asked) > SHOWN:
        lines.append(f"and {len(asked) - SHOWN:,} more to say yes or no to; --json tells them all.")
    doubts = _told(planned.doubts)
    lines += [f"Look at this: {sentence}" for sentence in doubts[:SHOWN]]
    if len(doubts) > SHOWN:
        lines.append(f"and {len(doubts) - SHOWN:,} more to look at; --json tells them all.")
    lines += planned.notes()
    lines += [f"The rows kept out are in {path}." for path in saved]
    if brought is not None:
        words = brought.words[:1].upper() + brought.words[1:]
        lines.append(f"{words}.{take_back(book, brought.number)}")
    elif planned.good:
        lines.append("Nothing was stored; this was a dry run.")
    return "\n".join(lines)


def _told(problems: list[Problem]) -> list[str]:
    """Problems as sentences; the same thing wrong in many rows is told once."""
    alike: dict[tuple[str, str, str, str], list[int]] = defaultdict(list)
    for p in problems:
        alike[p.file, p.column, p.value, p.expected].append(p.row)
    told = []
    for (file, column, value, expected), rows in alike.items():
        sentence = Problem(file, rows[0], column, value, expected).sentence()
        if len(rows) > 1:
            more = f" and {len(rows) - 3:,} more" if len(rows) > 3 else ""
            sentence = sentence.replace(f", row {rows[0]}", f", rows {', '.join(map(str, rows[:3]))}{more}", 1)
        told.append(sentence)
    return told


def _as_data(planned: Preview, brought: Brought | None, saved: list[Path], idle: list[str]) -> dict[str, Any]:
    return {
        "stored": brought is not None and brought.number is not None,
        "change_set": brought.number if brought else None,
        "added": brought.added if brought else 0,
        "files": planned.counts(),
        "problems": [asdict(problem) for problem in planned.problems()],
        "questions": [asdict(question.problem()) for question in planned.asked],
        "doubts": [asdict(problem) for problem in planned.doubts],
        "notes": [*planned.notes(), *idle],
        "refused_rows_in": [str(path) for path in saved],
    }


def _save_refused(planned: Preview, folder: Path) -> list[Path]:
    saved = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in refused_csv(planned).items():
            path = folder / f"{Path(name).stem}-refused.csv"
            path.write_text(text, encoding="utf-8", newline="")
            saved.append(path)
    except OSError as error:
        raise BookError(f"{folder} cannot be written: {error.strerror or error}.") from error
    return saved


def _explained(kind: str | None) -> str:
    """The kinds of record in a line each, or the columns of one kind."""
    if kind is None:
        width = max(map(len, KINDS))
        return "\n".join(f"{name:<{width}}  {record.HELP}" for name, record in KINDS.items())
    record = KINDS[kind]
    lines = [f"{kind}.csv: {record.HELP}", f"Told apart by: {', '.join(record.KEY)}.", ""]
    columns = columns_of(record).values()
    for field in fields_of(record):
        own = [c for c in columns if c.field.name == field.name]
        names = " or ".join(c.header for c in own)
        need = "" if field.required else ", may be empty"
        lines.append(f"{names}{need}: {field.label}. {field.hint}".rstrip())
        lines.append(f"    {'a number' if len(own) > 1 else expected_in(own[0])}")
        if kind == Planting.KIND and field.name in LISTED:
            lines.append(_codes(LISTED[field.name][1]))
        elif kind == Decision.KIND and field.name == "finding":
            lines.append(_codes(f"{code} ({KIND_WORDS[code]})" for code in FINDING_KINDS))
    return "\n".join(lines)


def _codes(codes: Iterable[str]) -> str:
    indent = " " * 4
    return fill(", ".join(codes), 100, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)
