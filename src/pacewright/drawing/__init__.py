"""Every picture, once."""
