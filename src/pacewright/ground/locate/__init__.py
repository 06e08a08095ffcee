"""An unknown start: which places of a terrain a log of azimuths, counts and remarks fits."""
