"""The travel log: heading, rows, remarks."""
