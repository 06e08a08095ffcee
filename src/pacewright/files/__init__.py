"""The only room that knows file formats."""
