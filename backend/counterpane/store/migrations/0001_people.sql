-- The studio, its people, their links and sessions. Children: a nickname and nothing else.
CREATE TABLE studio (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  name TEXT NOT NULL,
  passphrase_hash TEXT NOT NULL,
  created_at TEXT NOT NULL
) STRICT;

CREATE TABLE person (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  role TEXT NOT NULL CHECK (role IN ('student', 'parent', 'teacher')),
  nickname TEXT NOT NULL CHECK (length(nickname) BETWEEN 1 AND 40),
  language TEXT NOT NULL,
  created_at TEXT NOT NULL,
  care_seen_at TEXT
) STRICT;

CREATE TABLE student (
  person_id INTEGER PRIMARY KEY REFERENCES person (id) ON DELETE CASCADE,
  level TEXT NOT NULL CHECK (level IN ('early', 'intermediate', 'advanced')),
  minutes INTEGER NOT NULL CHECK (minutes BETWEEN 5 AND 120),
  rest_days TEXT NOT NULL CHECK (json_valid(rest_days)),
  lesson_date TEXT
) STRICT;

CREATE TABLE guardian (
  parent_id INTEGER NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  student_id INTEGER NOT NULL REFERENCES student (person_id) ON DELETE CASCADE,
  PRIMARY KEY (parent_id, student_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX guardian_by_student ON guardian (student_id);

CREATE TABLE link (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  token_hash TEXT NOT NULL UNIQUE,
  pin_required INTEGER NOT NULL CHECK (pin_required IN (0, 1)),
  pin_hash TEXT,
  failed_pins INTEGER NOT NULL DEFAULT 0,
  locked_until TEXT,
  created_at TEXT NOT NULL,
  last_used_at TEXT,
  revoked_at TEXT
) STRICT;
CREATE INDEX link_by_person ON link (person_id);

CREATE TABLE session (
  token_hash TEXT PRIMARY KEY,
  person_id INTEGER NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  link_id INTEGER REFERENCES link (id) ON DELETE CASCADE,
  created_at TEXT NOT NULL,
  expires_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX session_by_person ON session (person_id);
CREATE INDEX session_by_link ON session (link_id);

CREATE TABLE audit (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  at TEXT NOT NULL,
  by_person INTEGER,
  action TEXT NOT NULL,
  about TEXT NOT NULL
) STRICT;
