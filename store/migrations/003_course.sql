-- The slow line of each collector, day by day, as charts draw it: worked out once with each conclusion.
CREATE TABLE course (
  collector INTEGER PRIMARY KEY REFERENCES collector (id),
  data      BLOB NOT NULL
);
