"""The log as a whole: closures, least squares, the textbook rules."""
