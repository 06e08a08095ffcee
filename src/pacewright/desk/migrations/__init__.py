"""Changes of what the desk keeps."""
