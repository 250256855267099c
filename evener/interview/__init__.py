"""The interview: from nothing to a job sheet by plain questions."""
