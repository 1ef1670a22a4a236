-- From here on chunks may be tables of values (store/table.go), which earlier versions of the program can't read; there is
-- nothing to change in what is there.
SELECT 1;
