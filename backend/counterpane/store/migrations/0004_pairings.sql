-- A computer at the piano, paired with a page by a short code. Codes are reused when a pairing has ended.
CREATE TABLE pairing (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  code TEXT NOT NULL,
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  secret_hash TEXT,
  created_at TEXT NOT NULL,
  claimed_at TEXT,
  ended_at TEXT
) STRICT;
CREATE UNIQUE INDEX open_pairing_by_code ON pairing (code) WHERE ended_at IS NULL;
