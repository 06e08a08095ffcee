"""Whoever saves waits in a line for the database, and not by trying again and again."""
