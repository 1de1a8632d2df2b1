-- One row an entry, as the text that was hashed. What a query needs is read out of that
-- text by the store itself, so nothing is written in two places that could differ.
CREATE TABLE entries (
  number     INTEGER PRIMARY KEY,
  body       TEXT NOT NULL,
  hash       TEXT NOT NULL UNIQUE,
  id         TEXT NOT NULL GENERATED ALWAYS AS (body ->> 'id') STORED UNIQUE,
  kind       TEXT NOT NULL GENERATED ALWAYS AS (body ->> 'kind') STORED,
  at         TEXT NOT NULL GENERATED ALWAYS AS (body ->> 'at') STORED,
  supersedes TEXT GENERATED ALWAYS AS (body ->> 'supersedes') STORED UNIQUE REFERENCES entries (id),
  closes     TEXT GENERATED ALWAYS AS (body ->> 'closes') STORED REFERENCES entries (id),
  CHECK (number = body ->> 'number')
) STRICT;

-- The units that an entry speaks of: its own, and those of its lines.
CREATE TABLE units (
  unit   TEXT NOT NULL,
  number INTEGER NOT NULL REFERENCES entries (number),
  PRIMARY KEY (unit, number)
) STRICT, WITHOUT ROWID;

-- Entries are added at the end and stay as they are.
CREATE TRIGGER entries_are_added_at_the_end BEFORE INSERT ON entries
WHEN NEW.number <> (SELECT coalesce(max(number), 0) + 1 FROM entries)
  OR coalesce(NEW.body ->> 'previous', '') <> coalesce((SELECT hash FROM entries ORDER BY number DESC LIMIT 1), '')
BEGIN SELECT raise(ABORT, 'an entry is added behind the last one'); END;

CREATE TRIGGER entries_are_new BEFORE INSERT ON entries
WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.body ->> 'id' OR hash = NEW.hash OR supersedes = NEW.body ->> 'supersedes')
BEGIN SELECT raise(ABORT, 'an entry is not replaced; a correction is a further entry'); END;

CREATE TRIGGER entries_are_not_changed BEFORE UPDATE ON entries
BEGIN SELECT raise(ABORT, 'an entry is not changed; a correction is a further entry'); END;

CREATE TRIGGER entries_are_not_deleted BEFORE DELETE ON entries
BEGIN SELECT raise(ABORT, 'an entry is not deleted; a correction withdraws it'); END;

CREATE TRIGGER units_of_an_entry AFTER INSERT ON entries
BEGIN
  INSERT INTO units (unit, number)
  SELECT NEW.body ->> 'unit', NEW.number
  UNION
  SELECT value ->> 'unit', NEW.number FROM json_each(NEW.body, '$.lines') WHERE value ->> 'unit' IS NOT NULL;
END;

CREATE TRIGGER units_are_those_of_the_entry BEFORE INSERT ON units
WHEN NEW.number <> (SELECT max(number) FROM entries)
BEGIN SELECT raise(ABORT, 'the units of an entry are read from it'); END;

CREATE TRIGGER units_are_not_changed BEFORE UPDATE ON units
BEGIN SELECT raise(ABORT, 'the units of an entry are not changed'); END;

CREATE TRIGGER units_are_not_deleted BEFORE DELETE ON units
BEGIN SELECT raise(ABORT, 'the units of an entry are not deleted'); END;
