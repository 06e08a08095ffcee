"""Paper: every result on a sheet that works when the battery is dead."""
