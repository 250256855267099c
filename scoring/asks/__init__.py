"""What each task asks of a tractor, axis by axis."""
