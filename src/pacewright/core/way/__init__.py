"""Where the legs lead, how sure that is, and the way back."""
