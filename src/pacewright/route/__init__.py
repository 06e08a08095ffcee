"""Planning the way: what slope and ground cost in time and paces."""
