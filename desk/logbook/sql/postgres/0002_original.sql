-- Imported files, byte for byte, under their hash.
CREATE TABLE original (
  sha256  TEXT PRIMARY KEY,
  name    TEXT NOT NULL,
  kept_ms BIGINT NOT NULL,
  content BYTEA NOT NULL
);
CREATE TRIGGER original_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON original EXECUTE FUNCTION append_only();
