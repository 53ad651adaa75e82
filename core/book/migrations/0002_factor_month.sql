-- Plant factors set by hand for one month of the year, with a reason.
-- Frozen: books exist that were brought up by this text. A change is a new file with the next number.

CREATE TABLE "factor_month" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "zone" TEXT NOT NULL REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "planting" TEXT NOT NULL,
  "month" INTEGER NOT NULL,
  "factor" REAL NOT NULL,
  "reason" TEXT NOT NULL,
  UNIQUE ("zone", "planting", "month")
) STRICT;
