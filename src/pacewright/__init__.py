"""Travel on foot by compass and pace count."""

__version__ = "0.1.0"
