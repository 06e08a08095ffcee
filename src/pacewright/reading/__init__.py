"""A pencilled log page from a photograph: its marks, its cells, its digits with their chances."""
