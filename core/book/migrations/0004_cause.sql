-- What a finding turned out to be, where a person found its cause: its own kind and zone, a rival's, or another.
-- Frozen: books exist that were brought up by this text. A change is a new file with the next number.

ALTER TABLE "decision" ADD COLUMN "cause" TEXT;
ALTER TABLE "decision" ADD COLUMN "cause_zone" TEXT REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED;
CREATE INDEX "decision_by_cause_zone" ON "decision" ("cause_zone");
