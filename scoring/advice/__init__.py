"""What goes with an answer: remedies for what falls short, checks of what is safe, cautions."""
