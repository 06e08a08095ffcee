"""Pages that read a log: the way back, how it closes, adjusted, fixes, on the map."""
