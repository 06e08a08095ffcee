"""How a person paces: trials, pace counts, scatter, the tally cord."""
