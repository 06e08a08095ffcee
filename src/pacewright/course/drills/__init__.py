"""Paper drills for the table: problems with their answers, seeded and by level."""
