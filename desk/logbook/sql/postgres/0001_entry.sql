-- One row per thing that was written down. seq counts 1, 2, 3 without holes in the
-- order of writing; digest chains each row to the one before.
CREATE TABLE entry (
  seq        BIGINT PRIMARY KEY,
  id         TEXT NOT NULL UNIQUE,
  kind       TEXT NOT NULL,
  at_ms      BIGINT NOT NULL,
  author     TEXT NOT NULL,
  device     TEXT NOT NULL,
  ordinal    BIGINT NOT NULL,
  written_ms BIGINT NOT NULL,
  corrects   TEXT REFERENCES entry (id),
  why        TEXT NOT NULL,
  body       TEXT NOT NULL,
  digest     TEXT NOT NULL
);
CREATE INDEX entry_kind ON entry (kind, at_ms);
CREATE INDEX entry_corrects ON entry (corrects);
CREATE FUNCTION append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the logbook is append-only'; END $$;
CREATE TRIGGER entry_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON entry EXECUTE FUNCTION append_only();
