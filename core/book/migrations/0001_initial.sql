-- The first book: the journal of change sets, then a table for every kind of record.
-- Frozen: books exist that were made by this text. A change is a new file with the next number.

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

CREATE TABLE "home" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "code" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "place" TEXT NOT NULL,
  "latitude" REAL NOT NULL,
  "longitude" REAL,
  "elevation_m" REAL NOT NULL,
  "elevation_typed" TEXT NOT NULL,
  "timezone" TEXT NOT NULL,
  "display" TEXT NOT NULL CHECK ("display" IN ('us', 'metric')),
  "people" INTEGER NOT NULL,
  "currency" TEXT NOT NULL,
  "drinks" TEXT NOT NULL,
  "shutdown_due" TEXT NOT NULL,
  "startup_due" TEXT NOT NULL,
  UNIQUE ("code")
) STRICT;

CREATE TABLE "supply" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "code" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "source" TEXT NOT NULL CHECK ("source" IN ('main', 'well', 'barrel', 'other')),
  "metered" INTEGER NOT NULL CHECK ("metered" IN (0, 1)),
  "static_pressure_kpa" REAL,
  "static_pressure_typed" TEXT,
  "drip_pressure_kpa" REAL,
  "drip_pressure_typed" TEXT,
  "capacity_lph" REAL,
  "capacity_typed" TEXT,
  "backflow" TEXT NOT NULL,
  "filter" TEXT NOT NULL,
  UNIQUE ("code")
) STRICT;

CREATE TABLE "meter" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "code" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "supply" TEXT NOT NULL REFERENCES "supply" ("code") DEFERRABLE INITIALLY DEFERRED,
  "unit" TEXT NOT NULL CHECK ("unit" IN ('gal', 'kgal', 'ft3', 'ccf', 'm3', 'l', 'imp_gal')),
  "digits" INTEGER NOT NULL,
  "resolution" TEXT NOT NULL,
  "counts" TEXT NOT NULL CHECK ("counts" IN ('everything', 'house', 'garden')),
  "downstream_of" TEXT REFERENCES "meter" ("code") DEFERRABLE INITIALLY DEFERRED,
  "since" TEXT CHECK ("since" IS date("since", '+0 days')),
  "until" TEXT CHECK ("until" IS date("until", '+0 days')),
  UNIQUE ("code")
) STRICT;
CREATE INDEX "meter_by_supply" ON "meter" ("supply");
CREATE INDEX "meter_by_downstream_of" ON "meter" ("downstream_of");

CREATE TABLE "controller" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "code" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "power" TEXT NOT NULL CHECK ("power" IN ('battery', 'mains', 'solar')),
  "follows_dst" INTEGER NOT NULL CHECK ("follows_dst" IN (0, 1)),
  "max_starts" INTEGER NOT NULL,
  "day_choice" TEXT NOT NULL,
  "max_minutes" INTEGER NOT NULL,
  "allowed_days" TEXT NOT NULL,
  "allowed_hours" TEXT NOT NULL,
  UNIQUE ("code")
) STRICT;

CREATE TABLE "clock_check" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "controller" TEXT NOT NULL REFERENCES "controller" ("code") DEFERRABLE INITIALLY DEFERRED,
  "at_utc" TEXT NOT NULL,
  "at_offset_min" INTEGER NOT NULL,
  "at_exact" TEXT NOT NULL CHECK ("at_exact" IN ('minute', 'hour', 'day')),
  "offset_minutes" INTEGER NOT NULL,
  "put_right" INTEGER NOT NULL CHECK ("put_right" IN (0, 1)),
  UNIQUE ("controller", "at_utc")
) STRICT;

CREATE TABLE "zone" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "code" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "supply" TEXT NOT NULL REFERENCES "supply" ("code") DEFERRABLE INITIALLY DEFERRED,
  "controller" TEXT REFERENCES "controller" ("code") DEFERRABLE INITIALLY DEFERRED,
  "hand" INTEGER NOT NULL CHECK ("hand" IN (0, 1)),
  "flow_lph" REAL,
  "flow_typed" TEXT,
  "since" TEXT CHECK ("since" IS date("since", '+0 days')),
  "until" TEXT CHECK ("until" IS date("until", '+0 days')),
  "note" TEXT NOT NULL,
  UNIQUE ("code")
) STRICT;
CREATE INDEX "zone_by_supply" ON "zone" ("supply");
CREATE INDEX "zone_by_controller" ON "zone" ("controller");

CREATE TABLE "planting" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "zone" TEXT NOT NULL REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "code" TEXT NOT NULL,
  "since" TEXT NOT NULL CHECK ("since" IS date("since", '+0 days')),
  "until" TEXT CHECK ("until" IS date("until", '+0 days')),
  "name" TEXT NOT NULL,
  "plant_type" TEXT NOT NULL,
  "count" INTEGER NOT NULL,
  "canopy_m" REAL,
  "canopy_typed" TEXT,
  "bed_m2" REAL,
  "bed_typed" TEXT,
  "in_pots" INTEGER NOT NULL CHECK ("in_pots" IN (0, 1)),
  "pot_l" REAL,
  "pot_typed" TEXT,
  "pot_width_m" REAL,
  "pot_width_typed" TEXT,
  "soil" TEXT NOT NULL,
  "root_depth_m" REAL,
  "root_depth_typed" TEXT,
  "factor" REAL,
  "factor_reason" TEXT NOT NULL,
  "species_factor" REAL,
  "density_factor" REAL,
  "microclimate_factor" REAL,
  "planted_on" TEXT CHECK ("planted_on" IS date("planted_on", '+0 days')),
  "mulched" INTEGER NOT NULL CHECK ("mulched" IN (0, 1)),
  "under_roof" INTEGER NOT NULL CHECK ("under_roof" IN (0, 1)),
  UNIQUE ("zone", "code", "since")
) STRICT;

CREATE TABLE "emitter_group" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "zone" TEXT NOT NULL REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "code" TEXT NOT NULL,
  "since" TEXT NOT NULL CHECK ("since" IS date("since", '+0 days')),
  "until" TEXT CHECK ("until" IS date("until", '+0 days')),
  "device" TEXT NOT NULL CHECK ("device" IN ('button', 'inline', 'soaker', 'mister', 'sprayer', 'bubbler', 'other')),
  "count" INTEGER NOT NULL,
  "flow_each_lph" REAL,
  "flow_each_typed" TEXT,
  "length_m" REAL,
  "length_typed" TEXT,
  "flow_along_lph_m" REAL,
  "flow_along_typed" TEXT,
  "rated_pressure_kpa" REAL,
  "rated_pressure_typed" TEXT,
  "exponent" REAL NOT NULL,
  "waters" TEXT NOT NULL,
  UNIQUE ("zone", "code", "since")
) STRICT;

CREATE TABLE "program" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "zone" TEXT NOT NULL REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "label" TEXT NOT NULL,
  "since" TEXT NOT NULL CHECK ("since" IS date("since", '+0 days')),
  "until" TEXT CHECK ("until" IS date("until", '+0 days')),
  "days" TEXT NOT NULL,
  "starts" TEXT NOT NULL,
  "minutes" REAL NOT NULL,
  "percent" REAL NOT NULL,
  UNIQUE ("zone", "label", "since")
) STRICT;

CREATE TABLE "pause" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "scope" TEXT NOT NULL,
  "since" TEXT NOT NULL CHECK ("since" IS date("since", '+0 days')),
  "until" TEXT CHECK ("until" IS date("until", '+0 days')),
  "reason" TEXT NOT NULL CHECK ("reason" IN ('winter', 'rain', 'away', 'repair', 'other')),
  "note" TEXT NOT NULL,
  UNIQUE ("scope", "since")
) STRICT;

CREATE TABLE "meter_reading" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "meter" TEXT NOT NULL REFERENCES "meter" ("code") DEFERRABLE INITIALLY DEFERRED,
  "at_utc" TEXT NOT NULL,
  "at_offset_min" INTEGER NOT NULL,
  "at_exact" TEXT NOT NULL CHECK ("at_exact" IN ('minute', 'hour', 'day')),
  "register_value" TEXT NOT NULL,
  "resolution" TEXT,
  "how" TEXT NOT NULL CHECK ("how" IN ('eye', 'bill', 'file', 'estimated')),
  "first_after_change" INTEGER NOT NULL CHECK ("first_after_change" IN (0, 1)),
  "old_final" TEXT,
  "note" TEXT NOT NULL,
  UNIQUE ("meter", "at_utc")
) STRICT;

CREATE TABLE "metered_use" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "meter" TEXT NOT NULL REFERENCES "meter" ("code") DEFERRABLE INITIALLY DEFERRED,
  "start_utc" TEXT NOT NULL,
  "start_offset_min" INTEGER NOT NULL,
  "start_exact" TEXT NOT NULL CHECK ("start_exact" IN ('minute', 'hour', 'day')),
  "end_utc" TEXT NOT NULL,
  "end_offset_min" INTEGER NOT NULL,
  "end_exact" TEXT NOT NULL CHECK ("end_exact" IN ('minute', 'hour', 'day')),
  "volume_l" REAL NOT NULL,
  "volume_typed" TEXT NOT NULL,
  "estimated" INTEGER NOT NULL CHECK ("estimated" IN (0, 1)),
  UNIQUE ("meter", "start_utc", "end_utc")
) STRICT;

CREATE TABLE "run" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "zone" TEXT NOT NULL REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "at_utc" TEXT NOT NULL,
  "at_offset_min" INTEGER NOT NULL,
  "at_exact" TEXT NOT NULL CHECK ("at_exact" IN ('minute', 'hour', 'day')),
  "nth" INTEGER NOT NULL,
  "ran" INTEGER NOT NULL CHECK ("ran" IN (0, 1)),
  "duration_min" REAL,
  "duration_typed" TEXT,
  "why" TEXT NOT NULL,
  UNIQUE ("zone", "at_utc", "nth")
) STRICT;

CREATE TABLE "rain" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "gauge" TEXT NOT NULL,
  "start_utc" TEXT NOT NULL,
  "start_offset_min" INTEGER NOT NULL,
  "start_exact" TEXT NOT NULL CHECK ("start_exact" IN ('minute', 'hour', 'day')),
  "end_utc" TEXT NOT NULL,
  "end_offset_min" INTEGER NOT NULL,
  "end_exact" TEXT NOT NULL CHECK ("end_exact" IN ('minute', 'hour', 'day')),
  "rain_mm" REAL NOT NULL,
  "rain_typed" TEXT NOT NULL,
  "trace" INTEGER NOT NULL CHECK ("trace" IN (0, 1)),
  UNIQUE ("gauge", "start_utc", "end_utc")
) STRICT;

CREATE TABLE "weather" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "station" TEXT NOT NULL,
  "day" TEXT NOT NULL CHECK ("day" IS date("day", '+0 days')),
  "tmin_c" REAL,
  "tmin_typed" TEXT,
  "tmax_c" REAL,
  "tmax_typed" TEXT,
  "dewpoint_c" REAL,
  "dewpoint_typed" TEXT,
  "humidity_min" REAL,
  "humidity_max" REAL,
  "wind_mps" REAL,
  "wind_typed" TEXT,
  "wind_height_m" REAL,
  "wind_height_typed" TEXT,
  "solar_mj_m2" REAL,
  "solar_typed" TEXT,
  "sunshine_hours" REAL,
  "reference_et_mm" REAL,
  "reference_et_typed" TEXT,
  UNIQUE ("station", "day")
) STRICT;

CREATE TABLE "normal" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "month" INTEGER NOT NULL,
  "tmin_c" REAL,
  "tmin_typed" TEXT,
  "tmax_c" REAL,
  "tmax_typed" TEXT,
  "rain_mm" REAL,
  "rain_typed" TEXT,
  "reference_et_mm" REAL,
  "reference_et_typed" TEXT,
  UNIQUE ("month")
) STRICT;

CREATE TABLE "other_use" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "start_utc" TEXT NOT NULL,
  "start_offset_min" INTEGER NOT NULL,
  "start_exact" TEXT NOT NULL CHECK ("start_exact" IN ('minute', 'hour', 'day')),
  "nth" INTEGER NOT NULL,
  "end_utc" TEXT,
  "end_offset_min" INTEGER,
  "end_exact" TEXT CHECK ("end_exact" IN ('minute', 'hour', 'day')),
  "what" TEXT NOT NULL,
  "volume_l" REAL NOT NULL,
  "volume_typed" TEXT NOT NULL,
  "spread" REAL NOT NULL,
  "meter" TEXT REFERENCES "meter" ("code") DEFERRABLE INITIALLY DEFERRED,
  "zone" TEXT REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "planting" TEXT,
  "every_days" INTEGER,
  UNIQUE ("start_utc", "nth")
) STRICT;
CREATE INDEX "other_use_by_meter" ON "other_use" ("meter");
CREATE INDEX "other_use_by_zone" ON "other_use" ("zone");

CREATE TABLE "household" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "since" TEXT NOT NULL CHECK ("since" IS date("since", '+0 days')),
  "nth" INTEGER NOT NULL,
  "until" TEXT NOT NULL CHECK ("until" IS date("until", '+0 days')),
  "people" INTEGER NOT NULL,
  "reason" TEXT NOT NULL CHECK ("reason" IN ('guests', 'away', 'other')),
  "note" TEXT NOT NULL,
  UNIQUE ("since", "nth")
) STRICT;

CREATE TABLE "flow_test" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "at_utc" TEXT NOT NULL,
  "at_offset_min" INTEGER NOT NULL,
  "at_exact" TEXT NOT NULL CHECK ("at_exact" IN ('minute', 'hour', 'day')),
  "nth" INTEGER NOT NULL,
  "zone" TEXT REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "supply" TEXT REFERENCES "supply" ("code") DEFERRABLE INITIALLY DEFERRED,
  "volume_l" REAL NOT NULL,
  "volume_typed" TEXT NOT NULL,
  "duration_min" REAL NOT NULL,
  "duration_typed" TEXT NOT NULL,
  "pressure_kpa" REAL,
  "pressure_typed" TEXT,
  UNIQUE ("at_utc", "nth")
) STRICT;
CREATE INDEX "flow_test_by_zone" ON "flow_test" ("zone");
CREATE INDEX "flow_test_by_supply" ON "flow_test" ("supply");

CREATE TABLE "catch_test" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "zone" TEXT NOT NULL REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "at_utc" TEXT NOT NULL,
  "at_offset_min" INTEGER NOT NULL,
  "at_exact" TEXT NOT NULL CHECK ("at_exact" IN ('minute', 'hour', 'day')),
  "caught_ml" TEXT NOT NULL,
  "duration_min" REAL NOT NULL,
  "duration_typed" TEXT NOT NULL,
  UNIQUE ("zone", "at_utc")
) STRICT;

CREATE TABLE "leak_test" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "meter" TEXT NOT NULL REFERENCES "meter" ("code") DEFERRABLE INITIALLY DEFERRED,
  "at_utc" TEXT NOT NULL,
  "at_offset_min" INTEGER NOT NULL,
  "at_exact" TEXT NOT NULL CHECK ("at_exact" IN ('minute', 'hour', 'day')),
  "duration_min" REAL NOT NULL,
  "duration_typed" TEXT NOT NULL,
  "before" TEXT NOT NULL,
  "after" TEXT NOT NULL,
  "shut" TEXT NOT NULL CHECK ("shut" IN ('nothing', 'house', 'manifold', 'zone')),
  "zone" TEXT REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "note" TEXT NOT NULL,
  UNIQUE ("meter", "at_utc")
) STRICT;
CREATE INDEX "leak_test_by_zone" ON "leak_test" ("zone");

CREATE TABLE "tariff" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "supply" TEXT NOT NULL REFERENCES "supply" ("code") DEFERRABLE INITIALLY DEFERRED,
  "since" TEXT NOT NULL CHECK ("since" IS date("since", '+0 days')),
  "until" TEXT CHECK ("until" IS date("until", '+0 days')),
  "period_months" TEXT NOT NULL CHECK ("period_months" IN ('1', '2', '3', '12')),
  "first_day" INTEGER NOT NULL,
  "unit" TEXT NOT NULL CHECK ("unit" IN ('gal', 'kgal', 'ft3', 'ccf', 'm3', 'l', 'imp_gal')),
  "base" REAL NOT NULL,
  "included" REAL NOT NULL,
  "prices" TEXT NOT NULL,
  "sewer_base" REAL NOT NULL,
  "sewer_price" REAL NOT NULL,
  "sewer_follows" TEXT NOT NULL CHECK ("sewer_follows" IN ('none', 'use', 'winter')),
  "rounding" TEXT NOT NULL CHECK ("rounding" IN ('none', 'down', 'up')),
  UNIQUE ("supply", "since")
) STRICT;

CREATE TABLE "bill" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "supply" TEXT NOT NULL REFERENCES "supply" ("code") DEFERRABLE INITIALLY DEFERRED,
  "since" TEXT NOT NULL CHECK ("since" IS date("since", '+0 days')),
  "until" TEXT NOT NULL CHECK ("until" IS date("until", '+0 days')),
  "volume_l" REAL NOT NULL,
  "volume_typed" TEXT NOT NULL,
  "amount" REAL NOT NULL,
  "note" TEXT NOT NULL,
  UNIQUE ("supply", "since")
) STRICT;

CREATE TABLE "task" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "code" TEXT NOT NULL,
  "name" TEXT NOT NULL,
  "every_days" INTEGER,
  "due_by" TEXT NOT NULL,
  "season_only" TEXT NOT NULL CHECK ("season_only" IN ('any', 'watering')),
  "caution" TEXT NOT NULL,
  "how" TEXT NOT NULL,
  UNIQUE ("code")
) STRICT;

CREATE TABLE "upkeep" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "task" TEXT NOT NULL REFERENCES "task" ("code") DEFERRABLE INITIALLY DEFERRED,
  "day" TEXT NOT NULL CHECK ("day" IS date("day", '+0 days')),
  "nth" INTEGER NOT NULL,
  "zone" TEXT REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "cost" REAL NOT NULL,
  "note" TEXT NOT NULL,
  UNIQUE ("task", "day", "nth")
) STRICT;
CREATE INDEX "upkeep_by_zone" ON "upkeep" ("zone");

CREATE TABLE "checklist_step" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "season" TEXT NOT NULL CHECK ("season" IN ('shutdown', 'startup')),
  "year" INTEGER NOT NULL,
  "step" TEXT NOT NULL,
  "subject" TEXT NOT NULL,
  "state" TEXT NOT NULL CHECK ("state" IN ('done', 'not_needed', 'skipped')),
  "day" TEXT NOT NULL CHECK ("day" IS date("day", '+0 days')),
  "why" TEXT NOT NULL,
  UNIQUE ("season", "year", "step", "subject")
) STRICT;

CREATE TABLE "decision" (
  "id" INTEGER PRIMARY KEY AUTOINCREMENT,
  "change_set" INTEGER NOT NULL REFERENCES "change_set" ("number"),
  "finding" TEXT NOT NULL,
  "meter" TEXT REFERENCES "meter" ("code") DEFERRABLE INITIALLY DEFERRED,
  "zone" TEXT REFERENCES "zone" ("code") DEFERRABLE INITIALLY DEFERRED,
  "since" TEXT NOT NULL CHECK ("since" IS date("since", '+0 days')),
  "decided_at_utc" TEXT NOT NULL,
  "decided_at_offset_min" INTEGER NOT NULL,
  "decided_at_exact" TEXT NOT NULL CHECK ("decided_at_exact" IN ('minute', 'hour', 'day')),
  "until" TEXT CHECK ("until" IS date("until", '+0 days')),
  "verdict" TEXT NOT NULL CHECK ("verdict" IN ('explained', 'harmless', 'repaired', 'ask_again')),
  "repaired_on" TEXT CHECK ("repaired_on" IS date("repaired_on", '+0 days')),
  "note" TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX "decision_key" ON "decision" ("finding", ifnull("meter", ''), ifnull("zone", ''), "since", "decided_at_utc");
CREATE INDEX "decision_by_meter" ON "decision" ("meter");
CREATE INDEX "decision_by_zone" ON "decision" ("zone");
