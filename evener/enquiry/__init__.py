"""What is asked: a job with the records it is held against, and what a call accepts and refuses."""
