"""Our results beside published ones; each test names its source."""
