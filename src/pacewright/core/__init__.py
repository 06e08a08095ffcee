"""Travel with no map: azimuths, counts, the log, where it leads and the way back."""
