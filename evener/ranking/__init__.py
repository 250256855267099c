"""The ranking of a job: what to buy, what it hangs on, one size down and up, who does what, and a second tractor."""
