"""The shell round every page: the server, who is let in and how much of it, how a person reads the desk."""
