"""Where everything is kept: one SQLite file with an append-only record and a directory."""
