-- Fingers that the teacher wrote into a piece: {note id: 1 to 5}. The rest is proposed anew each time.
CREATE TABLE fingering (
  piece_id INTEGER PRIMARY KEY REFERENCES piece (id) ON DELETE CASCADE,
  fingers TEXT NOT NULL CHECK (json_valid(fingers)),
  written_at TEXT NOT NULL
) STRICT;
