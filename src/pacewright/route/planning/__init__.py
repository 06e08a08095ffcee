"""Legs that can be held by compass and count: where to end them, how sure they are, and which to walk."""
