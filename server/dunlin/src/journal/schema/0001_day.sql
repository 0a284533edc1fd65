-- A session: from a start of the watch to the end of its day. A restart goes on with the last one.
CREATE TABLE session (
    first_turn INTEGER PRIMARY KEY,
    began_ms INTEGER NOT NULL,
    program TEXT NOT NULL          -- version of dunlin
) STRICT;

-- The site and the fleet in force from this turn on, as JSON (journal/record.rs).
CREATE TABLE setup (
    turn INTEGER PRIMARY KEY,
    at_ms INTEGER NOT NULL,
    body TEXT NOT NULL
) STRICT;

-- Everything the engine was told, in order: with its moment, all that a replay needs.
CREATE TABLE input (
    turn INTEGER PRIMARY KEY,
    at_ms INTEGER NOT NULL,
    kind INTEGER NOT NULL,         -- 0 line, 1 report, 2 command
    source TEXT NOT NULL,          -- feed of a line, source of a report, who gave a command
    body BLOB NOT NULL             -- bytes of a line, else JSON
) STRICT;

-- What the engine said, as in the output of a replay.
CREATE TABLE event (
    turn INTEGER NOT NULL,
    place INTEGER NOT NULL,        -- order within the turn
    at_ms INTEGER NOT NULL,
    kind TEXT NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (turn, place)
) STRICT, WITHOUT ROWID;

-- Inputs that could not be written down: a disk that was full or failed.
CREATE TABLE gap (
    turn INTEGER PRIMARY KEY,      -- the first turn that was written down again
    lost INTEGER NOT NULL
) STRICT;
