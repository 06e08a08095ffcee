"""Fixes by bearings, and stations that pull the compass."""
