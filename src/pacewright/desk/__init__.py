"""The desk: the same engine in a browser on this machine."""
