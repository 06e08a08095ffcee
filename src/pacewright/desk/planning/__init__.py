"""Planning on the desk: points on a map, legs that can be dragged, proved in the background."""
