"""An invented world whose truth is not this project's models, to see what picks cost. See README.md beside it."""
