"""How sentences, numbers and dates are shown on a page."""
