"""Answers that take long, worked out beside the desk: in processes of their own, within limits."""
