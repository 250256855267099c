"""What all of scoring shares: the draws, the steps written down, the job with its library, and the demand."""
