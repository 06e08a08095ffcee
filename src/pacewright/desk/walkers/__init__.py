"""Walkers: pace trials, the pace table they make, and what logs and tracks teach about them."""
