"""Power from the engine to shaft, drawbar and oil, and the fuel it takes."""
