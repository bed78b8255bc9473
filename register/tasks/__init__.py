"""Tasks: when each falls due, by intervals, calendar and other starts, with every reason."""
