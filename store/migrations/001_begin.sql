CREATE TABLE collector (
  id      INTEGER PRIMARY KEY,
  tag     TEXT NOT NULL UNIQUE,
  toml    TEXT NOT NULL,
  walk    INTEGER NOT NULL DEFAULT 0, -- place in the round
  created INTEGER NOT NULL            -- unix ms
);
CREATE TABLE record (
  seq       INTEGER PRIMARY KEY,
  id        TEXT NOT NULL UNIQUE,
  kind      TEXT NOT NULL,
  collector TEXT NOT NULL,
  at        TEXT NOT NULL, -- RFC 3339 with the writer's own offset: part of what is sealed
  at_ms     INTEGER NOT NULL,
  entered   TEXT NOT NULL,
  by        TEXT NOT NULL,
  body      BLOB NOT NULL,
  corrects  TEXT NOT NULL,
  prev      TEXT NOT NULL,
  hash      TEXT NOT NULL
);
CREATE INDEX record_of ON record (collector, kind, seq);
CREATE TABLE chunk (
  collector INTEGER NOT NULL REFERENCES collector (id),
  channel   INTEGER NOT NULL, -- sense.Channel; 255 holds the firings of valves
  t0        INTEGER NOT NULL, -- unix ns of the first sample
  t1        INTEGER NOT NULL, -- and of the last
  n         INTEGER NOT NULL,
  min       REAL NOT NULL,
  max       REAL NOT NULL,
  sum       REAL NOT NULL,
  data      BLOB NOT NULL,
  PRIMARY KEY (collector, channel, t0)
) WITHOUT ROWID;
-- what a chart of years needs, without the samples themselves
CREATE INDEX chunk_span ON chunk (collector, channel, t0, t1, n, min, max, sum);
CREATE TABLE conclusion (
  collector INTEGER PRIMARY KEY REFERENCES collector (id),
  upto      INTEGER NOT NULL, -- unix ns of the last reading in the history
  history   BLOB,             -- reduced record
  at        INTEGER NOT NULL,
  judgement BLOB
);
CREATE TABLE mapping (
  name TEXT PRIMARY KEY,
  toml TEXT NOT NULL
);
