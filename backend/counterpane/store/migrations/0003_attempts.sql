-- What was tried. An attempt is appended and never rewritten; `client_id` makes sending it twice harmless.
CREATE TABLE attempt (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  student_id INTEGER NOT NULL REFERENCES student (person_id) ON DELETE CASCADE,
  client_id TEXT NOT NULL,
  piece_id INTEGER NOT NULL REFERENCES piece (id),
  patch_id TEXT NOT NULL,
  step_id TEXT NOT NULL,
  first_measure INTEGER NOT NULL,
  last_measure INTEGER NOT NULL,
  hands TEXT NOT NULL CHECK (hands IN ('right', 'left', 'both')),
  tempo REAL NOT NULL,
  started_at TEXT NOT NULL,
  day TEXT NOT NULL,
  seconds REAL NOT NULL,
  source TEXT NOT NULL CHECK (source IN ('web-midi', 'paired', 'self-judged', 'file')),
  self_judgement TEXT CHECK (self_judgement IS NULL OR json_valid(self_judgement)),
  judged_good INTEGER CHECK (judged_good IN (0, 1)),
  raw_events BLOB NOT NULL,
  app_version TEXT NOT NULL,
  received_at TEXT NOT NULL,
  UNIQUE (student_id, client_id)
) STRICT;
CREATE INDEX attempt_by_day ON attempt (student_id, day);
CREATE INDEX attempt_by_patch ON attempt (student_id, piece_id, patch_id);
CREATE INDEX attempt_by_piece ON attempt (piece_id);

CREATE TRIGGER attempt_is_never_rewritten BEFORE UPDATE ON attempt
BEGIN
  SELECT RAISE (ABORT, 'an attempt is never rewritten');
END;

-- What was heard in it: one row an engine, the newest counts, older ones stay.
-- `report` and `pictures` are zlib-compressed JSON; the other columns are what plans and lists ask for.
CREATE TABLE assessment (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  attempt_id INTEGER NOT NULL REFERENCES attempt (id) ON DELETE CASCADE,
  engine TEXT NOT NULL,
  made_at TEXT NOT NULL,
  accuracy REAL,
  evenness_ms REAL,
  togetherness_ms REAL,
  hesitations INTEGER,
  complete INTEGER NOT NULL CHECK (complete IN (0, 1)),
  met_goals INTEGER NOT NULL CHECK (met_goals IN (0, 1)),
  findings TEXT NOT NULL CHECK (json_valid(findings)),
  tallies TEXT NOT NULL CHECK (json_valid(tallies)),
  report BLOB NOT NULL,
  pictures BLOB NOT NULL,
  UNIQUE (attempt_id, engine)
) STRICT;

-- Counts what was added about a student's playing, so that what is derived from it knows when it is old.
ALTER TABLE student ADD COLUMN changes INTEGER NOT NULL DEFAULT 0;
CREATE TRIGGER attempt_counts AFTER INSERT ON attempt
BEGIN
  UPDATE student SET changes = changes + 1 WHERE person_id = NEW.student_id;
END;
CREATE TRIGGER assessment_counts AFTER INSERT ON assessment
BEGIN
  UPDATE student SET changes = changes + 1
  WHERE person_id = (SELECT student_id FROM attempt WHERE id = NEW.attempt_id);
END;

CREATE TABLE puzzle_answer (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  student_id INTEGER NOT NULL REFERENCES student (person_id) ON DELETE CASCADE,
  client_id TEXT NOT NULL,
  piece_id INTEGER NOT NULL REFERENCES piece (id),
  puzzle_id TEXT NOT NULL,
  patch_id TEXT,
  kind TEXT NOT NULL,
  answer TEXT NOT NULL CHECK (json_valid(answer)),
  is_right INTEGER NOT NULL CHECK (is_right IN (0, 1)),
  milliseconds INTEGER NOT NULL,
  day TEXT NOT NULL,
  answered_at TEXT NOT NULL,
  UNIQUE (student_id, client_id)
) STRICT;
CREATE TRIGGER puzzle_answer_counts AFTER INSERT ON puzzle_answer
BEGIN
  UPDATE student SET changes = changes + 1 WHERE person_id = NEW.student_id;
END;
CREATE INDEX puzzle_answer_by_piece ON puzzle_answer (student_id, piece_id);

CREATE TABLE decision (
  student_id INTEGER NOT NULL REFERENCES student (person_id) ON DELETE CASCADE,
  piece_id INTEGER NOT NULL REFERENCES piece (id),
  section TEXT NOT NULL,
  by_role TEXT NOT NULL CHECK (by_role IN ('student', 'teacher')),
  shape TEXT,
  touch TEXT,
  leads TEXT,
  decided_at TEXT NOT NULL,
  PRIMARY KEY (student_id, piece_id, section, by_role)
) STRICT, WITHOUT ROWID;
