"""The ground and the machines of a place: soil, slope, sizes, loads."""
