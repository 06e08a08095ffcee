"""Pages that answer a question without a page of a log: ranging, sun, fix, leg by map, norths."""
