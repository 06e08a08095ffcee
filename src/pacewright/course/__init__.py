"""Teaching a class: courses set, answer keys, marks."""
