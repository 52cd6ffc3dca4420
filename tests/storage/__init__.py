"""The database: its promises, what it survives, what it refuses."""
