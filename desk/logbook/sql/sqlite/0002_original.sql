-- Imported files, byte for byte, under their hash.
CREATE TABLE original (
  sha256  TEXT PRIMARY KEY,
  name    TEXT NOT NULL,
  kept_ms INTEGER NOT NULL,
  content BLOB NOT NULL
) STRICT;
CREATE TRIGGER original_stays BEFORE UPDATE ON original BEGIN SELECT RAISE(ABORT, 'the logbook is append-only'); END;
CREATE TRIGGER original_keeps BEFORE DELETE ON original BEGIN SELECT RAISE(ABORT, 'the logbook is append-only'); END;
