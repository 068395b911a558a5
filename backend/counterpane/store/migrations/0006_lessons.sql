-- Lessons come again every so many weeks from `lesson_date` on; 0: on that day alone.
ALTER TABLE student
  ADD COLUMN lesson_every_weeks INTEGER NOT NULL DEFAULT 0 CHECK (lesson_every_weeks BETWEEN 0 AND 4);
