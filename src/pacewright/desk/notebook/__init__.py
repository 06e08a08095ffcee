"""A log as it is typed: every change kept once, its page read back, its history."""
