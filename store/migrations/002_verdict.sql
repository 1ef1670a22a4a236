-- The judgements by themselves: a page that shows all of them must not walk past the histories, megabytes each.
CREATE TABLE verdict (
  collector INTEGER PRIMARY KEY REFERENCES collector (id),
  upto      INTEGER NOT NULL,
  at        INTEGER NOT NULL,
  judgement BLOB
);
INSERT INTO verdict SELECT collector, upto, at, judgement FROM conclusion;
CREATE TRIGGER conclusion_kept AFTER INSERT ON conclusion BEGIN
  INSERT INTO verdict VALUES (new.collector, new.upto, new.at, new.judgement);
END;
CREATE TRIGGER conclusion_renewed AFTER UPDATE ON conclusion BEGIN
  DELETE FROM verdict WHERE collector = new.collector;
  INSERT INTO verdict VALUES (new.collector, new.upto, new.at, new.judgement);
END;
