-- Keys by which people and boats are known. The key itself is never stored.
CREATE TABLE key (
    id INTEGER PRIMARY KEY,
    hash BLOB NOT NULL UNIQUE,   -- SHA-256 of the key
    role TEXT NOT NULL,          -- viewer, instructor, duty-officer, boat
    name TEXT NOT NULL,          -- person's name, or what is painted on the boat
    made_ms INTEGER NOT NULL,
    made_by TEXT NOT NULL,
    ends_ms INTEGER,             -- NULL: until revoked
    revoked_ms INTEGER
) STRICT;

-- Ways to join: one-time codes, links, and PINs.
CREATE TABLE invitation (
    id INTEGER PRIMARY KEY,
    hash BLOB NOT NULL UNIQUE,   -- SHA-256 of the code
    role TEXT NOT NULL,
    once INTEGER NOT NULL,       -- 1: used up by the first who joins
    made_ms INTEGER NOT NULL,
    made_by TEXT NOT NULL,
    ends_ms INTEGER
) STRICT;

CREATE TABLE pin (
    role TEXT PRIMARY KEY,
    hash TEXT NOT NULL           -- argon2id, PHC string
) STRICT, WITHOUT ROWID;

-- Everything people wrote down in the day's papers, in order. The state is the sum of the rows.
CREATE TABLE entry (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    session INTEGER NOT NULL,    -- 0: outlives the session (defects, lists, rules)
    at_ms INTEGER NOT NULL,
    by TEXT NOT NULL,
    record TEXT NOT NULL,        -- JSON, as day/record.rs
    undone_ms INTEGER
) STRICT;
CREATE INDEX entry_session ON entry (session, seq);

-- Versions of the site and the fleet; the newest one of each kind is in force.
CREATE TABLE version (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL,          -- site, fleet
    at_ms INTEGER NOT NULL,
    by TEXT NOT NULL,
    note TEXT NOT NULL,          -- "drawn on the tablet", "import of bay.kml"
    text TEXT NOT NULL
) STRICT;

CREATE TABLE setting (
    name TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
