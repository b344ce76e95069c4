-- One row per thing that was written down. seq counts 1, 2, 3 without holes in the
-- order of writing; digest chains each row to the one before.
CREATE TABLE entry (
  seq        INTEGER PRIMARY KEY,
  id         TEXT NOT NULL UNIQUE,
  kind       TEXT NOT NULL,
  at_ms      INTEGER NOT NULL,
  author     TEXT NOT NULL,
  device     TEXT NOT NULL,
  ordinal    INTEGER NOT NULL,
  written_ms INTEGER NOT NULL,
  corrects   TEXT REFERENCES entry (id),
  why        TEXT NOT NULL,
  body       TEXT NOT NULL,
  digest     TEXT NOT NULL
) STRICT;
CREATE INDEX entry_kind ON entry (kind, at_ms);
CREATE INDEX entry_corrects ON entry (corrects);
CREATE TRIGGER entry_stays BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'the logbook is append-only'); END;
CREATE TRIGGER entry_keeps BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'the logbook is append-only'); END;
