"""A walker's figures set right by closed logs and recorded tracks."""
