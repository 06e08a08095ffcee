"""Which slip explains a log that does not close."""
