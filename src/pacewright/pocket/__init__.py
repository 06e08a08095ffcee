"""The pocket page: a small part of the tool in one HTML file, for a phone with no signal."""
