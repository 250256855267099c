"""What a tractor gives on each axis."""
