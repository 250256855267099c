"""What tyres and tractors pull, on which ground and slope."""
