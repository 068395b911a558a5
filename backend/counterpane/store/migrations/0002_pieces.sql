-- Pieces as they came in, the teacher's corrections, and who works on what.
CREATE TABLE piece (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  title TEXT NOT NULL,
  composer TEXT NOT NULL,
  meter TEXT NOT NULL,
  measures INTEGER NOT NULL,
  tempo REAL,
  hands_guessed INTEGER NOT NULL CHECK (hands_guessed IN (0, 1)),
  warnings TEXT NOT NULL CHECK (json_valid(warnings)),
  file_name TEXT NOT NULL,
  source BLOB NOT NULL,
  source_hash TEXT NOT NULL UNIQUE,
  mei TEXT NOT NULL,
  added_at TEXT NOT NULL
) STRICT;

-- The analysis under the corrections of `revision`; an older engine's or revision's is kept.
CREATE TABLE analysis (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece_id INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  engine TEXT NOT NULL,
  revision INTEGER NOT NULL,
  key TEXT NOT NULL,
  report TEXT NOT NULL CHECK (json_valid(report)),
  conflicts TEXT NOT NULL CHECK (json_valid(conflicts)),
  made_at TEXT NOT NULL,
  UNIQUE (piece_id, engine, revision)
) STRICT;

CREATE TABLE correction (
  piece_id INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  revision INTEGER NOT NULL,
  corrections TEXT NOT NULL CHECK (json_valid(corrections)),
  made_at TEXT NOT NULL,
  PRIMARY KEY (piece_id, revision)
) STRICT, WITHOUT ROWID;

-- A row stays when an assignment ends: what was practised before may still arrive.
CREATE TABLE assignment (
  student_id INTEGER NOT NULL REFERENCES student (person_id) ON DELETE CASCADE,
  piece_id INTEGER NOT NULL REFERENCES piece (id),
  position INTEGER NOT NULL,
  sections TEXT NOT NULL CHECK (json_valid(sections)),
  goal_tempo REAL NOT NULL,
  assigned_at TEXT NOT NULL,
  ended_at TEXT,
  PRIMARY KEY (student_id, piece_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX assignment_by_piece ON assignment (piece_id);

CREATE TABLE note (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  student_id INTEGER NOT NULL REFERENCES student (person_id) ON DELETE CASCADE,
  text TEXT NOT NULL,
  written_at TEXT NOT NULL
) STRICT;
CREATE INDEX note_by_student ON note (student_id, id);
