"""The tables that today's declarations of record kinds ask for.

Books are made by the frozen text in migrations/, never by this module; a test compares the two, so a
declaration cannot change without a migration. It also prints the first draft of a new kind's table.
"""

from __future__ import annotations

from core.book.kinds import KINDS, Record
from core.book.rows import Column, columns_of, key_columns, refs_of

JOURNAL = """\
CREATE TABLE "change_set" (
  "number" INTEGER PRIMARY KEY,
  "at_utc" TEXT NOT NULL,
  "what" TEXT NOT NULL,
  "undoes" INTEGER REFERENCES "change_set" ("number"),
  "undone_by" INTEGER REFERENCES "change_set" ("number")
) STRICT;

CREATE TABLE "change" (
  "id" INTEGER PRIMARY KEY,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "kind" TEXT NOT NULL,
  "op" TEXT NOT NULL CHECK ("op" IN ('add', 'alter', 'remove')),
  "row_id" INTEGER NOT NULL,
  "row_count" INTEGER NOT NULL DEFAULT 1,
  "before" TEXT,
  "after" TEXT
) STRICT;

CREATE INDEX "change_by_set" ON "change" ("change_set");
CREATE INDEX "change_by_row" ON "change" ("kind", "row_id");
"""


def table_sql(kind: type[Record]) -> str:
    """CREATE statements of one kind: a STRICT table, a unique natural key, an index for each reference."""
    lines = [
        '  "id" INTEGER PRIMARY KEY AUTOINCREMENT',
        '  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number")',
        *(f"  {_column(c)}" for c in columns_of(kind)),
    ]
    key = key_columns(kind)
    index = ""
    if any(c.nullable for c in key):  # NULLs never equal each other, so an empty part counts as ''
        parts = ", ".join(f"ifnull(\"{c.name}\", '')" if c.nullable else f'"{c.name}"' for c in key)
        index = f'CREATE UNIQUE INDEX "{kind.KIND}_key" ON "{kind.KIND}" ({parts});\n'
    else:
        lines.append("  UNIQUE ({})".format(", ".join(f'"{c.name}"' for c in key)))
    body = ",\n".join(lines)
    for name, _ in refs_of(kind):
        if name != key[0].name:  # the key's own index already begins with it
            index += f'CREATE INDEX "{kind.KIND}_by_{name}" ON "{kind.KIND}" ("{name}");\n'
    return f'CREATE TABLE "{kind.KIND}" (\n{body}\n) STRICT;\n{index}'


def schema_sql() -> str:
    """The whole schema: the journal, then every kind, parents before children."""
    return "\n".join([JOURNAL, *(table_sql(kind) for kind in KINDS.values())])


def _column(column: Column) -> str:
    parts = [f'"{column.name}" {column.sql}']
    if not column.nullable:
        parts.append("NOT NULL")
    if column.check:
        parts.append(f"CHECK ({column.check})")
    if column.to:
        # deferred: a meter may come before the meter it is behind within one change set
        parts.append(f'REFERENCES "{column.to}" ("code") DEFERRABLE INITIALLY DEFERRED')
    return " ".join(parts)
