-- A telling may say that an earlier one no longer stands.
-- Frozen: books exist that were brought up by this text. A change is a new file with the next number.

CREATE TABLE "told_new" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "finding" TEXT NOT NULL,
  "meter" TEXT REFERENCES "meter" ("code") DEFERRABLE INITIALLY DEFERRED,
  "zone" TEXT REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "since_utc" TEXT NOT NULL,
  "since_offset_min" INTEGER NOT NULL,
  "since_exact" TEXT NOT NULL CHECK ("since_exact" IN ('minute', 'hour', 'day')),
  "told_at_utc" TEXT NOT NULL,
  "told_at_offset_min" INTEGER NOT NULL,
  "told_at_exact" TEXT NOT NULL CHECK ("told_at_exact" IN ('minute', 'hour', 'day')),
  "until_utc" TEXT,
  "until_offset_min" INTEGER,
  "until_exact" TEXT CHECK ("until_exact" IN ('minute', 'hour', 'day')),
  "strength" TEXT NOT NULL CHECK ("strength" IN ('strong', 'fair', 'weak')),
  "why" TEXT NOT NULL CHECK ("why" IN ('new', 'worse', 'contradicted', 'asked', 'no_longer')),
  "rate_lph" REAL,
  "rate_typed" TEXT,
  "volume_l" REAL,
  "volume_typed" TEXT
) STRICT;
INSERT INTO "told_new" SELECT * FROM "told";
DROP TABLE "told";
ALTER TABLE "told_new" RENAME TO "told";
CREATE UNIQUE INDEX "told_key" ON "told" ("finding", ifnull("meter", ''), ifnull("zone", ''), "since_utc", "told_at_utc");
CREATE INDEX "told_by_meter" ON "told" ("meter");
CREATE INDEX "told_by_zone" ON "told" ("zone");
-- No number is given twice: those of tellings taken back are known by the journal alone.
DELETE FROM sqlite_sequence WHERE name = 'told';
INSERT INTO sqlite_sequence (name, seq)
  SELECT 'told', max(ifnull((SELECT max("id") FROM "told"), 0), ifnull(max("row_id" + "row_count" - 1), 0))
  FROM "change" WHERE "kind" = 'told';
