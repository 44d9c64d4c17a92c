"""Before the test: what is planned, and what it may be expected to show."""
