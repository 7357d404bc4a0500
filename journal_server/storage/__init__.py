"""Tables, queries, photo files and migrations. Knows SQL and the file system; decides nothing."""
